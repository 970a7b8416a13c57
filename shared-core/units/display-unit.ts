/**
 * Display units at the edge: which ones are offered for each core unit, and
 * the conversion there and back. Inside the core every quantity has one unit
 * (`channels/channel.ts`); units of the line are in `bench-unit.ts`.
 */
import {
  FOOT_m,
  HORSEPOWER_W,
  IMPERIAL_GALLON_m3,
  INCH_OF_MERCURY_Pa,
  KILOGRAM_FORCE_METRE_Nm,
  KILOGRAM_FORCE_N,
  METRIC_HORSEPOWER_W,
  POUND_FORCE_FOOT_Nm,
  POUND_FORCE_INCH_Nm,
  POUND_FORCE_N,
  POUND_kg,
  POUND_PER_HORSEPOWER_HOUR_gPerkWh,
  POUND_PER_US_GALLON_kgPerm3,
  PSI_Pa,
  US_FLUID_OUNCE_m3,
  US_GALLON_m3,
} from './factors.ts';

/** display = core · factor + offset. */
export interface DisplayUnit {
  readonly unit: string;
  readonly factor: number;
  readonly offset: number;
  /** Digits after the point, more (or fewer, below 0) than the core unit needs for the same resolution. */
  readonly extraDecimals: number;
}

/** A unit that is `size` core units big. */
function unit(name: string, size: number, extraDecimals = 0): DisplayUnit {
  return { unit: name, factor: 1 / size, offset: 0, extraDecimals };
}

const others: Readonly<Record<string, readonly DisplayUnit[]>> = {
  rpm: [unit('rev/s', 60, 2)],
  N: [unit('lbf', POUND_FORCE_N, 1), unit('kgf', KILOGRAM_FORCE_N, 1)],
  N·m: [
    unit('lbf·ft', POUND_FORCE_FOOT_Nm),
    unit('lbf·in', POUND_FORCE_INCH_Nm, -1),
    unit('kgf·m', KILOGRAM_FORCE_METRE_Nm, 1),
  ],
  '°C': [
    // t/°F = 1.8 t/°C + 32, exact (SP 811, B.8).
    { unit: '°F', factor: 1.8, offset: 32, extraDecimals: 0 },
    { unit: 'K', factor: 1, offset: 273.15, extraDecimals: 0 },
  ],
  K: [unit('°F difference', 1 / 1.8)],
  'K/s': [unit('°F/s', 1 / 1.8)],
  'L/h': [
    unit('US gal/h', US_GALLON_m3 * 1000, 1),
    unit('imp gal/h', IMPERIAL_GALLON_m3 * 1000, 1),
    unit('mL/min', 0.06, -1),
  ],
  mL: [unit('L', 1000, 3), unit('US fl oz', US_FLUID_OUNCE_m3 * 1e6, 1)],
  L: [unit('US gal', US_GALLON_m3 * 1000, 1), unit('imp gal', IMPERIAL_GALLON_m3 * 1000, 1), unit('mL', 0.001, -3)],
  hPa: [unit('inHg', INCH_OF_MERCURY_Pa / 100, 1), unit('kPa', 10, 1), unit('psi', PSI_Pa / 100, 2)],
  bar: [unit('kPa', 0.01, -2), unit('psi', PSI_Pa / 1e5, -1)],
  kW: [unit('hp', HORSEPOWER_W / 1000), unit('metric hp', METRIC_HORSEPOWER_W / 1000), unit('W', 0.001, -3)],
  'kg/h': [unit('lb/h', POUND_kg), unit('g/min', 0.06, -1), unit('g/h', 0.001, -3)],
  'kg/m³': [unit('lb/US gal', POUND_PER_US_GALLON_kgPerm3, 2), unit('kg/L', 1000, 3)],
  'g/(kW·h)': [unit('lb/(hp·h)', POUND_PER_HORSEPOWER_HOUR_gPerkWh, 3)],
  m: [unit('ft', FOOT_m)],
};

/** Units offered on screen for a core unit, the core unit itself first. */
export function displayUnitsOf(coreUnit: string): readonly DisplayUnit[] {
  const found = offered.get(coreUnit);
  if (found) return found;
  return [{ unit: coreUnit, factor: 1, offset: 0, extraDecimals: 0 }];
}

const offered = new Map<string, readonly DisplayUnit[]>(
  Object.entries(others).map(([core, list]) => [
    core,
    [{ unit: core, factor: 1, offset: 0, extraDecimals: 0 }, ...list],
  ]),
);

/** True where `toDisplay` and `fromDisplay` accept the pair. */
export function isOffered(coreUnit: string, displayUnit: string): boolean {
  return displayUnitsOf(coreUnit).some((each) => each.unit === displayUnit);
}

/**
 * A core-unit value in a display unit. NaN stays NaN.
 * @throws RangeError if the display unit is not offered for the core unit: the caller's mistake
 */
export function toDisplay(value: number, coreUnit: string, displayUnit: string): number {
  if (coreUnit === displayUnit) return value;
  const to = offeredUnit(coreUnit, displayUnit);
  return value * to.factor + to.offset;
}

/** The way back, for numbers that an operator types. Same errors as `toDisplay`. */
export function fromDisplay(value: number, coreUnit: string, displayUnit: string): number {
  if (coreUnit === displayUnit) return value;
  const from = offeredUnit(coreUnit, displayUnit);
  return (value - from.offset) / from.factor;
}

/** Digits after the point in the display unit, from those of the core unit; never below 0. */
export function displayDecimals(decimals: number, coreUnit: string, displayUnit: string): number {
  return Math.max(0, decimals + offeredUnit(coreUnit, displayUnit).extraDecimals);
}

function offeredUnit(coreUnit: string, displayUnit: string): DisplayUnit {
  for (const each of displayUnitsOf(coreUnit)) if (each.unit === displayUnit) return each;
  throw new RangeError(`${displayUnit} is not offered for ${coreUnit}`);
}
