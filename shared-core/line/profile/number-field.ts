/**
 * Numbers as text, to scaled integers. A printed decimal becomes its integer
 * digit by digit, so that 312.55 with two decimals is 31255 and nothing near.
 */
import { quality, RAW_MAX, rawOfQuality } from '../../channels/quality.ts';

/** Not a number in this form. No raw sample has this value. */
export const NO_NUMBER: number = Number.NaN;

const forms = {
  '.': /^([+-]?)(\d*)(?:\.(\d*))?(?:[eE]([+-]?\d{1,2}))?$/,
  ',': /^([+-]?)(\d*)(?:,(\d*))?(?:[eE]([+-]?\d{1,2}))?$/,
} as const;

export function isNumber(text: string, decimal: '.' | ','): boolean {
  const parts = forms[decimal].exec(text);
  return parts !== null && (parts[2] !== '' || (parts[3] ?? '') !== '');
}

/** The number that the text says; NaN if it says none in this form. */
export function numberOf(text: string, decimal: '.' | ','): number {
  return isNumber(text, decimal) ? Number(decimal === ',' ? text.replace(',', '.') : text) : NO_NUMBER;
}

/** Digits after the decimal sign. */
export function decimalsOf(text: string, decimal: '.' | ','): number {
  return forms[decimal].exec(text)?.[3]?.length ?? 0;
}

export interface Scaling {
  readonly scale: number;
  readonly offset: number;
  readonly decimals: number;
}

/**
 * (text × scale + offset) × 10^decimals, rounded half away from 0; the state
 * `over` or `under` where that does not fit; NaN if the text is no number.
 */
export function scaledInteger(text: string, decimal: '.' | ',', scaling: Scaling): number {
  if (!isNumber(text, decimal)) return NO_NUMBER;
  const exact = scaling.scale === 1 && scaling.offset === 0 ? exactInteger(text, decimal, scaling.decimals) : undefined;
  const value =
    exact ?? roundedAway((numberOf(text, decimal) * scaling.scale + scaling.offset) * 10 ** scaling.decimals);
  if (Number.isNaN(value)) return NO_NUMBER;
  if (value > RAW_MAX) return rawOfQuality(quality.over);
  return value < -RAW_MAX ? rawOfQuality(quality.under) : value;
}

/** By digits; undefined where an exponent makes that pointless. */
function exactInteger(text: string, decimal: '.' | ',', decimals: number): number | undefined {
  const [, sign = '', whole = '', fraction = '', exponent] = forms[decimal].exec(text) ?? [];
  if (exponent !== undefined) return undefined;
  const kept = fraction.slice(0, decimals).padEnd(decimals, '0');
  const isRoundedUp = (fraction.charCodeAt(decimals) || 0) >= 0x35;
  const magnitude = Number(`0${whole}${kept}`) + (isRoundedUp ? 1 : 0);
  return sign === '-' && magnitude !== 0 ? -magnitude : magnitude;
}

function roundedAway(value: number): number {
  // A hair more, so that 0.1 × 3 × 10, which is not quite 3, and 2.675 × 100 do not fall short.
  const magnitude = Math.floor(Math.abs(value) * (1 + 2 ** -50) + 0.5);
  return value < 0 && magnitude !== 0 ? -magnitude : magnitude;
}
