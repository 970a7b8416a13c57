/**
 * Whether the bench proves a step of an advisory at this moment, and how that
 * reads. The order of steps, and their times, are in `advisory.ts`.
 */
import type { Channel, ChannelKey } from '../channels/channel.ts';
import { quality } from '../channels/quality.ts';
import { findChannel } from '../channels/usual-keys.ts';
import { SlidingSlope } from '../derive/sliding-slope.ts';
import { failureWords } from '../limits/checks.ts';
import type { FoldMemory } from '../pipeline/fold-memory.ts';
import type { InputStore } from '../pipeline/input-store.ts';
import type { LiveValues } from '../pipeline-contract.ts';
import { formatValue } from '../units/format-value.ts';
import type { AdvisoryPlan, StepProof } from './plans.ts';

/** Slopes are over this: long enough for 0.1 K steps, short enough to see a head turn. */
export const FALLING_WINDOW_s = 5;

/** `unknown`: the channel or input has failed or is not on this bench, so nothing can be proved. */
export type ProofState = 'proved' | 'open' | 'unknown';

export class ProofReader {
  #values: LiveValues;
  #inputs: InputStore;
  readonly #channels = new Map<ChannelKey, Channel>();
  readonly #slopes = new Map<ChannelKey, SlidingSlope>();
  readonly #watched: { readonly ordinal: number; readonly slope: SlidingSlope }[] = [];

  constructor(plans: readonly AdvisoryPlan[], values: LiveValues, inputs: InputStore) {
    this.#values = values;
    this.#inputs = inputs;
    for (const { proof } of plans.flatMap((plan) => plan.steps)) {
      if (proof.kind === 'operator' || proof.kind === 'input') continue;
      const channel = findChannel(values.channels, proof.channel);
      if (channel === undefined) continue;
      this.#channels.set(proof.channel, channel);
      if (proof.kind === 'channel' || this.#slopes.has(proof.channel)) continue;
      const slope = new SlidingSlope({ window_s: FALLING_WINDOW_s });
      this.#slopes.set(proof.channel, slope);
      this.#watched.push({ ordinal: channel.ordinal, slope });
    }
  }

  /** Feeds the slopes with what is fresh at `t_us`. No allocation. */
  sample(t_us: number): void {
    const { value, updated_us } = this.#values;
    for (let i = 0; i < this.#watched.length; i++) {
      const { ordinal, slope } = this.#watched[i]!;
      if (updated_us[ordinal] === t_us) slope.push(t_us, value[ordinal]!);
    }
  }

  remember(memory: FoldMemory): void {
    memory.part('proofs');
    for (const { slope } of this.#watched) slope.remember(memory);
  }

  /** @param waited_s since the step became current */
  state(proof: StepProof, waited_s: number = Number.POSITIVE_INFINITY): ProofState {
    switch (proof.kind) {
      case 'operator':
        return 'open';
      case 'input': {
        const state = this.#inputs.state(this.#inputs.indexOf(proof.input));
        return state === 'X' ? 'unknown' : state === proof.state ? 'proved' : 'open';
      }
      case 'channel': {
        const value = this.#value(proof.channel);
        if (Number.isNaN(value)) return 'unknown';
        return (proof.is === 'below' ? value < proof.value : value > proof.value) ? 'proved' : 'open';
      }
      case 'falling': {
        if (Number.isNaN(this.#value(proof.channel))) return 'unknown';
        const slope = this.#slopes.get(proof.channel)?.slope() ?? NaN;
        return (proof.atLeast_perS > 0 ? slope >= proof.atLeast_perS : slope <= proof.atLeast_perS) ? 'proved' : 'open';
      }
      case 'cooled': {
        const value = this.#value(proof.channel);
        if (Number.isNaN(value)) return 'unknown';
        const slope = this.#slopes.get(proof.channel)?.slope() ?? NaN;
        return value <= proof.below || isSettled(proof, slope, waited_s) ? 'proved' : 'open';
      }
    }
  }

  /**
   * Seconds until `below` at the present fall: straight on, which is short, since a fall flattens. 0 when it is
   * there or has settled; null when it is not falling, or not known.
   */
  waitLeft_s(proof: Extract<StepProof, { kind: 'cooled' }>, waited_s: number): number | null {
    const value = this.#value(proof.channel);
    const slope = this.#slopes.get(proof.channel)?.slope() ?? NaN;
    if (Number.isNaN(value)) return null;
    if (value <= proof.below || isSettled(proof, slope, waited_s)) return 0;
    return slope < 0 ? (value - proof.below) / -slope : null;
  }

  /** "Rpm below 300: 3 120"; empty for what only the operator can confirm. */
  text(proof: StepProof, waited_s: number = Number.POSITIVE_INFINITY): string {
    switch (proof.kind) {
      case 'operator':
        return '';
      case 'input': {
        const input = this.#inputs.list[this.#inputs.indexOf(proof.input)];
        if (input === undefined) return `${proof.input}: not on this bench`;
        const now = input.state === 'X' ? 'not known' : input.words[input.state];
        return `${proof.input} ${input.words[proof.state]}: ${now}`;
      }
      case 'channel':
        return `${this.#label(proof.channel)} ${proof.is} ${plain(proof.value)}${this.#unit(proof.channel)}: ${this.#reading(proof.channel)}`;
      case 'falling': {
        const isRising = proof.atLeast_perS > 0;
        const slope = this.#slopes.get(proof.channel)?.slope() ?? NaN;
        const now = Number.isNaN(this.#value(proof.channel))
          ? this.#reading(proof.channel)
          : Number.isNaN(slope)
            ? 'not yet known'
            : formatValue(slope, 2);
        const unit = this.#channels.get(proof.channel)?.unit === '°C' ? ' K/s' : `${this.#unit(proof.channel)}/s`;
        const want = `${isRising ? 'rising' : 'falling'} by ${plain(Math.abs(proof.atLeast_perS))}${unit}`;
        return `${this.#label(proof.channel)} ${want}: ${now}`;
      }
      case 'cooled': {
        const head = `${this.#label(proof.channel)} at or below ${plain(proof.below)}${this.#unit(proof.channel)}`;
        const left_s = this.waitLeft_s(proof, waited_s);
        const wait =
          Number.isNaN(this.#value(proof.channel)) || left_s === 0
            ? ''
            : left_s === null
              ? '; wait: it is not falling yet'
              : `; wait: ${formatValue(Math.ceil(left_s), 0)} s more at this fall`;
        return `${head}: ${this.#reading(proof.channel)}${left_s === 0 ? '; the cut is safe' : wait}`;
      }
    }
  }

  #value(key: ChannelKey): number {
    const channel = this.#channels.get(key);
    return channel === undefined ? NaN : this.#values.value[channel.ordinal]!;
  }

  #label(key: ChannelKey): string {
    return this.#channels.get(key)?.label ?? key;
  }

  #unit(key: ChannelKey): string {
    const unit = this.#channels.get(key)?.unit ?? '';
    return unit === '' || unit === '1' || unit === 'rpm' ? '' : ` ${unit}`;
  }

  #reading(key: ChannelKey): string {
    const channel = this.#channels.get(key);
    if (channel === undefined) return 'not on this bench';
    const code = this.#values.quality[channel.ordinal]!;
    if (code !== quality.good) return `no reading (${failureWords[code]})`;
    return formatValue(this.#values.value[channel.ordinal]!, channel.decimals);
  }
}

/** Falling, but hardly: no use in waiting longer. A slope that is not known has not settled. */
function isSettled(proof: Extract<StepProof, { kind: 'cooled' }>, slope_perS: number, waited_s: number): boolean {
  // Just after power the head has not begun to fall: that is not settled.
  return waited_s >= proof.settledAfter_s && slope_perS <= 0 && slope_perS > -proof.settled_perS;
}

/** A limit as it was written: 300, 0.05, 1 500. */
export function plain(value: number): string {
  const digits = String(Math.abs(value)).split('.')[1]?.length ?? 0;
  return formatValue(value, Math.min(digits, 6));
}
