/**
 * Sensor states travel beside numbers and are never mistaken for them.
 *
 * On the wire a state is a letter in the value's place (PROTOCOL.md, part 6).
 * In raw sample arrays (Int32Array of scaled integers) it is one of the codes
 * below, outside the range that a number may have. In calibrated arrays the
 * value is NaN and the quality code stands in a Uint8Array beside it.
 */
export const quality = {
  good: 0,
  /** Open circuit: a broken or unplugged sensor. */
  open: 1,
  /** Short circuit. */
  short: 2,
  /** Above the sensor's range. */
  over: 3,
  /** Below the sensor's range. */
  under: 4,
  /** The bench has no fresh reading. */
  stale: 5,
  /** Nothing was ever received, or the channel cannot be computed. */
  absent: 6,
} as const;

export type QualityName = keyof typeof quality;
export type QualityCode = (typeof quality)[QualityName];

export const qualityNames: readonly QualityName[] = ['good', 'open', 'short', 'over', 'under', 'stale', 'absent'];

/** Numbers on the wire lie within ±RAW_MAX; states are coded below that. */
export const RAW_MAX = 2_147_483_000;
const RAW_STATE_BASE = -2_147_483_648;

/** Raw code of a sensor state: RAW_STATE_BASE + quality. */
export function rawOfQuality(code: QualityCode): number {
  return RAW_STATE_BASE + code;
}

/** Quality of a raw sample; anything below −RAW_MAX is a state. */
export function qualityOfRaw(raw: number): QualityCode {
  if (raw >= -RAW_MAX) return quality.good;
  const code = raw - RAW_STATE_BASE;
  return code >= 1 && code <= 6 ? (code as QualityCode) : quality.absent;
}

/** Letters in a value's place on the wire, by quality code (good and absent have none). */
export const stateLetters: Readonly<Record<string, QualityCode>> = {
  O: quality.open,
  S: quality.short,
  V: quality.over,
  U: quality.under,
  X: quality.stale,
};
