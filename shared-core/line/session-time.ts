/**
 * Session time: microseconds since the session began, never going back.
 *
 * While lines come it is the bench's own clock plus a constant, so that the
 * distances between samples are the bench's, untouched by how late the host
 * read them. The constant is set anew (from the host's clock) whenever the
 * bench's clock is: after a reboot, and after the port was opened. While
 * nothing comes, time goes on by the host's clock, a little behind, so that a
 * line that is only late still falls after it.
 */

/** Silence goes on so far behind the host's clock; more than the jitter of a USB adapter or a busy host. */
export const SILENCE_LAG_us = 100_000;
/**
 * The host looks every 50 ms. A much longer pause between two looks is the
 * host's own (a stall, a sleeping laptop): bytes may wait in the driver, so no
 * more than this, or twice its usual pace, counts as the bench's silence. (A
 * simulator that runs faster than real time has looks further apart.)
 */
export const LONGEST_LOOK_us = 250_000;

/**
 * Bytes cannot come before they are sent, so session time runs ahead of the
 * host's clock only by what waited in the driver when the clocks were mapped
 * (64 KiB at 9,600 Bd is 68 s).
 */
export const AHEAD_MAX_us = 120_000_000;

const WRAP_us = 2 ** 32;
const HALF_WRAP_us = 2 ** 31;

export class SessionTime {
  #hasBegun = false;
  #isMapped = false;
  #now_us = 0;
  /** Host time of the last call. */
  #host_us = 0;
  /** Bench time of the last line, unwrapped, and its raw 32 bits. */
  #bench_us = 0;
  #bench_us32 = 0;
  /** session = bench + offset. */
  #offset_us = 0;
  /** Session less host time of the line that came with the least delay since the clocks were mapped. */
  #lead_us = 0;
  /** Where host and session time were last seen together. */
  #heardAtHost_us = 0;
  #heardAt_us = 0;
  #silence_us = 0;
  /** A line has told the time since then. */
  #isTold = false;
  /** Host time of the last look, the time between the last two, and the shorter of the last two such times. */
  #lookedAt_us = 0;
  #look_us = 0;
  #pace_us = 0;
  #looksInSilence = 0;

  get hasBegun(): boolean {
    return this.#hasBegun;
  }
  /** False until the first line of the bench's present clock. */
  get isMapped(): boolean {
    return this.#isMapped;
  }
  get now_us(): number {
    return this.#now_us;
  }
  get bench_us(): number {
    return this.#bench_us;
  }
  get silence_us(): number {
    return this.#silence_us;
  }
  get heardAtHost_us(): number {
    return this.#heardAtHost_us;
  }

  /** Looks of the host since something good was heard. */
  get looksInSilence(): number {
    return this.#looksInSilence;
  }

  /** The host looks whether there is anything, as it does at its regular pace. */
  look(host_us: number): void {
    this.hostAt(host_us);
    const look_us = host_us - this.#lookedAt_us;
    this.#pace_us = Math.min(look_us, this.#look_us);
    this.#look_us = look_us;
    this.#lookedAt_us = host_us;
    this.#looksInSilence++;
  }

  /** Host time at a call; the first one begins the session. */
  hostAt(host_us: number): void {
    if (!this.#hasBegun) {
      this.#hasBegun = true;
      this.#heardAtHost_us = host_us;
      this.#lookedAt_us = host_us;
    } else {
      const longest_us = Math.max(LONGEST_LOOK_us, 2 * this.#pace_us);
      this.#silence_us += Math.min(longest_us, Math.max(0, host_us - this.#host_us));
    }
    this.#host_us = host_us;
  }

  /** The next line's bench time stands in no relation to the last one's. */
  expectNewClock(): void {
    this.#isMapped = false;
  }

  /**
   * True if a line with these 32 bits would put session time ahead of what the
   * host's clock allows. The bench has then rebooted after more than half a
   * turn of the 32 bits, and the identity that would have said so was lost.
   */
  outrunsHost(time_us32: number, arrived_us: number): boolean {
    if (!this.#isMapped) return false;
    const step_us = (time_us32 - this.#bench_us32) >>> 0;
    return this.#bench_us + this.#offset_us + step_us - arrived_us > this.#lead_us + AHEAD_MAX_us;
  }

  /** Session time of a line with these 32 bits of bench time. */
  line(time_us32: number, arrived_us: number): number {
    this.#isTold = true;
    if (!this.#isMapped) return this.#map(time_us32, arrived_us);
    const step_us = (time_us32 - this.#bench_us32) >>> 0;
    this.#bench_us += step_us;
    this.#bench_us32 = time_us32;
    const elapsed_us = arrived_us - this.#heardAtHost_us;
    if (elapsed_us > HALF_WRAP_us) {
      // Nothing came for more than half a turn of the 32 bits: the host's clock tells how many turns.
      this.#bench_us += Math.max(0, Math.round((elapsed_us - step_us) / WRAP_us)) * WRAP_us;
    }
    const t_us = this.#bench_us + this.#offset_us;
    if (t_us > this.#now_us) this.#now_us = t_us;
    const lead_us = this.#now_us - arrived_us;
    if (lead_us > this.#lead_us) this.#lead_us = lead_us;
    return this.#now_us;
  }

  /** The port was opened again: time goes on by the host's clock over the gap, and silence begins anew. */
  reopened(host_us: number): void {
    const byHost_us = Math.round(this.#heardAt_us + (host_us - this.#heardAtHost_us));
    if (byHost_us > this.#now_us) this.#now_us = byHost_us;
    this.#isMapped = false;
    this.#isTold = true;
    this.heard(host_us);
  }

  /**
   * Something good was heard: silence begins anew. Rows of the table say
   * nothing of the time; over those it goes on by the host's clock.
   */
  heard(host_us: number): void {
    this.#heardAt_us = this.#isTold ? this.#now_us : this.#heardAt_us + (host_us - this.#heardAtHost_us);
    this.#isTold = false;
    this.#silence_us = 0;
    this.#looksInSilence = 0;
    this.#heardAtHost_us = host_us;
  }

  /** Lets time go on with nothing heard; returns the new session time. */
  advance(): number {
    const t_us = Math.round(this.#heardAt_us + this.#silence_us - Math.max(SILENCE_LAG_us, this.#pace_us));
    if (t_us > this.#now_us) this.#now_us = t_us;
    return this.#now_us;
  }

  #map(time_us32: number, arrived_us: number): number {
    const byHost_us = Math.round(this.#heardAt_us + (arrived_us - this.#heardAtHost_us));
    if (byHost_us > this.#now_us) this.#now_us = byHost_us;
    this.#isMapped = true;
    this.#bench_us = time_us32;
    this.#bench_us32 = time_us32;
    this.#offset_us = this.#now_us - time_us32;
    this.#lead_us = this.#now_us - arrived_us;
    return this.#now_us;
  }
}
