/**
 * Density of petrol and of petrol/oil mixture with temperature, and the fuel
 * mass flow that follows from the meter.
 */

/** As the rig sheet has it. */
export interface FuelMix {
  /** Density of the petrol alone at 15 °C. */
  readonly density15_kgPerm3: number;
  readonly oilDensity15_kgPerm3: number;
  /** Petrol : oil by volume, 50 for 50:1; 0 for no oil. */
  readonly mixRatio: number;
}

/**
 * Coefficient of expansion at 15 °C, 1/K; NaN outside 653 to 839 kg/m³.
 * Source: ASTM D1250 / API MPMS 11.1 (1980), table 54B, generalised products:
 * α = K0/ρ² + K1/ρ for gasolines (653 to 770) and for the jet-fuel band (788
 * to 839), with the transition zone A + B/ρ² between them. The table's steps
 * of 0.5 kg/m³ leave gaps between the bands; we end a band where the next begins.
 */
export function expansion15_perK(density15_kgPerm3: number): number {
  const rho = density15_kgPerm3;
  if (!(rho >= 653 && rho <= 839)) return NaN;
  if (rho < 770.5) return 346.4228 / (rho * rho) + 0.4388 / rho;
  if (rho < 788) return -0.00336312 + 2680.3206 / (rho * rho);
  return 594.5418 / (rho * rho);
}

/**
 * Volume correction factor: density at `temperature_degC` over that at 15 °C.
 * Source: table 54B, exp(−α Δt (1 + 0.8 α Δt)).
 */
export function volumeCorrectionFactor(density15_kgPerm3: number, temperature_degC: number): number {
  const aDt = expansion15_perK(density15_kgPerm3) * (temperature_degC - 15);
  return Math.exp(-aDt * (1 + 0.8 * aDt));
}

/** Density of petrol without oil at a temperature, kg/m³; NaN outside the bands. */
export function petrolDensity_kgPerm3(density15_kgPerm3: number, temperature_degC: number): number {
  return density15_kgPerm3 * volumeCorrectionFactor(density15_kgPerm3, temperature_degC);
}

/** Density of the mixture at 15 °C, kg/m³: volumes add (ideal mixing). */
export function mixDensity15_kgPerm3(mix: FuelMix): number {
  if (mix.mixRatio === 0) return mix.density15_kgPerm3;
  return (mix.mixRatio * mix.density15_kgPerm3 + mix.oilDensity15_kgPerm3) / (mix.mixRatio + 1);
}

/**
 * Density of the mixture at a temperature, kg/m³. The oil is taken to expand
 * like the petrol: at 25:1 and 30 K from 15 °C that is about 0.06 % off,
 * far below what a flow meter can tell.
 */
export function mixDensity_kgPerm3(mix: FuelMix, temperature_degC: number): number {
  return mixDensity15_kgPerm3(mix) * volumeCorrectionFactor(mix.density15_kgPerm3, temperature_degC);
}

/** Oil for this much petrol, mL; `mixRatio` 0 means none. */
export function oilFor_mL(petrol_L: number, mixRatio: number): number {
  return mixRatio === 0 ? 0 : (petrol_L * 1000) / mixRatio;
}

/** Mass flow from volume flow and density: L/h · kg/m³ / 1000. */
export function fuelMassFlow_kgPerh(fuelFlow_LPerh: number, density_kgPerm3: number): number {
  return (fuelFlow_LPerh * density_kgPerm3) / 1000;
}

/**
 * Disagreement of two independent rates: their difference over their mean,
 * positive when the first is larger.
 * @param least below this mean there is nothing to compare (engine at rest)
 * @returns percent, −200 to 200 for rates that are not negative; NaN where either is NaN
 */
export function disagreement_percent(first: number, second: number, least: number): number {
  const mean = (first + second) / 2;
  return mean > least && mean > 0 ? (100 * (first - second)) / mean : NaN;
}
