/**
 * What each fault does to plant, bench or line at a level of 0 (whole) to 1
 * (as far as its parameters say). Which faults there are is in `faults/`; when
 * they come and go is `simulated-bench.ts`'s.
 */
import { assertNever } from '../shared-core/base/result.ts';
import type { Controller } from './bench/controller.ts';
import type { Wire } from './bench/wire.ts';
import { type FaultId, type FaultOptions, parameterOf } from './faults.ts';
import type { Plant } from './physics/plant.ts';

export interface Breakable {
  readonly plant: Plant;
  readonly controller: Controller;
  readonly wire: Wire;
}

/** Sets a fault to a level; `isFirst` when it has just come on. */
export function applyFault(
  { plant, controller, wire }: Breakable,
  fault: FaultId,
  level: number,
  options: FaultOptions | undefined,
  isFirst: boolean,
): void {
  const sensors = controller.sensors.faults;
  const engine = plant.engine.faults;
  const isOn = level > 0;
  const value = (key: string): number => parameterOf(fault, key, options);
  const graded = (key: string): number => level * value(key);
  /** The cylinder meant gets it, all others are whole. */
  const inCylinder = (shares: Float64Array): void => {
    shares.fill(0);
    shares[Math.min(shares.length, Math.round(value('cylinder'))) - 1] = graded('share');
  };
  const flagCylinder = (flags: boolean[]): void => {
    flags.fill(false);
    flags[Math.min(flags.length, Math.round(value('cylinder'))) - 1] = isOn;
  };
  switch (fault) {
    case 'fan-off':
      plant.inputs.fanLoss = level;
      break;
    case 'cooling-blocked':
      inCylinder(plant.thermal.blocked);
      break;
    case 'overspeed':
      plant.inputs.unload = graded('share');
      break;
    case 'blade-damage':
      sensors.shaking = 1 + level * (value('times') - 1);
      break;
    case 'recirculation':
      plant.inputs.recirculation = graded('share');
      break;
    case 'plug-fouled':
      inCylinder(engine.misfire);
      break;
    case 'ignition-dead':
      engine.isIgnitionDead = isOn;
      break;
    case 'timing-late':
      engine.retard_deg = graded('retard_deg');
      break;
    case 'intake-leak':
      inCylinder(engine.leak);
      break;
    case 'exhaust-blocked':
      engine.blockedExhaust = graded('share');
      break;
    case 'tight-piston':
      engine.friction_bar = graded('bar');
      break;
    case 'water-in-fuel':
      engine.water = graded('share');
      break;
    case 'fuel-starvation':
      plant.fuel.isStarved = isOn;
      break;
    case 'jet-blocked':
      plant.engine.carburettor.blocked = graded('share');
      break;
    case 'choke-stuck':
      plant.engine.carburettor.chokeStuck = graded('share');
      break;
    case 'pump-weak':
      plant.fuel.pumpLoss = graded('share');
      break;
    case 'fuel-leak':
      plant.fuel.leak_mLPers = graded('rate_mLPers');
      break;
    case 'fuel-hot':
      plant.fuel.lineHeat_K = graded('rise_K');
      break;
    case 'fuel-bubbles':
      sensors.bubbles = graded('share');
      break;
    case 'fuel-meter-high':
      sensors.flowFactor = 1 + level * (value('factor') - 1);
      break;
    case 'fuel-meter-drift':
      sensors.flowZero_Lperh = graded('zero_Lperh');
      break;
    case 'cht-open':
      flagCylinder(sensors.isHeadOpen);
      break;
    case 'cht-loose':
      inCylinder(sensors.headLoose);
      break;
    case 'cht-intermittent':
      inCylinder(sensors.headFlicker);
      break;
    case 'egt-short':
      flagCylinder(sensors.isExhaustShort);
      break;
    case 'egt-reversed':
      flagCylinder(sensors.isExhaustReversed);
      break;
    case 'thrust-stuck':
      sensors.isThrustStuck = isOn;
      break;
    case 'thrust-open':
      sensors.isThrustOpen = isOn;
      break;
    case 'thrust-drift':
      sensors.thrustZero_N = graded('zero_N');
      break;
    case 'torque-crosstalk':
      sensors.crosstalk_m = graded('arm_mm') / 1000;
      break;
    case 'pickup-double':
      sensors.pickupDouble = graded('share');
      break;
    case 'pickup-missed':
      sensors.pickupMissed = graded('share');
      break;
    case 'pickup-sunlight':
      sensors.pickupBlind = graded('share');
      break;
    case 'generator-dead':
      plant.electrics.isGeneratorDead = isOn;
      break;
    case 'battery-weak':
      plant.electrics.lug_ohm = graded('lug_ohm');
      // What is gone does not come back when the lugs are tightened.
      if (isOn) plant.electrics.charge = Math.min(plant.electrics.charge, 1 - level * (1 - value('charge')));
      break;
    case 'starter-stuck':
      controller.outputs.isStarterWelded = isOn;
      break;
    case 'servo-jam':
      plant.servo.isJammed = isOn;
      break;
    case 'servo-slow':
      plant.servo.drag = graded('share');
      break;
    case 'stop-open':
      controller.outputs.isStopClosed = !isOn;
      break;
    case 'cage-open':
      controller.outputs.isCageClosed = !isOn;
      break;
    case 'line-noise':
      wire.setBitErrorRate(graded('rate'));
      break;
    case 'line-loss':
      wire.lossesPerMinute = graded('perMinute');
      break;
    case 'line-delay':
      wire.setDelay(graded('delay_ms'));
      break;
    case 'link-drop':
      wire.isDown = isOn;
      break;
    case 'reboot':
      if (isOn && isFirst) controller.reboot();
      break;
    default:
      assertNever(fault);
  }
}
