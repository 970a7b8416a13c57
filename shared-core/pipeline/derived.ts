/**
 * Computes the derived channels as samples come. The formulas, with their
 * sources, are in `derive/`; here is which value goes into which, when.
 *
 * With every frame that feeds them, from its samples: brake power, BMEP, rates
 * of change, hottest and spread, fuel mass flow. Ten times a second: densities,
 * and what would only show noise at the fast rate, BSFC, CT and CP, from means
 * over the last second, and the totaliser's regression.
 *
 * A derived value is good when all its sources are; hottest, spread and head
 * rate leave failed sensors out as long as one is good (two, for a spread).
 * Otherwise it is NaN with the quality of the first source that is not good,
 * or `absent` where the formula gives no value (BSFC of a standing engine).
 */
import type { Channel } from '../channels/channel.ts';
import { type QualityCode, quality } from '../channels/quality.ts';
import { fuelMassFlow_kgPerh, mixDensity_kgPerm3 } from '../derive/fuel.ts';
import { moistAirDensity_kgPerm3 } from '../derive/moist-air.ts';
import { bmep_bar, brakePower_kW, bsfc_gPerkWh } from '../derive/power.ts';
import { powerCoefficient, thrustCoefficient } from '../derive/propeller.ts';
import { SlidingSlope } from '../derive/sliding-slope.ts';
import { hottest_degC, temperatureSpread_K } from '../derive/temperature-spread.ts';
import { TotaliserRate } from '../derive/totaliser-rate.ts';
import { differenceOfLarger_percent } from '../limits/disagreement.ts';
import type { PointWindow } from '../program/points.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { type DerivedKey, sourcesOf } from './derived-list.ts';
import type { FoldMemory } from './fold-memory.ts';
import type { LiveStore } from './live-store.ts';

/** Window of head rates: 0.1 K of quantisation at 10 Hz leaves 0.01 K/s. */
export const HEAD_RATE_WINDOW_s = 5;
export const SPEED_RATE_WINDOW_s = 0.5;
/** BSFC, CT, CP: mean of the last ten full buckets of 100 ms. */
const CALM_BUCKETS = 10;

type Inputs = Pick<RigSheet, 'engine' | 'propeller' | 'fuel'>;

export class DerivedValues {
  readonly #rig: Inputs;
  readonly #store: LiveStore;
  readonly #window: PointWindow;
  /** Ordinals; −1 where the table has no such channel. */
  readonly #in: Readonly<
    Record<'rpm' | 'torque' | 'thrust' | 'flow' | 'total' | 'fuelTemp' | 'airTemp' | 'airPress' | 'airHumid', number>
  >;
  readonly #out: Readonly<Record<DerivedKey, number>>;
  readonly #heads: Int32Array;
  readonly #exhausts: Int32Array;
  readonly #headScratch: Float64Array;
  readonly #exhaustScratch: Float64Array;
  readonly #headRates: readonly SlidingSlope[];
  readonly #speedRate = new SlidingSlope({ window_s: SPEED_RATE_WINDOW_s });
  readonly #totaliser = new TotaliserRate();

  constructor(rig: Inputs, store: LiveStore, window: PointWindow) {
    this.#rig = rig;
    this.#store = store;
    this.#window = window;
    const bench = store.channels.slice(0, store.benchCount);
    const first = (quantity: Channel['quantity']) => sourcesOf(bench, quantity)[0]?.ordinal ?? -1;
    this.#in = {
      rpm: first('shaft-speed'),
      torque: first('torque'),
      thrust: first('thrust'),
      flow: first('fuel-flow'),
      total: first('fuel-total'),
      fuelTemp: first('fuel-temperature'),
      airTemp: first('ambient-temperature'),
      airPress: first('ambient-pressure'),
      airHumid: first('ambient-humidity'),
    };
    const derived = store.channels.slice(store.benchCount);
    const place = (key: DerivedKey) => derived.find((channel) => channel.key === key)?.ordinal ?? -1;
    this.#out = {
      brake_power: place('brake_power'),
      bmep: place('bmep'),
      rpm_rate: place('rpm_rate'),
      cht_max: place('cht_max'),
      cht_spread: place('cht_spread'),
      cht_rate: place('cht_rate'),
      egt_max: place('egt_max'),
      egt_spread: place('egt_spread'),
      fuel_density: place('fuel_density'),
      fuel_mass_meter: place('fuel_mass_meter'),
      fuel_mass_total: place('fuel_mass_total'),
      fuel_disagree: place('fuel_disagree'),
      bsfc: place('bsfc'),
      air_density: place('air_density'),
      prop_ct: place('prop_ct'),
      prop_cp: place('prop_cp'),
    };
    this.#heads = Int32Array.from(sourcesOf(bench, 'head-temperature'), (channel) => channel.ordinal);
    this.#exhausts = Int32Array.from(sourcesOf(bench, 'exhaust-temperature'), (channel) => channel.ordinal);
    this.#headScratch = new Float64Array(this.#heads.length);
    this.#exhaustScratch = new Float64Array(this.#exhausts.length);
    this.#headRates = Array.from(this.#heads, () => new SlidingSlope({ window_s: HEAD_RATE_WINDOW_s }));
  }

  /** Hottest of the good heads; NaN when none is good. */
  get hottest_degC(): number {
    return hottest_degC(this.#gathered(this.#heads, this.#headScratch));
  }
  get hasHeads(): boolean {
    return this.#heads.length > 0;
  }

  /** After a frame at `t_us`: what its samples feed. Every channel with `updated_us` = `t_us` is fresh. */
  frame(t_us: number): void {
    const { value, updated_us } = this.#store;
    const { rpm, torque, flow, total, fuelTemp } = this.#in;
    const out = this.#out;
    if (rpm >= 0 && updated_us[rpm] === t_us) {
      const rate = this.#speedRate.push(t_us, value[rpm]!);
      this.#set(out.rpm_rate, t_us, rate, this.#worst(rpm, rpm, rpm));
    }
    if (out.brake_power >= 0 && (updated_us[rpm] === t_us || updated_us[torque] === t_us)) this.#power(t_us);
    if (this.#isAnyFresh(this.#heads, t_us)) {
      for (let i = 0; i < this.#heads.length; i++) {
        const head = this.#heads[i]!;
        if (updated_us[head] === t_us) this.#headRates[i]!.push(t_us, value[head]!);
      }
      this.#headValues(t_us);
    }
    if (this.#isAnyFresh(this.#exhausts, t_us)) this.#exhaustValues(t_us);
    if (flow >= 0 && updated_us[flow] === t_us) this.#meter(t_us);
    if (total >= 0 && updated_us[total] === t_us) this.#totaliser.push(t_us, value[total]!);
    if (fuelTemp >= 0 && updated_us[fuelTemp] === t_us && this.#store.quality[out.fuel_density] !== quality.good) {
      this.#fuelDensity(t_us);
    }
  }

  remember(memory: FoldMemory): void {
    memory.part('derived');
    for (const rate of this.#headRates) rate.remember(memory);
    this.#speedRate.remember(memory);
    this.#totaliser.remember(memory);
  }

  /** Ten times a second, before the first sample of a new bucket is added to the window. */
  calm(t_us: number): void {
    this.#fuelDensity(t_us);
    this.#airDensity(t_us);
    this.#totaliserFlow(t_us);
    this.#ratios(t_us);
  }

  /** Some source has aged out: what rests on it is no longer good either. Times of last samples stay. */
  agedOut(): void {
    const { value, updated_us } = this.#store;
    const { rpm } = this.#in;
    if (rpm >= 0 && Number.isNaN(value[rpm]!)) {
      this.#set(this.#out.rpm_rate, this.#at(this.#out.rpm_rate), NaN, this.#worst(rpm, rpm, rpm));
    }
    if (this.#out.brake_power >= 0) this.#power(this.#at(this.#out.brake_power));
    if (this.#heads.length > 0) this.#headValues(this.#at(this.#out.cht_max));
    if (this.#exhausts.length > 0) this.#exhaustValues(this.#at(this.#out.egt_max));
    this.#fuelDensity(this.#at(this.#out.fuel_density));
    this.#meter(this.#at(this.#out.fuel_mass_meter));
    this.#airDensity(this.#at(this.#out.air_density));
    const calm_us = Math.max(
      this.#at(this.#out.fuel_mass_total),
      this.#at(this.#out.bsfc),
      this.#at(this.#out.prop_ct),
    );
    if (calm_us >= 0 && updated_us.length > 0) {
      this.#totaliserFlow(calm_us);
      this.#ratios(calm_us);
    }
  }

  #power(t_us: number): void {
    const { rpm, torque } = this.#in;
    const { value } = this.#store;
    const worst = this.#worst(rpm, torque, rpm);
    const power_kW = brakePower_kW(value[torque]!, value[rpm]!);
    this.#set(this.#out.brake_power, t_us, power_kW, worst);
    const { displacement_cm3, strokes } = this.#rig.engine;
    this.#set(this.#out.bmep, t_us, bmep_bar(power_kW, value[rpm]!, displacement_cm3, strokes), worst);
  }

  #headValues(t_us: number): void {
    const heads = this.#gathered(this.#heads, this.#headScratch);
    const worst = this.#firstBad(this.#heads);
    const hottest = hottest_degC(heads);
    const at = heads.indexOf(hottest);
    this.#set(this.#out.cht_max, t_us, hottest, quality.good, worst);
    this.#set(this.#out.cht_spread, t_us, temperatureSpread_K(heads), quality.good, worst);
    const rate_KPers = at < 0 ? NaN : this.#headRates[at]!.slope();
    this.#set(this.#out.cht_rate, t_us, rate_KPers, quality.good, at < 0 ? worst : quality.absent);
  }

  #exhaustValues(t_us: number): void {
    const exhausts = this.#gathered(this.#exhausts, this.#exhaustScratch);
    const worst = this.#firstBad(this.#exhausts);
    this.#set(this.#out.egt_max, t_us, hottest_degC(exhausts), quality.good, worst);
    this.#set(this.#out.egt_spread, t_us, temperatureSpread_K(exhausts), quality.good, worst);
  }

  #fuelDensity(t_us: number): void {
    const { fuelTemp } = this.#in;
    if (this.#out.fuel_density < 0) return;
    const density_kgPerm3 = mixDensity_kgPerm3(this.#rig.fuel, this.#store.value[fuelTemp]!);
    this.#set(this.#out.fuel_density, t_us, density_kgPerm3, this.#worst(fuelTemp, fuelTemp, fuelTemp));
  }

  #meter(t_us: number): void {
    const at = this.#out.fuel_mass_meter;
    if (at < 0) return;
    const { flow, fuelTemp } = this.#in;
    const { value } = this.#store;
    const density_kgPerm3 = value[this.#out.fuel_density]!;
    this.#set(at, t_us, fuelMassFlow_kgPerh(value[flow]!, density_kgPerm3), this.#worst(flow, fuelTemp, flow));
  }

  #airDensity(t_us: number): void {
    const at = this.#out.air_density;
    if (at < 0) return;
    const { airTemp, airPress, airHumid } = this.#in;
    const { value } = this.#store;
    const density_kgPerm3 = moistAirDensity_kgPerm3(value[airTemp]!, value[airPress]!, value[airHumid]!);
    this.#set(at, t_us, density_kgPerm3, this.#worst(airTemp, airPress, airHumid));
  }

  #totaliserFlow(t_us: number): void {
    const { flow, total, fuelTemp } = this.#in;
    const out = this.#out;
    const { value } = this.#store;
    if (out.fuel_mass_total >= 0) {
      const flow_LPerh = this.#totaliser.flow_LPerh();
      const mass_kgPerh = fuelMassFlow_kgPerh(flow_LPerh, value[out.fuel_density]!);
      this.#set(out.fuel_mass_total, t_us, mass_kgPerh, this.#worst(total, fuelTemp, total));
    }
    if (out.fuel_disagree >= 0) {
      const difference_percent = differenceOfLarger_percent(value[out.fuel_mass_meter]!, value[out.fuel_mass_total]!);
      this.#set(out.fuel_disagree, t_us, difference_percent, this.#worst(flow, total, fuelTemp));
    }
  }

  /** BSFC, CT and CP, from one-second means. */
  #ratios(t_us: number): void {
    const { rpm, torque, thrust, flow } = this.#in;
    const out = this.#out;
    const power_kW = out.brake_power >= 0 ? this.#window.mean(out.brake_power, CALM_BUCKETS) : NaN;
    if (out.bsfc >= 0) {
      const fuel_kgPerh = this.#window.mean(out.fuel_mass_meter, CALM_BUCKETS);
      this.#set(out.bsfc, t_us, bsfc_gPerkWh(fuel_kgPerh, power_kW), this.#worst(flow, torque, rpm));
    }
    if (out.air_density < 0 || (out.prop_ct < 0 && out.prop_cp < 0)) return;
    const speed_rpm = this.#window.mean(rpm, CALM_BUCKETS);
    const density_kgPerm3 = this.#store.value[out.air_density]!;
    const { diameter_m } = this.#rig.propeller;
    if (out.prop_ct >= 0) {
      const thrust_N = this.#window.mean(thrust, CALM_BUCKETS);
      const ct = thrustCoefficient(thrust_N, density_kgPerm3, speed_rpm, diameter_m);
      this.#set(out.prop_ct, t_us, ct, this.#worst(thrust, rpm, out.air_density));
    }
    if (out.prop_cp >= 0) {
      const cp = powerCoefficient(power_kW, density_kgPerm3, speed_rpm, diameter_m);
      this.#set(out.prop_cp, t_us, cp, this.#worst(torque, rpm, out.air_density));
    }
  }

  /** @param ifNaN quality of a value that cannot be had although `worst` is good */
  #set(ordinal: number, t_us: number, computed: number, worst: number, ifNaN: number = quality.absent): void {
    if (ordinal < 0) return;
    const { value, quality: state, updated_us, silenceAt_us, silence_us } = this.#store;
    if (t_us !== updated_us[ordinal]) silenceAt_us[ordinal] = silence_us;
    updated_us[ordinal] = t_us;
    if (worst === quality.good && !Number.isNaN(computed)) {
      value[ordinal] = computed;
      state[ordinal] = quality.good;
      return;
    }
    value[ordinal] = NaN;
    state[ordinal] = worst !== quality.good ? worst : ifNaN === quality.good ? quality.absent : ifNaN;
  }

  #at(ordinal: number): number {
    return ordinal < 0 ? -1 : this.#store.updated_us[ordinal]!;
  }

  /** First quality of the three that is not good, else good. */
  #worst(a: number, b: number, c: number): number {
    const state = this.#store.quality;
    if (state[a] !== quality.good) return state[a]!;
    if (state[b] !== quality.good) return state[b]!;
    return state[c]!;
  }

  #firstBad(ordinals: Int32Array): QualityCode {
    for (let i = 0; i < ordinals.length; i++) {
      const code = this.#store.quality[ordinals[i]!]!;
      if (code !== quality.good) return code as QualityCode;
    }
    return quality.good;
  }

  #isAnyFresh(ordinals: Int32Array, t_us: number): boolean {
    for (let i = 0; i < ordinals.length; i++) if (this.#store.updated_us[ordinals[i]!] === t_us) return true;
    return false;
  }

  /** Values of these channels in one stretch, for the functions of `derive/`. */
  #gathered(ordinals: Int32Array, into: Float64Array): Float64Array {
    for (let i = 0; i < ordinals.length; i++) into[i] = this.#store.value[ordinals[i]!]!;
    return into;
  }
}
