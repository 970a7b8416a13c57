/**
 * Figures of each run: peak speed and power, energy, fuel used. A run is
 * crank to stop, as the run state says.
 */
import type { Quantity } from '../channels/channel.ts';
import type { JournalOutput } from '../journal.ts';
import type { PipelineView } from '../pipeline-contract.ts';

export interface RunResult {
  readonly run: number;
  readonly from_us: number;
  /** Null where the session ended with the engine running. */
  readonly to_us: number | null;
  readonly duration_s: number;
  readonly peakSpeed_rpm: number | null;
  /** Highest mean over one whole second, so that vibration is not a peak. */
  readonly peakBrakePower_kW: number | null;
  readonly peakThrust_N: number | null;
  readonly peakHead_degC: number | null;
  readonly energy_kWh: number;
  /** Rise of the totaliser times fuel density at its temperature. */
  readonly fuelUsed_g: number;
}

interface OpenRun {
  run: number;
  from_us: number;
  to_us: number | null;
  peakSpeed_rpm: number;
  peakBrakePower_kW: number;
  peakThrust_N: number;
  peakHead_degC: number;
  energy_kJ: number;
  fuel_g: number;
}

/** A totaliser step backwards is a reset; forwards by more than this at once is not fuel either. */
const LARGEST_STEP_ML = 500;
/** Samples further apart are a gap: no energy is made up for it. */
const LONGEST_STEP_US = 1_000_000;

export class RunFigures {
  readonly #runs: OpenRun[] = [];
  #crankedAt_us: number | null = null;
  #layoutVersion = -1;
  #speed = -1;
  #power = -1;
  #thrust = -1;
  #fuelTotal = -1;
  #density = -1;
  #heads: number[] = [];
  #second = -1;
  #secondPower = 0;
  #secondThrust = 0;
  #secondSamples = 0;
  #lastPower_us = -1;
  #lastTotal_mL = Number.NaN;
  #lastTotal_us = -1;

  output(t_us: number, body: JournalOutput): void {
    if (body.kind !== 'run-state') return;
    const last = this.#runs.at(-1);
    if (body.state === 'cranking') this.#crankedAt_us = t_us;
    if (body.state === 'running' && last?.run !== body.run) {
      this.#runs.push({
        run: body.run,
        from_us: this.#crankedAt_us ?? t_us,
        to_us: null,
        peakSpeed_rpm: -Infinity,
        peakBrakePower_kW: -Infinity,
        peakThrust_N: -Infinity,
        peakHead_degC: -Infinity,
        energy_kJ: 0,
        fuel_g: 0,
      });
    }
    if ((body.state === 'cooling' || body.state === 'standing') && last !== undefined) last.to_us ??= t_us;
    if (body.state !== 'cranking') this.#crankedAt_us = null;
  }

  values(t_us: number, view: PipelineView): void {
    if (view.layoutVersion !== this.#layoutVersion) this.#layoutChanged(view);
    const run = this.#runs.at(-1);
    const isUnderWay = run !== undefined && run.to_us === null;
    this.#fuel(view, isUnderWay ? run : null);
    if (!isUnderWay) {
      this.#second = -1;
      this.#lastPower_us = -1;
      return;
    }
    const { value, updated_us } = view.values;
    if (this.#speed >= 0 && value[this.#speed]! > run.peakSpeed_rpm) run.peakSpeed_rpm = value[this.#speed]!;
    for (const head of this.#heads) if (value[head]! > run.peakHead_degC) run.peakHead_degC = value[head]!;
    if (this.#power < 0 || updated_us[this.#power] !== t_us) return;
    const power_kW = value[this.#power]!;
    if (!Number.isFinite(power_kW)) return;
    if (this.#lastPower_us >= 0 && t_us - this.#lastPower_us <= LONGEST_STEP_US) {
      run.energy_kJ += (power_kW * (t_us - this.#lastPower_us)) / 1e6;
    }
    this.#lastPower_us = t_us;
    this.#wholeSeconds(run, t_us, power_kW, this.#thrust < 0 ? Number.NaN : value[this.#thrust]!);
  }

  result(end_us: number): RunResult[] {
    return this.#runs.map((run) => ({
      run: run.run,
      from_us: run.from_us,
      to_us: run.to_us,
      duration_s: ((run.to_us ?? end_us) - run.from_us) / 1e6,
      peakSpeed_rpm: finiteOrNull(run.peakSpeed_rpm),
      peakBrakePower_kW: finiteOrNull(run.peakBrakePower_kW),
      peakThrust_N: finiteOrNull(run.peakThrust_N),
      peakHead_degC: finiteOrNull(run.peakHead_degC),
      energy_kWh: run.energy_kJ / 3600,
      fuelUsed_g: run.fuel_g,
    }));
  }

  #wholeSeconds(run: OpenRun, t_us: number, power_kW: number, thrust_N: number): void {
    const second = Math.floor(t_us / 1e6);
    if (second !== this.#second) {
      if (this.#second >= 0 && this.#secondSamples > 0) {
        const power = this.#secondPower / this.#secondSamples;
        const thrust = this.#secondThrust / this.#secondSamples;
        if (power > run.peakBrakePower_kW) run.peakBrakePower_kW = power;
        if (thrust > run.peakThrust_N) run.peakThrust_N = thrust;
      }
      this.#second = second;
      this.#secondPower = 0;
      this.#secondThrust = 0;
      this.#secondSamples = 0;
    }
    this.#secondPower += power_kW;
    this.#secondThrust += thrust_N;
    this.#secondSamples += 1;
  }

  #fuel(view: PipelineView, run: OpenRun | null): void {
    if (this.#fuelTotal < 0) return;
    const { value, updated_us } = view.values;
    if (updated_us[this.#fuelTotal]! <= this.#lastTotal_us) return;
    this.#lastTotal_us = updated_us[this.#fuelTotal]!;
    const total_mL = value[this.#fuelTotal]!;
    const step_mL = total_mL - this.#lastTotal_mL;
    if (Number.isFinite(total_mL)) this.#lastTotal_mL = total_mL;
    const density_kgPerm3 = this.#density < 0 ? Number.NaN : value[this.#density]!;
    if (run === null || !(step_mL > 0 && step_mL < LARGEST_STEP_ML) || !Number.isFinite(density_kgPerm3)) return;
    // 1 kg/m³ is 0.001 g/mL.
    run.fuel_g += (step_mL * density_kgPerm3) / 1000;
  }

  #layoutChanged(view: PipelineView): void {
    const { channels } = view.values;
    this.#layoutVersion = view.layoutVersion;
    const firstOf = (quantity: Quantity): number => channels.findIndex((each) => each.quantity === quantity);
    this.#speed = firstOf('shaft-speed');
    this.#thrust = firstOf('thrust');
    this.#fuelTotal = firstOf('fuel-total');
    this.#power = channels.findIndex((each) => each.key === 'brake_power');
    this.#density = channels.findIndex((each) => each.key === 'fuel_density');
    this.#heads = channels.flatMap((each, i) => (each.quantity === 'head-temperature' ? [i] : []));
    this.#lastTotal_mL = Number.NaN;
    this.#lastTotal_us = -1;
  }
}

function finiteOrNull(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
