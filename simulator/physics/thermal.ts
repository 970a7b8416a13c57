/**
 * Heat: for each cylinder a head, a barrel and an exhaust port as lumps; behind
 * them one crankcase; on each port a probe. All energy that comes in goes
 * somewhere: into the lumps, to the cooling air, or out with the exhaust; the
 * sums are kept for the ledger (`ledger.ts`).
 */
export interface ThermalSpec {
  readonly headHeat_JPerK: number;
  readonly barrelHeat_JPerK: number;
  readonly portHeat_JPerK: number;
  readonly caseHeat_JPerK: number;
  /** To the cooling air at the reference air speed. */
  readonly headCooling_WPerK: number;
  readonly barrelCooling_WPerK: number;
  readonly portCooling_WPerK: number;
  readonly caseCooling_WPerK: number;
  readonly referenceAir_mPers: number;
  /** Air speed of the fan at the fins. */
  readonly fanAir_mPers: number;
  /** Share of the propeller's induced velocity that reaches the fins. */
  readonly washShare: number;
  readonly headToBarrel_WPerK: number;
  readonly barrelToCase_WPerK: number;
  readonly portToHead_WPerK: number;
  /** Share of burnt energy that enters heads and barrels at reference speed. */
  readonly headShare: number;
  readonly barrelShare: number;
  readonly referenceSpeed_rpm: number;
  /** Gas to port wall at reference flow, each cylinder. */
  readonly portGas_WPerK: number;
  /** Exhaust of all cylinders at full throttle. */
  readonly referenceExhaust_gPers: number;
  /** What a probe reads of the gas's rise: between the pulses it sees fresh charge that went through. */
  readonly probeShare: number;
  /** Build differences from cylinder to cylinder, one factor each. */
  readonly headFactors: readonly number[];
  readonly exhaustFactors: readonly number[];
}

/** Heat since the last step, by cylinder, as engine and shaft summed it. */
export interface HeatInput {
  readonly burnt_J: Float64Array;
  readonly work_J: Float64Array;
  readonly exhaust_g: Float64Array;
  /** Rubbing friction of the whole engine. */
  readonly friction_J: number;
  readonly speed_rpm: number;
  readonly induced_mPers: number;
  readonly ambient_degC: number;
}

/** Specific heat of burnt gas, J/(g·K), at some 600 °C (from memory). */
const EXHAUST_CP_JPergK = 1.15;
/** Of friction, what rubs in the barrels; the rest in the bearings of the case. */
const FRICTION_IN_BARRELS = 0.6;

export class Thermal {
  readonly spec: ThermalSpec;
  readonly head_degC: Float64Array;
  readonly barrel_degC: Float64Array;
  readonly port_degC: Float64Array;
  /** Gas behind the port. */
  readonly gas_degC: Float64Array;
  readonly #sheath_degC: Float64Array;
  readonly #pipe_degC: Float64Array;
  case_degC: number;
  /** 0 to 1: fan speed over full speed; spools with the motor. */
  fanShare = 0;
  /** Fault: share of the cooling that is lost, by cylinder. */
  readonly blocked: Float64Array;
  /** Sums since the start, J. */
  toAir_J = 0;
  toExhaust_J = 0;

  constructor(spec: ThermalSpec, ambient_degC: number) {
    this.spec = spec;
    const count = spec.headFactors.length;
    const lumps = (): Float64Array => new Float64Array(count).fill(ambient_degC);
    this.head_degC = lumps();
    this.barrel_degC = lumps();
    this.port_degC = lumps();
    this.gas_degC = lumps();
    this.#sheath_degC = lumps();
    this.#pipe_degC = lumps();
    this.blocked = new Float64Array(count);
    this.case_degC = ambient_degC;
  }

  exhaust_degC(cylinder: number): number {
    return 0.9 * (this.#sheath_degC[cylinder] ?? Number.NaN) + 0.1 * (this.#pipe_degC[cylinder] ?? Number.NaN);
  }

  hottestHead_degC(): number {
    let hottest = -Infinity;
    for (const head of this.head_degC) if (head > hottest) hottest = head;
    return hottest;
  }

  /** Heat held by all lumps above 0 °C. Probes are too small to count. */
  stored_J(): number {
    const { spec } = this;
    let stored_J = spec.caseHeat_JPerK * this.case_degC;
    for (let i = 0; i < this.head_degC.length; i++) {
      stored_J += spec.headHeat_JPerK * this.head_degC[i]! + spec.barrelHeat_JPerK * this.barrel_degC[i]!;
      stored_J += spec.portHeat_JPerK * this.port_degC[i]!;
    }
    return stored_J;
  }

  /** Conductance of the fins over that at reference air: forced convection ∝ v^0.7; 6 % is left in still air. */
  convection(induced_mPers: number): number {
    const { spec } = this;
    const air_mPers = spec.fanAir_mPers * this.fanShare + spec.washShare * induced_mPers;
    return 0.06 + 0.94 * (air_mPers / spec.referenceAir_mPers) ** 0.7;
  }

  /** One slow step (100 ms or less). */
  step(dt_s: number, heat: HeatInput, isFanDriven: boolean): void {
    this.fanShare += (((isFanDriven ? 1 : 0) - this.fanShare) * dt_s) / (isFanDriven ? 0.8 : 2.5);
    const spec = this.spec;
    const count = this.head_degC.length;
    const ambient = heat.ambient_degC;
    // Heat loss per charge grows with the time it has: share ∝ n^−0.5.
    const slow = Math.max(0.15, heat.speed_rpm / spec.referenceSpeed_rpm) ** -0.5;
    const convection = this.convection(heat.induced_mPers);
    const rubbing_W = (heat.friction_J * FRICTION_IN_BARRELS) / dt_s / count;
    let intoCase_W = (heat.friction_J * (1 - FRICTION_IN_BARRELS)) / dt_s;
    let toAir_W = 0;
    for (let i = 0; i < count; i++) {
      const head = this.head_degC[i]!;
      const barrel = this.barrel_degC[i]!;
      const port = this.port_degC[i]!;
      const burnt_W = heat.burnt_J[i]! / dt_s;
      const cooling = convection * (1 - this.blocked[i]!);
      // The hotter the wall, the less it takes from the gas: 1 K in 700.
      const gasToHead_W = burnt_W * spec.headShare * slow * (spec.headFactors[i] ?? 1) * (1 - (head - 165) / 700);
      const gasToBarrel_W = burnt_W * spec.barrelShare * slow;
      const headToAir_W = spec.headCooling_WPerK * cooling * (head - ambient);
      const barrelToAir_W = spec.barrelCooling_WPerK * cooling * (barrel - ambient);
      const portToAir_W = spec.portCooling_WPerK * (0.3 + 0.7 * convection) * (port - ambient);
      const headToBarrel_W = spec.headToBarrel_WPerK * (head - barrel);
      const barrelToCase_W = spec.barrelToCase_WPerK * (barrel - this.case_degC);
      const portToHead_W = spec.portToHead_WPerK * (port - head);

      const left_W = burnt_W - heat.work_J[i]! / dt_s - gasToHead_W - gasToBarrel_W;
      const gasToPort_W = this.#passGas(i, left_W, heat.exhaust_g[i]! / dt_s, ambient);
      this.toExhaust_J += (left_W - gasToPort_W) * dt_s;
      this.#stepProbe(i, dt_s, left_W, heat.exhaust_g[i]! / dt_s, ambient);

      this.head_degC[i] =
        head + ((gasToHead_W + portToHead_W - headToAir_W - headToBarrel_W) * dt_s) / spec.headHeat_JPerK;
      this.barrel_degC[i] =
        barrel +
        ((gasToBarrel_W + rubbing_W + headToBarrel_W - barrelToAir_W - barrelToCase_W) * dt_s) / spec.barrelHeat_JPerK;
      this.port_degC[i] = port + ((gasToPort_W - portToAir_W - portToHead_W) * dt_s) / spec.portHeat_JPerK;
      toAir_W += headToAir_W + barrelToAir_W + portToAir_W;
      intoCase_W += barrelToCase_W;
    }
    const caseToAir_W = spec.caseCooling_WPerK * (0.2 + 0.8 * convection) * (this.case_degC - ambient);
    this.case_degC += ((intoCase_W - caseToAir_W) * dt_s) / spec.caseHeat_JPerK;
    this.toAir_J += (toAir_W + caseToAir_W) * dt_s;
  }

  /** Runs the slow parts to rest under a constant heat input of `per_s` seconds; for initial states. */
  settle(heat: HeatInput, per_s: number, isFanDriven: boolean): void {
    this.fanShare = isFanDriven ? 1 : 0;
    for (let i = 0; i < 3000; i++) this.step(per_s, heat, isFanDriven);
  }

  /** Gas through the port: a heat exchanger with a wall of one temperature. Returns what the wall takes, W. */
  #passGas(i: number, left_W: number, flow_gPers: number, ambient_degC: number): number {
    const spec = this.spec;
    if (flow_gPers < 0.005) {
      this.gas_degC[i] = this.port_degC[i]!;
      return 0;
    }
    const capacity_WPerK = flow_gPers * EXHAUST_CP_JPergK;
    const in_degC = ambient_degC + left_W / capacity_WPerK;
    // Turbulent tube: conductance ∝ flow^0.8.
    const reference_gPers = spec.referenceExhaust_gPers / this.head_degC.length;
    const wall_WPerK = spec.portGas_WPerK * (flow_gPers / reference_gPers) ** 0.8;
    const taken_W = capacity_WPerK * (1 - Math.exp(-wall_WPerK / capacity_WPerK)) * (in_degC - this.port_degC[i]!);
    this.gas_degC[i] = in_degC - taken_W / capacity_WPerK;
    return taken_W;
  }

  #stepProbe(i: number, dt_s: number, left_W: number, flow_gPers: number, ambient_degC: number): void {
    const spec = this.spec;
    const isFlowing = left_W > 0 && flow_gPers > 0.005;
    // A thin flow leaves the probe more to the pipe around it.
    const reference_gPers = spec.referenceExhaust_gPers / this.head_degC.length;
    const share = spec.probeShare * (spec.exhaustFactors[i] ?? 1) * (flow_gPers / reference_gPers) ** 0.08;
    // At rest it cools towards its surroundings: the warm port, then the air.
    const target_degC = isFlowing
      ? ambient_degC + Math.min(1, share) * (this.gas_degC[i]! - ambient_degC)
      : ambient_degC + 0.4 * (this.head_degC[i]! - ambient_degC);
    const sheath = this.#sheath_degC[i]!;
    const pipe = this.#pipe_degC[i]!;
    // A 3 mm sheath answers within seconds in flowing gas, within half a minute in still gas.
    this.#sheath_degC[i] = sheath + ((target_degC - sheath) * dt_s) / (isFlowing ? 2.5 : 25);
    this.#pipe_degC[i] = pipe + ((target_degC - pipe) * dt_s) / (isFlowing ? 30 : 90);
  }
}
