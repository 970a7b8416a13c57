/**
 * The air at the stand: density of moist air, speed of sound, and the slow
 * drift of a real workshop day. Written apart from the workbench's own air
 * formulas on purpose: that the two agree is a test.
 */
import type { RandomStream } from './random.ts';

export interface Site {
  readonly name: string;
  readonly elevation_m: number;
  readonly temperature_degC: number;
  readonly pressure_hPa: number;
  readonly humidity_percent: number;
}

/** The invented hill workshop of the demo rig. */
export const hillWorkshop: Site = {
  name: 'hill workshop',
  elevation_m: 640,
  temperature_degC: 17,
  pressure_hPa: 941,
  humidity_percent: 55,
};

const GAS_CONSTANT_DRY_JPerkgK = 287.05;
const GAS_CONSTANT_VAPOUR_JPerkgK = 461.5;

/**
 * Density as a mix of two ideal gases.
 * Source: ideal-gas law; saturation pressure by the Magnus form with the WMO
 * constants 6.112 hPa, 17.62, 243.12 °C (from memory). Agrees with CIPM-2007
 * rows to 0.1 % between 10 and 40 °C (tests/published/simulator.test.ts).
 */
export function airDensity_kgPerm3(temperature_degC: number, pressure_hPa: number, humidity_percent: number): number {
  const saturation_hPa = 6.112 * Math.exp((17.62 * temperature_degC) / (243.12 + temperature_degC));
  const vapour_Pa = humidity_percent * saturation_hPa;
  const dry_Pa = 100 * pressure_hPa - vapour_Pa;
  const temperature_K = temperature_degC + 273.15;
  return (dry_Pa / GAS_CONSTANT_DRY_JPerkgK + vapour_Pa / GAS_CONSTANT_VAPOUR_JPerkgK) / temperature_K;
}

/** Dry air, sqrt(1.4 R T); humidity is worth less than 0.5 %. */
export function soundSpeed_mPers(temperature_degC: number): number {
  return Math.sqrt(1.4 * GAS_CONSTANT_DRY_JPerkgK * (temperature_degC + 273.15));
}

/** Air that wanders about the site's values: mean-reverting, minutes long. Invented for the demo. */
export class Ambient {
  readonly site: Site;
  temperature_degC: number;
  pressure_hPa: number;
  humidity_percent: number;
  density_kgPerm3: number;
  readonly #random: RandomStream;

  constructor(site: Site, random: RandomStream) {
    this.site = site;
    this.#random = random;
    this.temperature_degC = site.temperature_degC;
    this.pressure_hPa = site.pressure_hPa;
    this.humidity_percent = site.humidity_percent;
    this.density_kgPerm3 = airDensity_kgPerm3(site.temperature_degC, site.pressure_hPa, site.humidity_percent);
  }

  step(dt_s: number): void {
    const pull = dt_s / 300;
    const kick = Math.sqrt(dt_s / 300);
    this.temperature_degC += (this.site.temperature_degC - this.temperature_degC) * pull;
    this.temperature_degC += 0.25 * kick * this.#random.gauss();
    this.pressure_hPa += (this.site.pressure_hPa - this.pressure_hPa) * pull + 0.12 * kick * this.#random.gauss();
    this.humidity_percent += (this.site.humidity_percent - this.humidity_percent) * pull;
    this.humidity_percent += 0.6 * kick * this.#random.gauss();
    this.density_kgPerm3 = airDensity_kgPerm3(this.temperature_degC, this.pressure_hPa, this.humidity_percent);
  }
}
