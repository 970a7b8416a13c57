/**
 * The synthetic stand of the benchmarks: 32 channels at 100 Hz whose noise has
 * a known entropy, so that the distance from the physical limit can be stated.
 *
 * The floor is the entropy of the rounded noise when everything else about the
 * signal is known, averaged over where the true value lies between two counts.
 * The noise is white and Gaussian by assumption; the drifts are not in the
 * floor, so no codec can reach it. Times are exact multiples of 10 ms, and not
 * in the floor either. Seeded: the same numbers at each run.
 */
export const CHANNELS = 32;
export const RATE_Hz = 100;

/** Decimals of a count as the bench sends it, standard deviation in counts, slow swing in counts and its period in seconds, by kind of channel. */
const kinds = [
  { name: 'speed', decimals: 0, count: 2, sigma: 14, swing: 600, period_s: 90 },
  { name: 'temperature', decimals: 1, count: 10, sigma: 0.45, swing: 300, period_s: 240 },
  { name: 'thrust and torque', decimals: 2, count: 4, sigma: 60, swing: 4000, period_s: 90 },
  { name: 'vibration', decimals: 3, count: 2, sigma: 900, swing: 0, period_s: 1 },
  { name: 'fuel and electrical', decimals: 2, count: 6, sigma: 2.5, swing: 150, period_s: 120 },
  { name: 'air', decimals: 1, count: 3, sigma: 0.8, swing: 20, period_s: 300 },
  { name: 'commands and flags', decimals: 0, count: 5, sigma: 0, swing: 0, period_s: 1 },
] as const;

/** By channel. */
export const decimals: readonly number[] = kinds.flatMap((kind) => new Array<number>(kind.count).fill(kind.decimals));

export function gaussian(seed: number): () => number {
  let state = seed;
  const uniform = () => {
    // xorshift32 (Marsaglia 2003): its low bits are good enough for rounding noise, unlike a congruence's.
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return ((state >>> 0) + 0.5) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

/** @param noise scales the standard deviations; @param n samples of each channel */
export function signalColumns(noise: number, seed: number, n: number): { columns: Int32Array[]; floor_bits: number } {
  const normal = gaussian(seed);
  const columns: Int32Array[] = [];
  let floor_bits = 0;
  for (const kind of kinds) {
    const sigma = kind.sigma * noise;
    for (let c = 0; c < kind.count; c++) {
      const column = new Int32Array(n);
      for (let i = 0; i < n; i++) {
        const t_s = i / RATE_Hz;
        const slow =
          kind.sigma === 0
            ? 100 * Math.floor((t_s + 7 * c) / 40)
            : kind.swing * Math.sin((2 * Math.PI * t_s) / kind.period_s + c);
        column[i] = Math.round(5000 + slow + (sigma > 0 ? sigma * normal() : 0));
      }
      columns.push(column);
      floor_bits += n * roundedEntropy_bits(sigma);
    }
  }
  return { columns, floor_bits };
}

/** Entropy of round(m + σ z), mean over m from 0 to 1, in bits. */
function roundedEntropy_bits(sigma: number): number {
  if (sigma === 0) return 0;
  // Far above one count it is the differential entropy.
  if (sigma > 8) return Math.log2(sigma * Math.sqrt(2 * Math.PI * Math.E));
  const places = 64;
  const reach = Math.ceil(9 * sigma) + 2;
  let sum = 0;
  for (let place = 0; place < places; place++) {
    const m = (place + 0.5) / places;
    for (let k = -reach; k <= reach; k++) {
      const p = normalBelow((k + 0.5 - m) / sigma) - normalBelow((k - 0.5 - m) / sigma);
      if (p > 1e-15) sum -= p * Math.log2(p);
    }
  }
  return sum / places;
}

/** Normal distribution function; Abramowitz and Stegun 26.2.17, error below 7.5e-8 (from memory). */
function normalBelow(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}
