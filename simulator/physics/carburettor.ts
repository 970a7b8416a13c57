/**
 * Carburettor and inlet: what fuel the jet gives to a charge, how much of it
 * arrives as vapour, and the film on the walls that keeps the rest. Hand
 * prime, choke (a bimetal that opens start enrichment by itself while the
 * inlet is cold), density of air and fuel, and vapour in hot fuel.
 */
import { chargeVolume_cm3, type EngineSpec, ramp } from './engine-spec.ts';
import type { FuelSystem } from './fuel.ts';

/** Film that one stroke of the primer leaves, per cm³ charged per turn: 35 mg in the demo engine. */
const PRIME_gPercm3 = 0.035 / 120;
const CHOKE_RICHER = 0.3;
/** Between these the fuel begins to boil in the line and the jet draws vapour (winter petrol; common practice, no source). */
const BOILS_FROM_degC = 48;
const BOILS_FULLY_degC = 70;

export interface Inlet {
  readonly air_g: number;
  readonly speed_rpm: number;
  /** Inlet tract between carburettor and cylinder. */
  readonly tract_degC: number;
  /** Air at the carburettor. */
  readonly density_kgPerm3: number;
}

export class Carburettor {
  film_g = 0;
  /** Fault: share of the jet that is blocked. */
  blocked = 0;
  /** Fault: share by which the choke stays on whatever the temperature. */
  chokeStuck = 0;
  readonly #spec: EngineSpec;
  readonly #homeDensity_kgPerm3: number;

  /** `homeDensity` is the air in which its jet was set. */
  constructor(spec: EngineSpec, homeDensity_kgPerm3: number) {
    this.#spec = spec;
    this.#homeDensity_kgPerm3 = homeDensity_kgPerm3;
  }

  /** Start enrichment, 1 when warm. */
  enrichment(tract_degC: number): number {
    const isCold = 1 - ramp(tract_degC, 20, 42);
    return 1 + CHOKE_RICHER * Math.max(isCold, this.chokeStuck);
  }

  /** Fuel that leaves the jet for this charge, g. */
  jet_g(inlet: Inlet, fuel: FuelSystem): number {
    // A fixed jet passes sqrt(ρ_fuel Δp), and Δp goes with ρ_air v²: thin air is fed rich.
    const air = Math.sqrt(this.#homeDensity_kgPerm3 / inlet.density_kgPerm3);
    const liquid = Math.sqrt((1000 * fuel.density_gPermL) / fuel.density15_kgPerm3);
    const boiling = 1 - 0.8 * ramp(fuel.temperature_degC, BOILS_FROM_degC, BOILS_FULLY_degC);
    const plain_g = (inlet.air_g / this.#spec.carburettorRatio) * air * liquid;
    return plain_g * this.enrichment(inlet.tract_degC) * boiling * (1 - this.blocked) * fuel.jetShare();
  }

  /** Vapour that reaches the cylinders when the jet gave `jet_g`; the film takes and gives. */
  vapour_g(jet_g: number, inlet: Inlet): number {
    const share = 0.6 + 0.4 * ramp(inlet.tract_degC, 10, 60);
    const turn_s = 60 / Math.max(inlet.speed_rpm, 60);
    const filmTime_s = 0.6 + 5 * (1 - ramp(inlet.tract_degC, 10, 70));
    const fromFilm_g = this.film_g * (1 - Math.exp(-turn_s / filmTime_s));
    this.film_g += jet_g * (1 - share) - fromFilm_g;
    return jet_g * share + fromFilm_g;
  }

  /** One stroke of the hand primer wets the walls; returns what it put there, g. */
  prime(): number {
    const prime_g = PRIME_gPercm3 * chargeVolume_cm3(this.#spec);
    this.film_g += prime_g;
    return prime_g;
  }

  /** Standing, the film dries with 90 s; returns what went, g. */
  dry(dt_s: number): number {
    const gone_g = (this.film_g * dt_s) / 90;
    this.film_g -= gone_g;
    return gone_g;
  }
}
