/**
 * The energy ledger of the engine: all that came in, went out and is held
 * since it was opened. Each flow is summed where it is used and each store is
 * read from the state, so that what does not add up shows as `residual_J`:
 * the error of the method, not a number made to fit.
 */

/** J since the ledger was opened; stores as differences to then. */
export interface EnergyBalance {
  readonly fuel_J: number;
  readonly starter_J: number;
  /** Unburnt fuel: through the open port, rich, missed, dried. */
  readonly unburnt_J: number;
  readonly exhaust_J: number;
  readonly coolingAir_J: number;
  readonly propeller_J: number;
  readonly generator_J: number;
  /** Work on the charge, leaving with it. */
  readonly pumping_J: number;
  readonly kinetic_J: number;
  /** In heads, barrels, ports and case. */
  readonly metal_J: number;
  /** Fuel on the inlet walls. */
  readonly film_J: number;
  /** In − out − held. */
  readonly residual_J: number;
}

export type EnergySums = Omit<EnergyBalance, 'residual_J'>;

export class EnergyLedger {
  #from: EnergySums;

  constructor(now: EnergySums) {
    this.#from = now;
  }

  /** Starts anew from here. */
  open(now: EnergySums): void {
    this.#from = now;
  }

  balance(now: EnergySums): EnergyBalance {
    const from = this.#from;
    const since = Object.fromEntries(
      (Object.keys(now) as (keyof EnergySums)[]).map((key) => [key, now[key] - from[key]]),
    ) as unknown as EnergySums;
    const in_J = since.fuel_J + since.starter_J;
    const out_J =
      since.unburnt_J + since.exhaust_J + since.coolingAir_J + since.propeller_J + since.generator_J + since.pumping_J;
    const held_J = since.kinetic_J + since.metal_J + since.film_J;
    return { ...since, residual_J: in_J - out_J - held_J };
  }
}
