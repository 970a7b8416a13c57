/**
 * What can be broken on purpose, as data: for the training page, the device's
 * command line and the tests. What each fault does to plant, bench or line is
 * carried out in `simulated-bench.ts`.
 */
export const faultIds = [
  'cht-open',
  'egt-short',
  'fan-off',
  'overspeed',
  'fuel-starvation',
  'fuel-meter-high',
  'generator-dead',
  'stop-open',
  'cage-open',
  'thrust-stuck',
  'line-noise',
  'link-drop',
  'reboot',
] as const;
export type FaultId = (typeof faultIds)[number];

/** Values by parameter key; those left out keep their default. */
export type FaultOptions = Readonly<Record<string, number>>;

export interface FaultParameter {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly usual: number;
  readonly low: number;
  readonly high: number;
}

export interface FaultDefinition {
  readonly id: FaultId;
  readonly title: string;
  /** What it does to the stand. */
  readonly effect: string;
  /** What betrays it on the channels. */
  readonly trace: string;
  readonly parameters: readonly FaultParameter[];
}

const cylinder: FaultParameter = { key: 'cylinder', label: 'cylinder', unit: '1', usual: 1, low: 1, high: 4 };

export const faults: Readonly<Record<FaultId, FaultDefinition>> = {
  'cht-open': {
    id: 'cht-open',
    title: 'CHT sensor open',
    effect: 'The lead of one head thermocouple breaks; the head itself is as before.',
    trace: 'That CHT goes from a value to "open" between two samples; its neighbours and all else stay.',
    parameters: [cylinder],
  },
  'egt-short': {
    id: 'egt-short',
    title: 'EGT sensor shorted',
    effect: 'The lead of one exhaust thermocouple is pinched to ground.',
    trace: 'That EGT reads "short" at once; rpm, fuel flow and the other EGT stay.',
    parameters: [cylinder],
  },
  'fan-off': {
    id: 'fan-off',
    title: 'cooling fan fails',
    effect: 'The fan motor stops while its switch stays on; only the propeller wash cools.',
    trace:
      'The fan input still says on, supply load falls by 5 A, then every CHT climbs together past caution and abort.',
    parameters: [],
  },
  overspeed: {
    id: 'overspeed',
    title: 'propeller unloads',
    effect: 'A share of the blade loading is lost, as with a slipped pitch or a blade throwing its leading edge.',
    trace: 'rpm rises within a second while torque and thrust fall; at high throttle past 7,000.',
    parameters: [{ key: 'share', label: 'loading lost', unit: '1', usual: 0.4, low: 0.05, high: 0.8 }],
  },
  'fuel-starvation': {
    id: 'fuel-starvation',
    title: 'fuel stops',
    effect: 'Nothing leaves the tank; the engine runs on what is in the carburettor.',
    trace: 'Fuel flow drops to zero at once, EGT peaks lean, then rpm falls and the engine stops.',
    parameters: [],
  },
  'fuel-meter-high': {
    id: 'fuel-meter-high',
    title: 'fuel meter reads high',
    effect: 'The flow reading gains a factor; the totaliser pulses stay right.',
    trace: 'Flow and the slope of the totaliser disagree; BSFC steps while power stays.',
    parameters: [{ key: 'factor', label: 'factor', unit: '1', usual: 1.12, low: 0.5, high: 2 }],
  },
  'generator-dead': {
    id: 'generator-dead',
    title: 'generator gives nothing',
    effect: 'The generator lead breaks; the battery carries the loads.',
    trace: 'Generator voltage and current fall to zero, supply voltage by more than a volt, and on falling.',
    parameters: [],
  },
  'stop-open': {
    id: 'stop-open',
    title: 'stop circuit opens',
    effect: 'The hard-wired stop circuit opens: ignition and starter are off whatever anybody commands.',
    trace: 'The stop input goes to open, ignition to off, rpm runs down.',
    parameters: [],
  },
  'cage-open': {
    id: 'cage-open',
    title: 'propeller cage opens',
    effect: 'The cage door switch opens; the starter is blocked, a running engine runs on.',
    trace: 'The cage input goes to open; nothing else changes.',
    parameters: [],
  },
  'thrust-stuck': {
    id: 'thrust-stuck',
    title: 'thrust cell sticks',
    effect: 'The thrust slide binds: the cell keeps the load it had.',
    trace: 'Thrust stands still, noise and all, while rpm and torque move.',
    parameters: [],
  },
  'line-noise': {
    id: 'line-noise',
    title: 'noise on the serial line',
    effect: 'Bits flip at random, in both directions.',
    trace: 'bad-crc, garbage and missing counts rise; the values that arrive are right.',
    parameters: [{ key: 'rate', label: 'flipped share of bits', unit: '1', usual: 2e-5, low: 0, high: 0.01 }],
  },
  'link-drop': {
    id: 'link-drop',
    title: 'serial line drops',
    effect: 'No byte passes in either direction for a while; the bench goes on sampling.',
    trace: 'Silence; then the running number jumps and the missing count says by how much. A lease runs out meanwhile.',
    parameters: [{ key: 'for_s', label: 'duration', unit: 's', usual: 8, low: 0.1, high: 3600 }],
  },
  reboot: {
    id: 'reboot',
    title: 'bench controller reboots',
    effect: 'The controller loses power for 1.2 s: every output drops, running number and time begin again.',
    trace: 'Silence, then an identity with another boot field, totaliser at zero.',
    parameters: [],
  },
};

/** The parameter's value as given, clamped to its range, or its usual one. */
export function parameterOf(fault: FaultId, key: string, options: FaultOptions | undefined): number {
  const parameter = faults[fault].parameters.find((candidate) => candidate.key === key);
  if (!parameter) throw new RangeError(`fault ${fault} has no parameter ${key}`);
  const given = options?.[key] ?? parameter.usual;
  return Number.isFinite(given) ? Math.min(parameter.high, Math.max(parameter.low, given)) : parameter.usual;
}

export function isFaultId(text: string): text is FaultId {
  return (faultIds as readonly string[]).includes(text);
}
