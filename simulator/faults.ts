/**
 * What can be broken on purpose, as data: for the training page, the device's
 * command line and the tests. The faults themselves are in `faults/`, by
 * subject; what each does to plant, bench or line is in `fault-effects.ts`.
 *
 * Besides its own parameters each fault takes `onset_s` (seconds from the
 * injection until it begins), and each graded one `ramp_s` (seconds from
 * nothing to full) and `severity` (0 to 1, share of its full extent).
 */
import type { FaultData, FaultOptions, FaultParameter } from './faults/definition.ts';
import { engineFaults } from './faults/engine-faults.ts';
import { fuelFaults } from './faults/fuel-faults.ts';
import { sensorFaults } from './faults/sensor-faults.ts';
import { standFaults } from './faults/stand-faults.ts';

export type { FaultExpectation, FaultOptions, FaultParameter, TraceSign } from './faults/definition.ts';

const data = { ...engineFaults, ...fuelFaults, ...sensorFaults, ...standFaults };
export type FaultId = keyof typeof data;
export const faultIds = Object.keys(data) as readonly FaultId[];

export interface FaultDefinition extends FaultData {
  readonly id: FaultId;
}

const onset: FaultParameter = { key: 'onset_s', label: 'begins after', unit: 's', usual: 0, low: 0, high: 36_000 };
const severity: FaultParameter = { key: 'severity', label: 'severity', unit: '1', usual: 1, low: 0, high: 1 };

export const faults: Readonly<Record<FaultId, FaultDefinition>> = Object.fromEntries(
  faultIds.map((id) => {
    const each: FaultData = data[id];
    const ramp: FaultParameter = { key: 'ramp_s', label: 'ramp', unit: 's', usual: each.ramp_s, low: 0, high: 36_000 };
    const parameters = [...each.parameters, onset, ...(each.isGraded ? [ramp, severity] : [])];
    return [id, { ...each, id, parameters }];
  }),
) as unknown as Record<FaultId, FaultDefinition>;

/** The parameter's value as given, clamped to its range, or its usual one. */
export function parameterOf(fault: FaultId, key: string, options: FaultOptions | undefined): number {
  const parameter = faults[fault].parameters.find((candidate) => candidate.key === key);
  if (!parameter) throw new RangeError(`fault ${fault} has no parameter ${key}`);
  const given = options?.[key] ?? parameter.usual;
  return Number.isFinite(given) ? Math.min(parameter.high, Math.max(parameter.low, given)) : parameter.usual;
}

/** How far a fault has come on, 0 to 1, so many seconds after its injection. */
export function faultLevel(fault: FaultId, options: FaultOptions | undefined, since_s: number): number {
  const begun_s = since_s - parameterOf(fault, 'onset_s', options);
  if (begun_s < 0) return 0;
  if (!faults[fault].isGraded) return 1;
  const ramp_s = parameterOf(fault, 'ramp_s', options);
  const share = ramp_s > 0 ? Math.min(1, begun_s / ramp_s) : 1;
  return share * parameterOf(fault, 'severity', options);
}

export function isFaultId(text: string): text is FaultId {
  return (faultIds as readonly string[]).includes(text);
}
