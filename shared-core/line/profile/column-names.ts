/**
 * What a foreign bench may mean by the name of a column: quantity, key and
 * unit, from its header or key. A proposal to a person, who decides.
 */
import type { Quantity } from '../../channels/channel.ts';

export interface NameReading {
  /** Without number: "cht" of CHT2. */
  readonly stem: string;
  readonly quantity: Quantity;
  /** UCUM code; of the name's own unit if it says one, else the usual one. */
  readonly unit: string;
  /** True when the name itself says the unit. */
  readonly isUnitSaid: boolean;
  readonly low: number;
  readonly high: number;
}

/** First match counts: a "fuel flow" is no "fuel", a "servo pulse" no "servo". Units: first is usual, all are possible. */
const names: readonly {
  readonly form: RegExp;
  readonly stem: string;
  readonly quantity: Quantity;
  readonly units: readonly string[];
  readonly low: number;
  readonly high: number;
}[] = [
  { form: /egt|exh/, stem: 'egt', quantity: 'exhaust-temperature', units: ['Cel', '[degF]', 'K'], low: 0, high: 1200 },
  {
    form: /cht|head|cyl/,
    stem: 'cht',
    quantity: 'head-temperature',
    units: ['Cel', '[degF]', 'K'],
    low: -40,
    high: 400,
  },
  {
    form: /inlet|intake|iat/,
    stem: 'inlet_temp',
    quantity: 'inlet-temperature',
    units: ['Cel', '[degF]', 'K'],
    low: -40,
    high: 150,
  },
  {
    form: /fuel.*temp/,
    stem: 'fuel_temp',
    quantity: 'fuel-temperature',
    units: ['Cel', '[degF]', 'K'],
    low: -40,
    high: 100,
  },
  {
    form: /fuel.*(tot|sum|used)|totali/,
    stem: 'fuel_total',
    quantity: 'fuel-total',
    units: ['mL', 'L'],
    low: 0,
    high: 100_000,
  },
  { form: /fuel.*lev|tank/, stem: 'fuel_level', quantity: 'fuel-level', units: ['L', 'mL'], low: 0, high: 100 },
  {
    form: /flow|fuel/,
    stem: 'fuel_flow',
    quantity: 'fuel-flow',
    units: ['L/h', 'mL/min', '[gal_us]/h'],
    low: 0,
    high: 200,
  },
  { form: /rpm|rev|speed|drehz/, stem: 'rpm', quantity: 'shaft-speed', units: ['/min', 'Hz'], low: 0, high: 15_000 },
  {
    form: /thrust|pull|schub/,
    stem: 'thrust',
    quantity: 'thrust',
    units: ['N', 'kgf', '[lbf_av]'],
    low: -100,
    high: 2000,
  },
  { form: /torque|trq|moment/, stem: 'torque', quantity: 'torque', units: ['N.m'], low: -100, high: 200 },
  { form: /puls|pwm|servo/, stem: 'servo_pulse', quantity: 'servo-pulse', units: ['us', 'ms'], low: 400, high: 2500 },
  { form: /thr(o|$|_|\d)|gas\b/, stem: 'throttle', quantity: 'throttle-demand', units: ['%'], low: 0, high: 100 },
  { form: /gen.*(v|volt)/, stem: 'gen_volt', quantity: 'generator-voltage', units: ['V', 'mV'], low: 0, high: 60 },
  { form: /gen.*(a|amp|cur)/, stem: 'gen_amp', quantity: 'generator-current', units: ['A', 'mA'], low: 0, high: 100 },
  {
    form: /start.*(a|amp|cur)/,
    stem: 'starter_amp',
    quantity: 'starter-current',
    units: ['A', 'mA'],
    low: 0,
    high: 500,
  },
  {
    form: /volt|vbat|batt|supply/,
    stem: 'supply_volt',
    quantity: 'supply-voltage',
    units: ['V', 'mV'],
    low: 0,
    high: 60,
  },
  {
    form: /press|baro|qfe/,
    stem: 'air_press',
    quantity: 'ambient-pressure',
    units: ['hPa', 'kPa', 'Pa', 'bar'],
    low: 500,
    high: 1100,
  },
  { form: /humi|\brh\b/, stem: 'air_humid', quantity: 'ambient-humidity', units: ['%'], low: 0, high: 100 },
  {
    form: /air|amb|oat|room/,
    stem: 'air_temp',
    quantity: 'ambient-temperature',
    units: ['Cel', '[degF]', 'K'],
    low: -40,
    high: 60,
  },
];

/** Spellings of units, lower case unless case tells them apart. */
const units: readonly (readonly [RegExp, string])[] = [
  [/^(°c|degc|deg c|cel|celsius|c)$/i, 'Cel'],
  [/^(°f|degf|deg f|fahrenheit|f)$/i, '[degF]'],
  [/^(k|kelvin)$/i, 'K'],
  [/^(rpm|1\/min|\/min|min-1|u\/min|r\/min)$/i, '/min'],
  [/^hz$/i, 'Hz'],
  [/^(nm|n·m|n\.m|n\*m)$/i, 'N.m'],
  [/^n$/i, 'N'],
  [/^(kgf|kg|kp)$/i, 'kgf'],
  [/^(lbf|lbs?)$/i, '[lbf_av]'],
  [/^l\/h(r)?$/i, 'L/h'],
  [/^ml\/min$/i, 'mL/min'],
  [/^(gph|gal\/h)$/i, '[gal_us]/h'],
  [/^ml$/i, 'mL'],
  [/^l$/i, 'L'],
  [/^(%|percent|pct)$/i, '%'],
  [/^(us|µs|μs|usec)$/i, 'us'],
  [/^(ms|msec)$/i, 'ms'],
  [/^mv$/, 'mV'],
  [/^v$/i, 'V'],
  [/^ma$/i, 'mA'],
  [/^a$/i, 'A'],
  [/^(hpa|mbar)$/i, 'hPa'],
  [/^kpa$/i, 'kPa'],
  [/^pa$/i, 'Pa'],
  [/^bar$/i, 'bar'],
];

/** UCUM code of a unit as people write it; undefined if it is none that we know. */
export function unitOf(text: string): string | undefined {
  return units.find(([form]) => form.test(text.trim()))?.[1];
}

/** Name and unit of "Thrust (N)", "CHT1 [°C]", "fuel_flow L/h", "oil_temp_C". */
export function nameParts(name: string): { readonly name: string; readonly unit: string | undefined } {
  const bracketed = /^(.*?)\s*[([{]\s*([^)\]}]+?)\s*[)\]}]\s*$/.exec(name);
  if (bracketed !== null) return { name: bracketed[1]!, unit: unitOf(bracketed[2]!) };
  const trailed = /^(.+?)[\s_/]+([^\s_]+)$/.exec(name);
  const unit = trailed === null ? undefined : unitOf(trailed[2]!);
  return unit === undefined ? { name, unit: undefined } : { name: trailed![1]!, unit };
}

/** What the name means; undefined if we have no idea. */
export function readName(fullName: string): NameReading | undefined {
  const { name, unit } = nameParts(fullName);
  const plain = name.toLowerCase();
  const known = names.find((each) => each.form.test(plain) && (unit === undefined || each.units.includes(unit)));
  if (known === undefined) return undefined;
  return {
    stem: known.stem,
    quantity: known.quantity,
    unit: unit ?? known.units[0]!,
    isUnitSaid: unit !== undefined,
    low: known.low,
    high: known.high,
  };
}

/** A key for a name: [a-z][a-z0-9_]{0,15}, none of `taken`. */
export function keyFor(name: string, taken: ReadonlySet<string>): string {
  let key = name
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '_')
    .replaceAll(/^_+|_+$/g, '');
  if (!/^[a-z]/.test(key)) key = `c${key === '' ? '' : '_'}${key}`;
  key = key.slice(0, 16);
  let free = key;
  for (let n = 2; taken.has(free); n++) free = `${key.slice(0, 16 - String(n).length)}${n}`;
  return free;
}
