/**
 * The figures by which the simulated engine is judged: computed once, used by
 * the tests and by the plots of simulator/VALIDATION.md alike.
 */
import { type PowerStandard, powerCorrection } from '../../shared-core/derive/power-correction.ts';
import { soundSpeed_mPers } from '../../simulator/physics/air.ts';
import { brakeTorque_Nm, CASE_FULL_degC, commission, inletAir } from '../../simulator/physics/commissioning.ts';
import type { EnergyBalance } from '../../simulator/physics/ledger.ts';
import { Plant } from '../../simulator/physics/plant.ts';
import { inducedVelocity_mPers, propellerTorque_Nm } from '../../simulator/physics/propeller.ts';
import { pulseFor } from '../../simulator/physics/servo.ts';
import { lapwing120, type SimulatedRig } from '../../simulator/rigs.ts';

export const rig: SimulatedRig = lapwing120;
const { home } = rig;
const homeAir = inletAir(home.temperature_degC, home.pressure_hPa, home.humidity_percent);
export const homeDensity_kgPerm3 = homeAir.density_kgPerm3;
const setting = commission(rig.engine, rig.propeller, home);

/** A plant that runs warm and steady at a throttle, everything switched on. */
export function warmPlant(position: number, more: { readonly refine?: number; readonly still?: boolean } = {}): Plant {
  const plant = new Plant({ rig, site: home, seed: 1, ...more });
  Object.assign(plant.inputs, {
    isIgnitionOn: true,
    isSupplyOn: true,
    isServoOn: true,
    isFanOn: true,
    servoPulse_us: pulseFor(rig.servo, position),
  });
  const { idleSpeed_rpm, fullThrottleSpeed_rpm } = rig.engine;
  plant.startWarm(position, idleSpeed_rpm + (fullThrottleSpeed_rpm - idleSpeed_rpm) * Math.sqrt(position));
  return plant;
}

export interface SteadyPoint {
  readonly throttle_percent: number;
  readonly speed_rpm: number;
  readonly torque_Nm: number;
  readonly power_kW: number;
  /** Of the propeller, before the drag of the stand. */
  readonly thrust_N: number;
  readonly fuel_kgPerh: number;
  readonly bsfc_gPerkWh: number;
  readonly energy: EnergyBalance;
}

const SETTLE_ms = 60_000;
const MEAN_ms = 20_000;

/** Means over 20 s after 60 s at each throttle. */
export const steadyPoints: readonly SteadyPoint[] = [0, 10, 20, 30, 40, 55, 70, 85, 100].map((throttle_percent) => {
  const plant = warmPlant(throttle_percent / 100);
  for (let i = 0; i < SETTLE_ms; i++) plant.step();
  const from_g = plant.engine.fuelUsed_g;
  let speed_rpm = 0;
  let torque_Nm = 0;
  let thrust_N = 0;
  for (let i = 0; i < MEAN_ms; i++) {
    plant.step();
    speed_rpm += plant.speed_rpm / MEAN_ms;
    torque_Nm += plant.reactionTorque_Nm() / MEAN_ms;
    thrust_N += plant.propellerThrust_N() / MEAN_ms;
  }
  const power_kW = (torque_Nm * speed_rpm * 2 * Math.PI) / 60_000;
  const fuel_kgPerh = ((plant.engine.fuelUsed_g - from_g) / (MEAN_ms / 1000)) * 3.6;
  return {
    throttle_percent,
    speed_rpm,
    torque_Nm,
    power_kW,
    thrust_N,
    fuel_kgPerh,
    bsfc_gPerkWh: (1000 * fuel_kgPerh) / power_kW,
    energy: plant.energy(),
  };
});

export function steadyAt(throttle_percent: number): SteadyPoint {
  const point = steadyPoints.find((each) => each.throttle_percent === throttle_percent);
  if (!point) throw new Error(`expected a throttle that was run, got ${throttle_percent}`);
  return point;
}

/** Torque at the shaft of the warm engine at full throttle, and that which the propeller takes, in the home air. */
export function engineTorque_Nm(speed_rpm: number, air = homeAir, position = 1): number {
  return brakeTorque_Nm(rig.engine, setting, position, speed_rpm, CASE_FULL_degC, air);
}
export function loadTorque_Nm(speed_rpm: number): number {
  return propellerTorque_Nm(rig.propeller, speed_rpm, homeDensity_kgPerm3, soundSpeed_mPers(home.temperature_degC), 0);
}

/** Where the two cross, by bisection. */
export function crossing_rpm(position: number): number {
  let low = rig.engine.idleSpeed_rpm * 0.5;
  let high = rig.engine.fullThrottleSpeed_rpm * 1.5;
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (engineTorque_Nm(middle, homeAir, position) > loadTorque_Nm(middle)) low = middle;
    else high = middle;
  }
  return low;
}

/** Figure of merit by momentum theory: ideal induced power over the power taken. */
export function figureOfMerit(point: SteadyPoint): number {
  const ideal_W = point.thrust_N * inducedVelocity_mPers(rig.propeller, point.thrust_N, homeDensity_kgPerm3);
  return ideal_W / (1000 * point.power_kW);
}

export interface DensityPoint {
  readonly temperature_degC: number;
  readonly pressure_hPa: number;
  /** Full-throttle power at the rated speed over that in the standard's reference air. */
  readonly ours: number;
  /** One over the standard's correction factor. */
  readonly standard: number;
}

/** Reference air of each standard: temperature, and total pressure that gives its dry pressure in dry air. */
const references: Readonly<Record<'iso-1585' | 'sae-j1349' | 'din-70020', readonly [number, number]>> = {
  'iso-1585': [25, 990],
  'sae-j1349': [25, 990],
  'din-70020': [20, 1013],
};

/** Dry air, so that humidity, which the standards treat in three ways, does not blur the comparison. */
export function densityEffect(
  standard: keyof typeof references & PowerStandard,
  temperature_degC: number,
  pressure_hPa: number,
): DensityPoint {
  const speed = rig.engine.fullThrottleSpeed_rpm;
  const torqueIn = (t_degC: number, p_hPa: number): number => engineTorque_Nm(speed, inletAir(t_degC, p_hPa, 0));
  const [t0, p0] = references[standard];
  const { factor } = powerCorrection(standard, { temperature_degC, pressure_hPa, humidity_percent: 0 });
  return {
    temperature_degC,
    pressure_hPa,
    ours: torqueIn(temperature_degC, pressure_hPa) / torqueIn(t0, p0),
    standard: 1 / factor,
  };
}

/** Speed after the throttle opens from idle, without chance, each step cut in `refine`. */
export interface StepResponse {
  readonly refine: number;
  readonly speed_rpm: readonly number[];
  readonly head_degC: number;
}

export const responseTimes_s: readonly number[] = [0.25, 0.5, 0.75, 1, 1.25, 1.5, 2, 3, 5];

export function throttleOpens(refine: number): StepResponse {
  const plant = warmPlant(0, { refine, still: true });
  plant.inputs.servoPulse_us = pulseFor(rig.servo, 1);
  const speed_rpm: number[] = [];
  for (let ms = 1; ms <= 30_000; ms++) {
    plant.step();
    if (responseTimes_s.includes(ms / 1000)) speed_rpm.push(plant.speed_rpm);
  }
  return { refine, speed_rpm, head_degC: plant.thermal.hottestHead_degC() };
}

export const REFINEST = 32;
export const refinements = [1, 2, 4, 8].map((refine) => throttleOpens(refine));
export const refinest = throttleOpens(REFINEST);

/** Root mean square over the response times of the difference to the finest, rpm. */
export function speedError_rpm(response: StepResponse): number {
  const squares = response.speed_rpm.map((speed, i) => (speed - (refinest.speed_rpm[i] ?? Number.NaN)) ** 2);
  return Math.sqrt(squares.reduce((sum, each) => sum + each, 0) / squares.length);
}

export interface HeadTrace {
  readonly title: string;
  readonly time_s: readonly number[];
  readonly head_degC: readonly number[];
  /** Time to 63 % of the way to the last value. */
  readonly time63_s: number;
  /** Heat capacity over the conductances that hold the head, at the end. */
  readonly lump_s: number;
}

/** Hottest head after a change, every second. */
function headTrace(title: string, from: number, change: (plant: Plant) => void, seconds: number): HeadTrace {
  const plant = warmPlant(from, { still: true });
  change(plant);
  const time_s = [0];
  const head_degC = [plant.thermal.head_degC[0]!];
  for (let second = 1; second <= seconds; second++) {
    for (let i = 0; i < 1000; i++) plant.step();
    time_s.push(second);
    head_degC.push(plant.thermal.head_degC[0]!);
  }
  const first = head_degC[0]!;
  const last = head_degC.at(-1)!;
  const at = head_degC.findIndex((each) => Math.abs(each - first) >= (1 - Math.exp(-1)) * Math.abs(last - first));
  const spec = rig.thermal;
  const induced = inducedVelocity_mPers(rig.propeller, plant.propellerThrust_N(), plant.ambient.density_kgPerm3);
  const conductance_WPerK =
    spec.headCooling_WPerK * plant.thermal.convection(induced) + spec.headToBarrel_WPerK + spec.portToHead_WPerK;
  return { title, time_s, head_degC, time63_s: time_s[at]!, lump_s: spec.headHeat_JPerK / conductance_WPerK };
}

export const headTraces: readonly HeadTrace[] = [
  headTrace(
    'throttle 40 to 100 %, fan on',
    0.4,
    (plant) => {
      plant.inputs.servoPulse_us = pulseFor(rig.servo, 1);
    },
    420,
  ),
  headTrace(
    'full throttle, fan stops',
    1,
    (plant) => {
      plant.inputs.fanLoss = 1;
    },
    420,
  ),
  headTrace(
    'full throttle to idle, fan on',
    1,
    (plant) => {
      plant.inputs.servoPulse_us = pulseFor(rig.servo, 0);
    },
    420,
  ),
];
