/**
 * The running number and the bench time from line to line (PROTOCOL.md, part
 * 3): how many lines are missing, and whether time goes back.
 */
const SEQ_MODULUS = 65_536;

export class Continuity {
  #seq = -1;
  #time_us = 0;
  #isTimeKnown = false;
  #isConfirmed = false;

  /** Forgets what came before: the next line follows on nothing. */
  forget(): void {
    this.#seq = -1;
    this.#isTimeKnown = false;
    this.#isConfirmed = false;
  }

  /** The bench has rebooted: it begins again at running number 0000, at any time. */
  restart(): void {
    this.#seq = SEQ_MODULUS - 1;
    this.#isTimeKnown = false;
  }

  /** An identity was seen since `forget`: the numbers known are those of its boot. */
  get isConfirmed(): boolean {
    return this.#isConfirmed;
  }

  confirm(): void {
    this.#isConfirmed = true;
  }

  /** True if `(time − previous time) mod 2^32` is 2^31 or more. Takes signed or unsigned 32-bit times. */
  goesBack(time_us: number): boolean {
    return this.#isTimeKnown && ((time_us - this.#time_us) | 0) < 0;
  }

  /** Takes a line that has arrived and returns how many are missing before it. */
  follow(seq: number, time_us: number): number {
    const missing = this.#seq < 0 ? 0 : (seq - this.#seq - 1) & (SEQ_MODULUS - 1);
    this.#seq = seq;
    this.#time_us = time_us | 0;
    this.#isTimeKnown = true;
    return missing;
  }
}
