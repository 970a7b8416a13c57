/**
 * What the journal says of the link: when the last line came, whether it is
 * silent now, and how long it has been silent in all. Whether that is an alarm
 * is decided by the link rules (`limits/link.ts`).
 */
import type { LinkState } from '../limits/link.ts';
import type { FoldMemory } from './fold-memory.ts';

export class LinkWatch {
  readonly state: LinkState = { hasBegun: false, isClosed: true, heardAt_us: 0 };
  /** Nothing has been heard for a while: since the last tick, silence or closing. */
  isSilent = true;
  /** All silence so far, that which lasts included. */
  silence_us = 0;
  /** Since when the link has been silent or closed; NaN while it is heard. */
  #since_us = 0;
  /** Silence that is over. */
  #past_us = 0;

  /** A frame or the state of an input has come. */
  heard(t_us: number): void {
    this.state.heardAt_us = t_us;
    this.isSilent = false;
    if (Number.isNaN(this.#since_us)) return;
    this.passed(t_us);
    this.#past_us = this.silence_us;
    this.#since_us = NaN;
  }

  /** A line has come that brings no values: the link lives, and channels go on ageing. */
  lineCame(t_us: number): void {
    this.state.heardAt_us = t_us;
  }

  /** Time has passed. */
  passed(t_us: number): void {
    if (!Number.isNaN(this.#since_us)) this.silence_us = this.#past_us + (t_us - this.#since_us);
  }

  remember(memory: FoldMemory): void {
    const { state } = this;
    memory.part('link');
    state.hasBegun = memory.flag(state.hasBegun);
    state.isClosed = memory.flag(state.isClosed);
    state.heardAt_us = memory.number(state.heardAt_us);
    this.isSilent = memory.flag(this.isSilent);
    this.silence_us = memory.number(this.silence_us);
    this.#since_us = memory.number(this.#since_us);
    this.#past_us = memory.number(this.#past_us);
  }

  event(event: 'opened' | 'closed' | 'silent' | 'heard', t_us: number): void {
    const { state } = this;
    if (event === 'opened') state.hasBegun = true;
    if (event === 'opened' || event === 'heard') state.heardAt_us = t_us;
    if (event === 'opened' || event === 'closed') state.isClosed = event === 'closed';
    if (event === 'heard') return;
    this.isSilent = true;
    // Silence is noticed late: it began with the last line.
    if (Number.isNaN(this.#since_us)) this.#since_us = Math.min(t_us, state.heardAt_us);
    this.passed(t_us);
  }
}
