/**
 * Fuel from tank to jet: density, pulse pump, diaphragm chamber, and the meter
 * between pump and chamber. The mixture itself is in `engine.ts`.
 */

export interface FuelSpec {
  /** Petrol alone at 15 °C. */
  readonly petrolDensity15_kgPerm3: number;
  readonly oilDensity15_kgPerm3: number;
  /** Petrol : oil by volume; 0 for no oil. */
  readonly mixRatio: number;
  readonly tank_L: number;
  readonly chamber_mL: number;
  /** Most that the crankcase pulses can pump per revolution. */
  readonly pump_mLPerRev: number;
}

/**
 * Density of the mixture. Petrol by ASTM D1250 (table 54B, gasoline band,
 * K0 346.4228, K1 0.4388), oil by a plain 0.00075 per K (from memory), mixed
 * ideally by volume.
 */
export function mixtureDensity_kgPerm3(spec: FuelSpec, temperature_degC: number): number {
  const rho15 = spec.petrolDensity15_kgPerm3;
  const a = 346.4228 / (rho15 * rho15) + 0.4388 / rho15;
  const dt = temperature_degC - 15;
  const petrol = rho15 * Math.exp(-a * dt * (1 + 0.8 * a * dt));
  const oil = spec.oilDensity15_kgPerm3 * (1 - 0.00075 * dt);
  return spec.mixRatio > 0 ? (petrol * spec.mixRatio + oil) / (spec.mixRatio + 1) : petrol;
}

export class FuelSystem {
  readonly spec: FuelSpec;
  tank_mL: number;
  chamber_mL = 0;
  temperature_degC: number;
  density_gPermL: number;
  /** Flow through the meter, averaged over the last slow step. */
  meterFlow_mLPers = 0;
  /** Through the meter since the start: the truth behind the totaliser. */
  metered_mL = 0;
  /** Fault: nothing leaves the tank. */
  isStarved = false;
  /** Fault: share of the pulse pump's delivery that is lost. */
  pumpLoss = 0;
  /** Fault: drips from the line before the meter. */
  leak_mLPers = 0;
  /** Fault: the line lies on something hot. */
  lineHeat_K = 0;
  /** Of the mixture at 15 °C, for which the jet was set. */
  readonly density15_kgPerm3: number;

  constructor(spec: FuelSpec, temperature_degC: number) {
    this.spec = spec;
    this.tank_mL = 0.9 * 1000 * spec.tank_L;
    this.temperature_degC = temperature_degC;
    this.density_gPermL = mixtureDensity_kgPerm3(spec, temperature_degC) / 1000;
    this.density15_kgPerm3 = mixtureDensity_kgPerm3(spec, 15);
  }

  /**
   * Share of the jet's wish that the chamber can meet: the jet draws air while
   * the chamber is nearly empty.
   */
  jetShare(): number {
    const share = (this.chamber_mL - 1) / 1.5;
    return Math.min(1, Math.max(0, share));
  }

  take_g(mass_g: number): void {
    this.chamber_mL = Math.max(0, this.chamber_mL - mass_g / this.density_gPermL);
  }

  /** One slow step; the pulse pump runs with the shaft, throttled by the chamber's needle. */
  step(dt_s: number, speed_rpm: number, ambient_degC: number, case_degC: number): void {
    this.tank_mL = Math.max(0, this.tank_mL - this.leak_mLPers * dt_s);
    // A gravity head keeps 0.02 mL/s even at rest; the needle shuts it off when full.
    const pump_mLPers = (this.spec.pump_mLPerRev * (1 - this.pumpLoss) * speed_rpm) / 60;
    const most_mLPers = this.isStarved || this.tank_mL <= 0 ? 0 : 0.02 + pump_mLPers;
    const wish_mLPers = (this.spec.chamber_mL - this.chamber_mL) * 4;
    const flow_mLPers = Math.max(0, Math.min(most_mLPers, wish_mLPers));
    const moved_mL = Math.min(this.tank_mL, flow_mLPers * dt_s);
    this.#move(moved_mL);
    this.meterFlow_mLPers = moved_mL / dt_s;
    // The warm case heats the fuel line; invented for the demo.
    const target_degC = ambient_degC + 0.07 * (case_degC - ambient_degC) + this.lineHeat_K;
    this.temperature_degC += ((target_degC - this.temperature_degC) * dt_s) / 240;
    this.density_gPermL = mixtureDensity_kgPerm3(this.spec, this.temperature_degC) / 1000;
  }

  /** Hand primer: pushes fuel through the meter into the chamber. */
  prime(amount_mL: number): void {
    if (this.isStarved) return;
    this.#move(Math.min(this.tank_mL, amount_mL, this.spec.chamber_mL - this.chamber_mL));
  }

  fillChamber(): void {
    this.chamber_mL = this.spec.chamber_mL;
  }

  fillTank(): void {
    this.tank_mL = 1000 * this.spec.tank_L;
  }

  #move(volume_mL: number): void {
    this.tank_mL -= volume_mL;
    this.chamber_mL += volume_mL;
    this.metered_mL += volume_mL;
  }
}
