/**
 * Present values of all channels: raw samples in, calibrated values, quality
 * and time of the last sample out. Also ages out what no longer comes.
 * Derived channels lie behind the bench's and are written by `derived.ts`.
 */
import type { CalibrationTerms } from '../channels/calibration.ts';
import { isIdentity } from '../channels/calibration.ts';
import type { Channel } from '../channels/channel.ts';
import { quality, qualityOfRaw, RAW_MAX } from '../channels/quality.ts';
import { findChannel } from '../channels/usual-keys.ts';
import { LEAST_STALE_PERIODS, staleAfter_us } from '../limits/sensor.ts';
import type { BenchTable } from '../line/messages.ts';
import type { LiveValues } from '../pipeline-contract.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import type { FoldMemory } from './fold-memory.ts';

/** Where no sensor rule says otherwise: a channel is stale after this, or after 2.5 of its periods. */
export const DEFAULT_STALE_ms = 2000;

/** Channels of one rate group, by column. */
interface GroupPlan {
  readonly ordinals: Int32Array;
  readonly soonestStale_us: number;
}

const NO_GROUP: GroupPlan = { ordinals: new Int32Array(0), soonestStale_us: Number.POSITIVE_INFINITY };

export class LiveStore implements LiveValues {
  readonly channels: readonly Channel[];
  readonly benchCount: number;
  /** Session time of the table. */
  readonly begin_us: number;
  readonly value: Float64Array;
  readonly quality: Uint8Array;
  readonly updated_us: Float64Array;
  /** All silence of the link so far, set by the pipeline, and what it was at each channel's last sample. */
  silence_us: number;
  readonly silenceAt_us: Float64Array;
  /** Age at which each channel is stale. */
  readonly staleAfter_us: Float64Array;
  /** 1 where the quality is `stale` because of age, not because the bench said so. */
  readonly isAgedOut: Uint8Array;
  readonly groupPeriod_us: Float64Array;
  readonly #groups: GroupPlan[] = [];
  readonly #groupSeen_us: Float64Array;
  readonly #isGroupAged: Uint8Array;
  readonly #factor: Float64Array;
  readonly #offset: Float64Array;
  /** 1 where the calibration terms below apply. */
  readonly #hasTerms: Uint8Array;
  readonly #terms: Float64Array;

  /** @param begin_us session time of the table: channels never heard of age from there */
  constructor(
    rig: RigSheet,
    table: BenchTable | null,
    bench: readonly Channel[],
    all: readonly Channel[],
    begin_us: number,
    silence_us: number,
  ) {
    const n = all.length;
    this.channels = all;
    this.benchCount = bench.length;
    this.begin_us = begin_us;
    this.value = new Float64Array(n).fill(NaN);
    this.quality = new Uint8Array(n).fill(quality.absent);
    this.updated_us = new Float64Array(n).fill(-1);
    this.silence_us = silence_us;
    this.silenceAt_us = new Float64Array(n).fill(silence_us);
    this.staleAfter_us = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
    this.isAgedOut = new Uint8Array(n);
    this.#factor = new Float64Array(bench.length);
    this.#offset = new Float64Array(bench.length);
    this.#hasTerms = new Uint8Array(bench.length);
    this.#terms = new Float64Array(bench.length * 4);
    this.groupPeriod_us = new Float64Array(10).fill(Number.POSITIVE_INFINITY);
    this.#groupSeen_us = new Float64Array(10).fill(begin_us);
    this.#isGroupAged = new Uint8Array(10);
    for (const { group, rate_mHz } of table?.groups ?? []) {
      this.groupPeriod_us[group] = rate_mHz > 0 ? 1e9 / rate_mHz : Number.POSITIVE_INFINITY;
    }
    for (const channel of bench) this.#fitChannel(rig, bench, channel);
    for (const { group, columns } of table?.groups ?? []) this.#groups[group] = this.#planOf(bench, group, columns);
  }

  /** Takes one frame. No allocation. */
  take(t_us: number, group: number, raw: Int32Array, columns: number): Int32Array {
    const plan = this.#groups[group] ?? NO_GROUP;
    const { ordinals } = plan;
    const { value, quality: state, updated_us, isAgedOut, silenceAt_us, silence_us } = this;
    const n = Math.min(columns, ordinals.length);
    for (let column = 0; column < n; column++) {
      const i = ordinals[column]!;
      const sample = raw[column]!;
      updated_us[i] = t_us;
      silenceAt_us[i] = silence_us;
      isAgedOut[i] = 0;
      if (sample < -RAW_MAX) {
        state[i] = qualityOfRaw(sample);
        value[i] = NaN;
        continue;
      }
      state[i] = quality.good;
      const plain = sample * this.#factor[i]! + this.#offset[i]!;
      value[i] = this.#hasTerms[i] === 0 ? plain : this.#calibrated(i, plain);
    }
    this.#groupSeen_us[group] = t_us;
    this.#isGroupAged[group] = 0;
    return ordinals;
  }

  /** Marks what has not come for too long; returns whether anything was marked. */
  ageOut(t_us: number): boolean {
    let hasMarked = false;
    for (let group = 1; group < this.#groups.length; group++) {
      const plan = this.#groups[group];
      if (plan === undefined || this.#isGroupAged[group] !== 0) continue;
      const age_us = t_us - this.#groupSeen_us[group]!;
      if (age_us <= plan.soonestStale_us) continue;
      let isAllAged = true;
      for (let column = 0; column < plan.ordinals.length; column++) {
        const i = plan.ordinals[column]!;
        if (this.isAgedOut[i] !== 0) continue;
        if (age_us <= this.staleAfter_us[i]!) {
          isAllAged = false;
          continue;
        }
        this.isAgedOut[i] = 1;
        this.quality[i] = quality.stale;
        this.value[i] = NaN;
        hasMarked = true;
      }
      if (isAllAged) this.#isGroupAged[group] = 1;
    }
    return hasMarked;
  }

  /** Time of the group's last frame, or of the table. */
  groupSeen_us(group: number): number {
    return this.#groupSeen_us[group]!;
  }

  /** `begin_us` is given to the one that is made anew. */
  remember(memory: FoldMemory): void {
    memory.part('values');
    memory.array(this.value);
    memory.array(this.quality);
    memory.array(this.updated_us);
    this.silence_us = memory.number(this.silence_us);
    memory.array(this.silenceAt_us);
    memory.array(this.isAgedOut);
    memory.array(this.#groupSeen_us);
    memory.array(this.#isGroupAged);
  }

  #calibrated(i: number, plain: number): number {
    const terms = this.#terms;
    const at = i * 4;
    // As `calibrated` in channels/calibration.ts, term for term.
    return terms[at]! + plain * (terms[at + 1]! + plain * terms[at + 2]!) - terms[at + 3]!;
  }

  #fitChannel(rig: RigSheet, bench: readonly Channel[], channel: Channel): void {
    if (channel.origin.kind !== 'bench') return;
    const i = channel.ordinal;
    this.#factor[i] = channel.origin.factor;
    this.#offset[i] = channel.origin.offset;
    const terms: CalibrationTerms | undefined = rig.calibrations.find(
      (each) => findChannel(bench, each.channel) === channel,
    );
    if (terms !== undefined && !isIdentity(terms)) {
      this.#hasTerms[i] = 1;
      this.#terms.set([terms.a0, terms.a1, terms.a2, terms.tare], i * 4);
    }
    const period_us = this.groupPeriod_us[channel.origin.group]!;
    const fallback_us = Math.max(DEFAULT_STALE_ms * 1000, LEAST_STALE_PERIODS * period_us);
    let stale_us = Number.POSITIVE_INFINITY;
    for (const rule of rig.rules) {
      if (rule.kind !== 'sensor') continue;
      if (!rule.channels.some((key) => findChannel(bench, key) === channel)) continue;
      stale_us = Math.min(stale_us, staleAfter_us(rule.stale_ms, period_us));
    }
    this.staleAfter_us[i] = Number.isFinite(stale_us) ? stale_us : fallback_us;
  }

  #planOf(bench: readonly Channel[], group: number, columns: number): GroupPlan {
    const ordinals = new Int32Array(columns);
    let soonestStale_us = Number.POSITIVE_INFINITY;
    for (const { ordinal, origin } of bench) {
      if (origin.kind !== 'bench' || origin.group !== group) continue;
      ordinals[origin.column] = ordinal;
      soonestStale_us = Math.min(soonestStale_us, this.staleAfter_us[ordinal]!);
    }
    return { ordinals, soonestStale_us };
  }
}
