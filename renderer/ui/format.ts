/**
 * Times, ages and sizes as they stand on screen; numbers are set by
 * `shared-core/units/format-value.ts`, so that host and page write them alike.
 */
import { formatValue, formatWithUnit, NO_VALUE } from '../../shared-core/units/format-value.ts';

export { NO_VALUE };
export const THIN = '\u2009';

/** As everywhere in Runstand (`shared-core/units`): grouped by thin spaces, minus U+2212, NaN as "–". */
export const formatNumber = formatValue;

/** Number, thin space, unit; a unit of '' or '1' adds nothing. */
export const formatQuantity = formatWithUnit;

/** Whole seconds as a clock: 75 → "1:15", 3675 → "1:01:15"; negative and NaN → "–". */
export function formatClock(seconds: number): string {
  if (!(seconds >= 0) || !Number.isFinite(seconds)) return NO_VALUE;
  const whole = Math.floor(seconds);
  const s = String(whole % 60).padStart(2, '0');
  const minutes = Math.floor(whole / 60);
  if (minutes < 60) return `${minutes}:${s}`;
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, '0')}:${s}`;
}

/** Age in words short enough for a value's side: "0.4 s", "12 s", "3:05", "2 h". */
export function formatAge(seconds: number): string {
  if (!(seconds >= 0)) return NO_VALUE;
  if (seconds < 10) return `${seconds.toFixed(1)}${THIN}s`;
  if (seconds < 100) return `${Math.floor(seconds)}${THIN}s`;
  if (seconds < 6000) return formatClock(seconds);
  return `${Math.floor(seconds / 3600)}${THIN}h`;
}

/** Decimal multiples, as disks are sold and shown: 1500 → "1.5 kB". */
export function formatBytes(bytes: number): string {
  if (!(bytes >= 0)) return NO_VALUE;
  const units = ['B', 'kB', 'MB', 'GB', 'TB'];
  let value = bytes;
  let i = 0;
  while (value >= 1000 && i < units.length - 1) {
    value /= 1000;
    i++;
  }
  return `${i === 0 || value >= 100 ? Math.round(value) : value.toFixed(1)}${THIN}${units[i]}`;
}

/** Wall clock of this machine, "2026-03-04 14:05:09"; unmistakable in any country. */
export function formatWallTime(at_epochMs: number): string {
  if (!Number.isFinite(at_epochMs)) return NO_VALUE;
  const d = new Date(at_epochMs);
  const two = (n: number) => String(n).padStart(2, '0');
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())} ${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`;
}

/** Decimals for a primary value, so that it keeps to four digits: thrust 182.3 N, not 182.35 N. */
export function primaryDecimals(decimals: number, high: number): number {
  const whole = Number.isFinite(high) && high >= 1 ? Math.floor(Math.log10(high)) + 1 : 1;
  return Math.max(0, Math.min(decimals, 4 - whole));
}

/** Decimals for the last good value on a line, where a fault and its age stand beside it: three digits will do. */
export function struckDecimals(decimals: number, value: number): number {
  return primaryDecimals(decimals, Math.abs(value) * 10);
}
