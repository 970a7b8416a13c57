/**
 * What is really so inside the simulated stand: for tests, training and
 * scoring. A copy; changing it changes nothing.
 */
import type { Controller } from './bench/controller.ts';
import type { EnergyBalance } from './physics/ledger.ts';
import type { Plant } from './physics/plant.ts';

export interface SimulatedTruth {
  readonly engineSpeed_rpm: number;
  /** Turns by itself: above 900 rpm, ignition on, starter free. */
  readonly isRunning: boolean;
  readonly thrust_N: number;
  /** Reaction torque on the cell, before lag and offset. */
  readonly torque_Nm: number;
  readonly brakePower_kW: number;
  readonly cht_degC: readonly number[];
  readonly egt_degC: readonly number[];
  readonly case_degC: number;
  readonly barrel_degC: readonly number[];
  readonly port_degC: readonly number[];
  readonly inlet_degC: number;
  readonly fuel_degC: number;
  /** Charges that should have lit and did not, since the start. */
  readonly misfires: number;
  /** Where the energy of the fuel has gone since the start (PHYSICS.md, part 7). */
  readonly energy: EnergyBalance;
  readonly throttlePosition: number;
  readonly lambda: number;
  /** Left the carburettor's jets since the start. */
  readonly fuelUsed_g: number;
  readonly fuelMetered_mL: number;
  readonly fuelLevel_L: number;
  readonly fuelDensity_gPermL: number;
  readonly supply_V: number;
  readonly batteryCharge: number;
  readonly starterCurrent_A: number;
  readonly starterWinding_degC: number;
  readonly isStarterCutOut: boolean;
  readonly fanShare: number;
  readonly airDensity_kgPerm3: number;
  readonly isStopClosed: boolean;
  readonly isCageClosed: boolean;
  readonly throttleDemand_permille: number;
  readonly isIgnitionOn: boolean;
  readonly isStarterEngaged: boolean;
  readonly isSupplyOn: boolean;
  readonly isServoOn: boolean;
  readonly isFanOn: boolean;
  readonly leaseHost: string | null;
}

export function truthOf(plant: Plant, controller: Controller): SimulatedTruth {
  const outputs = controller.outputs;
  const torque_Nm = plant.reactionTorque_Nm();
  const isStarterEngaged = outputs.isStarterEngaged && !plant.electrics.isCutOut;
  return {
    engineSpeed_rpm: plant.speed_rpm,
    isRunning: plant.speed_rpm > 900 && outputs.isIgnitionOn && !isStarterEngaged,
    thrust_N: plant.thrust_N(),
    torque_Nm,
    brakePower_kW: (torque_Nm * plant.speed_radPers) / 1000,
    cht_degC: [...plant.thermal.head_degC],
    egt_degC: [...plant.thermal.head_degC].map((_, i) => plant.thermal.exhaust_degC(i)),
    case_degC: plant.thermal.case_degC,
    barrel_degC: [...plant.thermal.barrel_degC],
    port_degC: [...plant.thermal.port_degC],
    inlet_degC: plant.inlet_degC,
    fuel_degC: plant.fuel.temperature_degC,
    misfires: plant.engine.misfires,
    energy: plant.energy(),
    throttlePosition: plant.servo.position,
    lambda: plant.engine.lambda,
    fuelUsed_g: plant.engine.fuelUsed_g,
    fuelMetered_mL: plant.fuel.metered_mL,
    fuelLevel_L: plant.fuel.tank_mL / 1000,
    fuelDensity_gPermL: plant.fuel.density_gPermL,
    supply_V: plant.electrics.bus_V,
    batteryCharge: plant.electrics.charge,
    starterCurrent_A: plant.electrics.starterCurrent_A,
    starterWinding_degC: plant.electrics.winding_degC,
    isStarterCutOut: plant.electrics.isCutOut,
    fanShare: plant.thermal.fanShare,
    airDensity_kgPerm3: plant.ambient.density_kgPerm3,
    isStopClosed: outputs.isStopClosed,
    isCageClosed: outputs.isCageClosed,
    throttleDemand_permille: outputs.throttle_permille,
    isIgnitionOn: outputs.isIgnitionOn,
    isStarterEngaged,
    isSupplyOn: outputs.isSupplyOn,
    isServoOn: outputs.isServoOn,
    isFanOn: outputs.isFanOn,
    leaseHost: outputs.leaseHost,
  };
}
