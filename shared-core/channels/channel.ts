/**
 * What a channel is: its key, the quantity it measures, and the one unit that
 * the quantity has inside the core. The bench's own channel table (line
 * protocol) is turned into this list; derived channels follow behind it.
 *
 * Calibration and tare are in `calibration.ts`, quality codes in `quality.ts`.
 */

/** Every quantity a channel can have. The unit beside it is the one the core uses. */
export const quantities = {
  'shaft-speed': 'rpm',
  thrust: 'N',
  torque: 'N·m',
  'head-temperature': '°C',
  'exhaust-temperature': '°C',
  'fuel-flow': 'L/h',
  'fuel-total': 'mL',
  'fuel-level': 'L',
  'fuel-temperature': '°C',
  'throttle-demand': '%',
  'servo-pulse': 'µs',
  'supply-voltage': 'V',
  'starter-current': 'A',
  'generator-voltage': 'V',
  'generator-current': 'A',
  'ambient-temperature': '°C',
  'ambient-pressure': 'hPa',
  'ambient-humidity': '%',
  'inlet-temperature': '°C',
  'brake-power': 'kW',
  'mass-flow': 'kg/h',
  density: 'kg/m³',
  bsfc: 'g/(kW·h)',
  pressure: 'bar',
  ratio: '1',
  percent: '%',
  'temperature-difference': 'K',
  'temperature-rate': 'K/s',
  'speed-rate': 'rpm/s',
  time: 's',
  other: '',
} as const;

export type Quantity = keyof typeof quantities;

/** The systems by which values are grouped on screen, in their order. */
export const systems = ['shaft', 'heads', 'exhausts', 'fuel', 'throttle', 'electrical', 'air', 'other'] as const;
export type System = (typeof systems)[number];

/** A short stable name such as `rpm`, `cht1`, `brake_power`: [a-z][a-z0-9_]{0,15}. */
export type ChannelKey = string;

/** One channel of a session, measured or derived. `ordinal` indexes every value array. */
export interface Channel {
  readonly ordinal: number;
  readonly key: ChannelKey;
  /** What a fitter would say: "CHT 1". */
  readonly label: string;
  readonly quantity: Quantity;
  /** Core unit; for quantity `other`, the unit as the bench printed it. */
  readonly unit: string;
  /** Digits shown after the decimal point. */
  readonly decimals: number;
  readonly system: System;
  /** Physical range in the core unit, for scales; NaN where unknown. */
  readonly low: number;
  readonly high: number;
  readonly origin:
    | {
        readonly kind: 'bench';
        /** Column within its rate group, and the group. */
        readonly group: number;
        readonly column: number;
        /** value = raw * factor + offset, in the core unit, before rig calibration. */
        readonly factor: number;
        readonly offset: number;
      }
    | { readonly kind: 'derived'; readonly from: readonly ChannelKey[] };
}
