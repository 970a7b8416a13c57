/**
 * The time of foreign lines as 32-bit bench microseconds: from a column that
 * may wrap, or from the host's clock when the line came. A clock that goes back, or leaps,
 * and stays there is a bench that was restarted.
 */
import type { FieldPlace, ProfileTime } from './line-profile.ts';
import { numberOf } from './number-field.ts';

const microseconds = { us: 1, ms: 1000, s: 1_000_000, clock: 1_000_000 } as const;
const DAY_s = 86_400;
/** As in PROTOCOL.md, part 12: a step of half the 32 bits or more is time going back. */
const LONGEST_STEP_us = 2 ** 31;
/** So many lines in a row after each other on a clock of their own are a new clock. */
const LINES_OF_NEW_CLOCK = 3;
const LONGEST_NEW_STEP_us = 10_000_000;
/** A longer step in less than half that time of the host is a damaged number: without a checksum nothing else shows it. */
const LEAP_us = 5_000_000;

export type ClockReading =
  | { readonly kind: 'time'; readonly time_us32: number; readonly isNewClock: boolean }
  | { readonly kind: 'bad-form' }
  | { readonly kind: 'time-back' };

export class ProfileClock {
  readonly #time: ProfileTime;
  readonly #decimal: '.' | ',';
  readonly #wrap_us: number | null;
  /** Microseconds since the first line's own time began, unwrapped. */
  #bench_us = 0;
  #raw_us = NaN;
  #arrived_us = 0;
  /** The next step may be of any length: the port was silent or closed. */
  #isAnyStep = false;
  #other_us = NaN;
  #otherLines = 0;

  constructor(time: ProfileTime, decimal: '.' | ',') {
    this.#time = time;
    this.#decimal = decimal;
    const wrap = time.kind === 'column' ? (time.unit === 'clock' ? DAY_s : time.wrap) : null;
    this.#wrap_us = wrap === null || time.kind === 'arrival' ? null : wrap * microseconds[time.unit];
  }

  rejoin(): void {
    this.#isAnyStep = true;
    this.#otherLines = 0;
  }

  read(field: (place: FieldPlace) => string, arrived_us: number): ClockReading {
    if (this.#time.kind === 'arrival') {
      this.#bench_us = Math.max(this.#bench_us, Math.floor(arrived_us));
      return { kind: 'time', time_us32: modulo32(this.#bench_us), isNewClock: false };
    }
    const raw_us = this.#microsecondsOf(field(this.#time.at), this.#time.unit);
    if (!(raw_us >= 0)) return { kind: 'bad-form' };
    if (Number.isNaN(this.#raw_us)) return this.#begin(raw_us, arrived_us, false);
    const step_us = this.#step(this.#raw_us, raw_us);
    if (this.#isAnyStep) {
      this.#isAnyStep = false;
      return step_us >= 0 ? this.#go(raw_us, arrived_us, step_us) : this.#begin(raw_us, arrived_us, true);
    }
    const isLeap = step_us > LEAP_us && arrived_us - this.#arrived_us < step_us / 2;
    const isBack =
      isLeap || step_us < 0 || step_us >= LONGEST_STEP_us || (this.#wrap_us !== null && step_us > this.#wrap_us / 2);
    if (!isBack) {
      this.#otherLines = 0;
      return this.#go(raw_us, arrived_us, step_us);
    }
    return this.#isOnNewClock(raw_us) ? this.#begin(raw_us, arrived_us, true) : { kind: 'time-back' };
  }

  #go(raw_us: number, arrived_us: number, step_us: number): ClockReading {
    this.#raw_us = raw_us;
    this.#arrived_us = arrived_us;
    this.#bench_us += step_us;
    return { kind: 'time', time_us32: modulo32(this.#bench_us), isNewClock: false };
  }

  #begin(raw_us: number, arrived_us: number, isNewClock: boolean): ClockReading {
    this.#raw_us = raw_us;
    this.#arrived_us = arrived_us;
    this.#bench_us = raw_us;
    this.#otherLines = 0;
    return { kind: 'time', time_us32: modulo32(raw_us), isNewClock };
  }

  #isOnNewClock(raw_us: number): boolean {
    const step_us = this.#otherLines === 0 ? NaN : this.#step(this.#other_us, raw_us);
    this.#otherLines = step_us >= 0 && step_us <= LONGEST_NEW_STEP_us ? this.#otherLines + 1 : 1;
    this.#other_us = raw_us;
    return this.#otherLines >= LINES_OF_NEW_CLOCK;
  }

  /** Forward over the wrap, if it has one. */
  #step(from_us: number, to_us: number): number {
    const step_us = to_us - from_us;
    return step_us < 0 && this.#wrap_us !== null ? step_us + this.#wrap_us : step_us;
  }

  #microsecondsOf(text: string, unit: keyof typeof microseconds): number {
    if (unit !== 'clock') return Math.round(numberOf(text, this.#decimal) * microseconds[unit]);
    return Math.round(clockSeconds(text) * 1e6);
  }
}

/** Seconds of the day of hh:mm:ss with or without decimals; NaN if it is none. */
export function clockSeconds(text: string): number {
  const parts = /^(\d{1,2}):([0-5]\d):([0-5]\d(?:[.,]\d{1,6})?)$/.exec(text);
  if (parts === null || Number(parts[1]) > 23) return NaN;
  return Number(parts[1]) * 3600 + Number(parts[2]) * 60 + Number(parts[3]!.replace(',', '.'));
}

function modulo32(us: number): number {
  return us % 2 ** 32;
}
