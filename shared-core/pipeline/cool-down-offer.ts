/** Offers the cool-down once for each spell of power, and takes it back when the engine goes to power again. */
import type { AdvisoryDesk } from '../advisory/advisory.ts';
import type { CoolDownWatch } from '../limits/cool-down.ts';
import type { FoldMemory } from './fold-memory.ts';

export class CoolDownOffer {
  /** Of the rig sheet's rule; null where it has none. */
  watch: CoolDownWatch | null = null;
  readonly #desk: AdvisoryDesk;
  #wasOffered = false;

  constructor(desk: AdvisoryDesk) {
    this.#desk = desk;
  }

  step(t_us: number): void {
    const { watch } = this;
    const cause = watch?.rule.advisory;
    if (watch === null || cause === undefined) return;
    const { isDue, isAtPower } = watch.state;
    if (isAtPower) {
      this.#wasOffered = false;
      if (this.#desk.isOpen(cause)) this.#desk.withdraw(cause, t_us);
    }
    if (!isDue || this.#wasOffered || this.#desk.isAbortOpen) return;
    this.#wasOffered = true;
    this.#desk.open(cause, '', `${watch.rule.title}: idle after high power`, t_us);
  }

  remember(memory: FoldMemory): void {
    this.#wasOffered = memory.flag(this.#wasOffered);
  }
}
