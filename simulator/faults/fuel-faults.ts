/** Faults from tank to jet, and of the fuel meter. */
import { defineFaults, parameter } from './definition.ts';

export const fuelFaults = defineFaults({
  'fuel-starvation': {
    title: 'fuel stops',
    effect: 'Nothing leaves the tank; the engine runs on what is in the carburettor.',
    trace: 'Fuel flow drops to zero at once, EGT peaks lean, then rpm falls and the engine stops.',
    isGraded: false,
    ramp_s: 0,
    parameters: [],
    expects: {
      scenario: 'full-throttle',
      within_s: 40,
      rules: ['stopped-by-itself'],
      mayTrip: ['egt1-caution', 'egt2-caution', 'fuel-disagree'],
      signs: [
        { kind: 'passes', channel: 'fuel_flow', below: 0.3 },
        { kind: 'passes', channel: 'rpm', below: 100 },
      ],
    },
  },
  'jet-blocked': {
    title: 'main jet partly blocked',
    effect: 'Dirt in the jet: all cylinders run lean.',
    trace: 'Fuel flow falls while rpm hardly does; both EGTs climb past caution.',
    isGraded: true,
    ramp_s: 5,
    parameters: [parameter('share', 'jet blocked', '1', 0.08, 0.02, 0.6)],
    expects: {
      scenario: 'full-throttle',
      within_s: 90,
      rules: ['egt2-caution'],
      mayTrip: ['egt1-caution'],
      signs: [
        { kind: 'moves', channel: 'fuel_flow', by: -0.3 },
        { kind: 'moves', channel: 'egt1', by: 35 },
        { kind: 'stays', channel: 'rpm', within: 200 },
      ],
    },
  },
  'choke-stuck': {
    title: 'choke stuck on',
    effect: 'The start enrichment does not close when the engine is warm.',
    trace: 'Fuel flow is up though rpm is down, EGT far down: a rich engine.',
    isGraded: true,
    ramp_s: 0,
    parameters: [parameter('share', 'share', '1', 1, 0.1, 1)],
    expects: {
      scenario: 'full-throttle',
      within_s: 60,
      rules: [],
      signs: [
        { kind: 'moves', channel: 'fuel_flow', by: 0.4 },
        { kind: 'moves', channel: 'egt1', by: -40 },
      ],
    },
  },
  'pump-weak': {
    title: 'fuel pump weak',
    effect: 'The membrane of the pulse pump is torn: it cannot keep up with full throttle.',
    trace: 'At full throttle flow sinks to what the pump gives, EGT rises, rpm sags; at idle all is well.',
    isGraded: true,
    ramp_s: 5,
    parameters: [parameter('share', 'delivery lost', '1', 0.815, 0.1, 1)],
    expects: {
      scenario: 'full-throttle',
      within_s: 90,
      rules: ['egt2-caution'],
      mayTrip: ['egt1-caution'],
      signs: [
        { kind: 'moves', channel: 'fuel_flow', by: -0.4 },
        { kind: 'moves', channel: 'rpm', by: -40 },
      ],
    },
  },
  'fuel-leak': {
    title: 'fuel leaks before the meter',
    effect: 'The hose at the tank drips: fuel goes to the floor that no meter counts.',
    trace: 'The tank level falls faster than the totaliser counts; the engine runs as before.',
    isGraded: true,
    ramp_s: 0,
    parameters: [parameter('rate_mLPers', 'leaks', 'mL/s', 3, 0.1, 30)],
    expects: {
      scenario: 'warm-idle',
      within_s: 60,
      rules: [],
      signs: [
        { kind: 'unmetered', atLeast_mL: 80 },
        { kind: 'stays', channel: 'rpm', within: 80 },
      ],
    },
  },
  'fuel-hot': {
    title: 'fuel line hot',
    effect: 'The line lies on the exhaust: fuel boils before the jet.',
    trace: 'Fuel temperature climbs; flow falls and EGT rises, then rpm sags as vapour comes.',
    isGraded: true,
    ramp_s: 30,
    parameters: [parameter('rise_K', 'rise', 'K', 38, 5, 80)],
    expects: {
      scenario: 'full-throttle',
      within_s: 500,
      rules: ['fuel-hot'],
      mayTrip: ['egt1-caution', 'egt2-caution'],
      signs: [
        { kind: 'moves', channel: 'fuel_temp', by: 25 },
        { kind: 'moves', channel: 'fuel_flow', by: -0.2 },
      ],
    },
  },
  'fuel-bubbles': {
    title: 'air in the fuel line',
    effect: 'A loose clamp draws air: bubbles spin the meter and its pulses are lost.',
    trace: 'The flow reading leaps about and is too high; the totaliser counts too little: they disagree.',
    isGraded: true,
    ramp_s: 2,
    parameters: [parameter('share', 'share', '1', 0.4, 0.05, 0.9)],
    expects: {
      scenario: 'full-throttle',
      within_s: 90,
      rules: ['fuel-disagree'],
      signs: [
        { kind: 'noisier', channel: 'fuel_flow', times: 4 },
        { kind: 'stays', channel: 'rpm', within: 120 },
      ],
    },
  },
  'fuel-meter-high': {
    title: 'fuel meter reads high',
    effect: 'The flow reading gains a factor; the totaliser pulses stay right.',
    trace: 'Flow and the slope of the totaliser disagree; BSFC steps while power stays.',
    isGraded: true,
    ramp_s: 0,
    parameters: [parameter('factor', 'factor', '1', 1.25, 0.5, 2)],
    expects: {
      scenario: 'full-throttle',
      within_s: 60,
      rules: ['fuel-disagree'],
      signs: [
        { kind: 'moves', channel: 'bsfc', by: 60 },
        { kind: 'stays', channel: 'torque', within: 0.4 },
      ],
    },
  },
  'fuel-meter-drift': {
    title: 'fuel meter zero drifts',
    effect: 'The zero of the flow reading wanders away.',
    trace: 'Flow shows fuel with the engine at rest, more and more of it; the totaliser stands still.',
    isGraded: true,
    ramp_s: 40,
    parameters: [parameter('zero_Lperh', 'zero', 'L/h', 0.3, -2, 2)],
    expects: {
      scenario: 'standing',
      within_s: 60,
      rules: [],
      signs: [
        { kind: 'moves', channel: 'fuel_flow', by: 0.25 },
        { kind: 'stays', channel: 'rpm', within: 1 },
      ],
    },
  },
});
