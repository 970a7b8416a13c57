/** What there is to calibrate on this bench, with the record in force and how it stands today. Pure. */
import {
  type CalibrationKind,
  type CalibrationRecord,
  isOverdue,
  recordsInForce,
} from '../../../shared-core/calibration/record.ts';
import type { Channel } from '../../../shared-core/channels/channel.ts';

export interface CalibrationPlace {
  /** As in the address: `thrust`, `thermocouple-cht1`. */
  readonly id: string;
  readonly kind: CalibrationKind;
  readonly title: string;
  readonly channels: readonly string[];
}

export const kindTitles: Readonly<Record<CalibrationKind, string>> = {
  thrust: 'Thrust by dead weights',
  torque: 'Torque by dead weights',
  thermocouple: 'Thermocouple at two points',
  'rpm-pickup': 'Rpm pickup',
  'fuel-zero': 'Fuel meter, zero',
  'fuel-scale': 'Fuel meter, scale',
  'throttle-travel': 'Throttle travel',
};

/** One for each quantity that the bench has; every thermocouple has its own. */
export function placesToCalibrate(channels: readonly Channel[]): readonly CalibrationPlace[] {
  const bench = channels.filter((each) => each.origin.kind === 'bench');
  const of = (quantity: Channel['quantity']) => bench.filter((each) => each.quantity === quantity);
  const one = (kind: CalibrationKind, found: readonly Channel[]): CalibrationPlace[] =>
    found.length === 0 ? [] : [{ id: kind, kind, title: kindTitles[kind], channels: found.map((each) => each.key) }];
  const [thrust, torque, speed, flow, total, demand, pulse] = [
    of('thrust').slice(0, 1),
    of('torque').slice(0, 1),
    of('shaft-speed').slice(0, 1),
    of('fuel-flow').slice(0, 1),
    of('fuel-total').slice(0, 1),
    of('throttle-demand').slice(0, 1),
    of('servo-pulse').slice(0, 1),
  ];
  return [
    ...one('thrust', thrust),
    ...one('torque', torque),
    ...[...of('head-temperature'), ...of('exhaust-temperature')].map((channel) => ({
      id: `thermocouple-${channel.key}`,
      kind: 'thermocouple' as const,
      title: `Thermocouple ${channel.label}`,
      channels: [channel.key],
    })),
    ...one('rpm-pickup', speed),
    ...one('fuel-zero', flow),
    ...(total.length > 0 ? one('fuel-scale', [...total, ...flow]) : []),
    ...(pulse.length > 0 ? one('throttle-travel', [...demand, ...pulse]) : []),
  ];
}

export type Standing = 'good' | 'failed' | 'incomplete' | 'overdue' | 'never';

/** @param today `2026-03-14` */
export function standingOf(record: CalibrationRecord | undefined, today: string): Standing {
  if (record === undefined) return 'never';
  if (record.verdict === 'fail') return 'failed';
  if (isOverdue(record, today)) return 'overdue';
  return record.verdict === 'incomplete' ? 'incomplete' : 'good';
}

export const standingWords: Readonly<Record<Standing, string>> = {
  good: 'good',
  failed: 'failed',
  incomplete: 'incomplete',
  overdue: 'overdue',
  never: 'never done',
};

export function recordFor(
  place: CalibrationPlace,
  records: readonly CalibrationRecord[],
): CalibrationRecord | undefined {
  return recordsInForce(records).find(
    (each) => each.kind === place.kind && each.channels.join(' ') === place.channels.join(' '),
  );
}

/** The day of the machine's own calendar, as records name it. */
export function dayOf(at_epochMs: number): string {
  const date = new Date(at_epochMs);
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
}

/** `thrust-2026-03-14`, with a number where the day has one already. */
export function recordId(place: CalibrationPlace, day: string, records: readonly CalibrationRecord[]): string {
  const stem = `${place.id}-${day}`.slice(0, 56);
  let id = stem;
  for (let n = 2; records.some((each) => each.id === id); n++) id = `${stem}-${n}`;
  return id;
}
