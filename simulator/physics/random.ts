/**
 * Seeded random numbers. Each cause of chance in the simulator (combustion,
 * each sensor, the line) has its own stream, so that injecting a fault in one
 * leaves the others exactly as they were.
 */

export interface RandomStream {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Mean 0, standard deviation 1. */
  gauss(): number;
}

/**
 * A stream for one cause. The same seed and name always give the same numbers.
 * Generator: mulberry32, a 32-bit counter with a mixing function (public
 * domain; from memory). Good enough for noise, not for secrets.
 */
export function randomStream(seed: number, name: string): RandomStream {
  let state = mixName(seed, name);
  function uniform(): number {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  }
  return {
    uniform,
    // Irwin-Hall sum of four, scaled: near enough to normal, never beyond
    // ±3.46, and without the logarithm of Box-Muller in the hot loop.
    gauss: () => (uniform() + uniform() + uniform() + uniform() - 2) * SQRT_3,
  };
}

/** No chance at all: what is on average. */
export const stillStream: RandomStream = { uniform: () => 0.5, gauss: () => 0 };

const SQRT_3 = Math.sqrt(3);

/** FNV-1a over the name, started from the seed. */
function mixName(seed: number, name: string): number {
  let hash = (0x811c9dc5 ^ Math.imul(seed | 0, 0x9e3779b1)) | 0;
  for (let i = 0; i < name.length; i++) hash = Math.imul(hash ^ name.charCodeAt(i), 0x01000193);
  return hash;
}
