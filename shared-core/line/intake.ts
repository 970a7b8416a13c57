/**
 * From bytes to the journal: owns the line decoder, turns bench time into
 * session time, numbers the entries, and notices silence. All that it does
 * follows from the calls made to it, so the same calls give the same journal.
 *
 * Session time is in `session-time.ts`, rates and drift in `link-rates.ts`;
 * judging is the pipeline's work.
 */
import { type JournalInput, type JournalSink, type OperatorAction, REPEAT_GROUP } from '../journal.ts';
import { LineDecoder } from './decoder.ts';
import type { BenchDecoder } from './decoder-contract.ts';
import { LinkRates, type LinkRatesNow } from './link-rates.ts';
import type {
  Answer,
  BenchCommand,
  BenchTable,
  FaultKind,
  Identity,
  InputState,
  LineCounts,
  LineSink,
  TextWeight,
} from './messages.ts';
import { SessionTime } from './session-time.ts';

/** No accepted line for so long: the link is silent. */
export const LINK_SILENCE_us = 500_000;
/** Ticks begin after this silence and follow at this distance … */
export const TICK_us = 100_000;
/** … and, once it has lasted this long, at `SLOW_TICK_us`, so that a bench switched off overnight fills no disk. */
export const SLOW_TICKS_AFTER_us = 60_000_000;
export const SLOW_TICK_us = 1_000_000;
/** Faults and losses are noted at most once a second, plain counts every ten. */
const COUNTS_us = 1_000_000;
const PLAIN_COUNTS_us = 10_000_000;
const CLOCK_us = 60_000_000;
const LONG_SILENCE_us = 2 ** 30;

export interface IntakeOptions {
  /** Wall clock at a host time; by default host times are themselves microseconds of the epoch. */
  readonly epochMsOfHost?: (host_us: number) => number;
  /** For benches that do not speak our line (`profile/profile-decoder.ts`); by default the line protocol's. */
  readonly decoder?: BenchDecoder;
  /** Told after the sink of every entry that is not a frame or tick. */
  readonly onInput?: (t_us: number, body: JournalInput) => void;
}

export interface LastFault {
  readonly kind: FaultKind;
  readonly excerpt: string;
}

/**
 * Host times (`…_us` of the calls) are microseconds of one monotonic clock and
 * do not go back from call to call; they may have fractions.
 */
export class Intake implements LineSink {
  readonly #sink: JournalSink;
  readonly #decoder: BenchDecoder;
  readonly #time = new SessionTime();
  readonly #rates = new LinkRates();
  readonly #epochMsOfHost: (host_us: number) => number;
  readonly #onInput: (t_us: number, body: JournalInput) => void;
  #ord = 0;
  #isOpen = false;
  #isSilent = false;
  #boot = '';
  /** Last said and noted as news; what is said again goes as a frame of `REPEAT_GROUP`. */
  #saidIdentity = '';
  readonly #saidInputs = new Map<number, InputState>();
  readonly #repeat = new Int32Array(2);
  #lastFault: LastFault | null = null;
  #arrived_us = 0;
  #lastTickSilence_us = 0;
  #lastClock_us = 0;
  #lastCountsHost_us = Number.NEGATIVE_INFINITY;
  #noted: LineCounts | null = null;

  constructor(sink: JournalSink, options: IntakeOptions = {}) {
    this.#sink = sink;
    this.#decoder = options.decoder ?? new LineDecoder();
    this.#epochMsOfHost = options.epochMsOfHost ?? ((host_us) => host_us / 1000);
    this.#onInput = options.onInput ?? (() => {});
  }

  /** Counted since the session began, over all openings of the port. */
  get counts(): LineCounts {
    return this.#decoder.counts;
  }
  get lastFault(): LastFault | null {
    return this.#lastFault;
  }
  /** Newest session time given out. */
  get now_us(): number {
    return this.#time.now_us;
  }
  get isOpen(): boolean {
    return this.#isOpen;
  }
  get isSilent(): boolean {
    return this.#isSilent;
  }
  /** Next number in the journal's order. */
  get nextOrd(): number {
    return this.#ord;
  }

  // ------------------------------------------------------ calls of the host --

  /** The port is open. The first call begins the session: its time is 0. */
  opened(host_us: number, detail = ''): void {
    this.#time.hostAt(host_us);
    this.#decoder.rejoin();
    // Silence is counted from here: a port that never says a word is silent, too.
    this.#time.reopened(host_us);
    this.#rates.newClock();
    this.#isOpen = true;
    this.#isSilent = false;
    this.#lastTickSilence_us = 0;
    this.#event({ kind: 'link', state: 'opened', detail });
  }

  /** The port is gone. Ticks go on as long as the host calls `idle`. */
  closed(host_us: number, detail = ''): void {
    if (!this.#isOpen) return;
    this.#time.hostAt(host_us);
    this.#time.advance();
    this.#isOpen = false;
    this.#isSilent = false;
    this.#noteCounts(host_us, true);
    this.#event({ kind: 'link', state: 'closed', detail });
  }

  /** Bytes as they came; how they were split does not change the journal's samples. */
  bytes(chunk: Uint8Array, arrived_us: number): void {
    this.#time.hostAt(arrived_us);
    this.#arrived_us = arrived_us;
    const counts = this.#decoder.counts;
    const acceptedBefore = counts.accepted;
    // Beyond half a turn of the 32 bits the decoder would take the next line's time for time gone back.
    if (this.#time.silence_us > LONG_SILENCE_us) this.#decoder.rejoin();
    this.#decoder.push(chunk, this, arrived_us);
    const isAccepted = counts.accepted !== acceptedBefore;
    if (isAccepted) {
      this.#heard();
      this.#time.heard(arrived_us);
      this.#lastTickSilence_us = 0;
    }
    this.#rates.at(arrived_us, counts);
    if (isAccepted && this.#time.isMapped) {
      this.#rates.delay(this.#time.bench_us, arrived_us);
      if (this.#time.now_us - this.#lastClock_us >= CLOCK_us) this.#noteClock();
    }
    this.#noteCounts(arrived_us, false);
  }

  /** To be called about every 50 ms, whether bytes come or not. */
  idle(host_us: number): void {
    if (!this.#time.hasBegun) return;
    this.#time.look(host_us);
    this.#rates.at(host_us, this.#decoder.counts);
    this.#noteCounts(host_us, false);
    // Once is chance: the bytes may come a moment after the look.
    if (this.#time.looksInSilence < 2) return;
    const silence_us = this.#time.silence_us;
    const every_us = silence_us < SLOW_TICKS_AFTER_us ? TICK_us : SLOW_TICK_us;
    if (silence_us - this.#lastTickSilence_us >= every_us) {
      this.#lastTickSilence_us = silence_us;
      const t_us = this.#time.advance();
      this.#sink.tick(this.#ord++, t_us);
    }
    if (this.#isOpen && !this.#isSilent && silence_us >= LINK_SILENCE_us) {
      this.#isSilent = true;
      this.#time.advance();
      this.#event({ kind: 'link', state: 'silent', detail: `no accepted line for ${LINK_SILENCE_us / 1000} ms` });
    }
  }

  operator(by: string, action: OperatorAction, host_us: number): void {
    this.#hostEvent(host_us, { kind: 'operator', by, action });
  }
  command(id: string, command: BenchCommand, by: string, host_us: number): void {
    this.#hostEvent(host_us, { kind: 'command', id, command, by });
  }
  commandUnanswered(id: string, host_us: number): void {
    this.#hostEvent(host_us, { kind: 'command-unanswered', id });
  }
  outputs(live: boolean, why: string, host_us: number): void {
    this.#hostEvent(host_us, { kind: 'outputs', live, why });
  }
  host(text: string, host_us: number): void {
    this.#hostEvent(host_us, { kind: 'host', text });
  }

  /** What the host knows and rules judge: the recorder's health, hours of earlier sessions; or only records. */
  fact(body: Extract<JournalInput, { kind: 'recorder' | 'hours' | 'latency' | 'training' }>, host_us: number): void {
    this.#hostEvent(host_us, body);
  }

  /** For the health of the link on screen. */
  rates(host_us: number): LinkRatesNow {
    return this.#rates.now(host_us);
  }
  /** Time without an accepted line, ms of the host's clock. */
  silentFor_ms(host_us: number): number {
    return this.#time.hasBegun ? Math.max(0, host_us - this.#time.heardAtHost_us) / 1000 : 0;
  }

  // --------------------------------------------------- lines of the decoder --

  samples(group: number, time_us32: number, raw: Int32Array, columns: number): void {
    const t_us = this.#lineTime(time_us32);
    this.#sink.frame(this.#ord++, t_us, group, raw, columns);
  }

  identity(identity: Identity, time_us32: number, _isNewBoot: boolean): void {
    // A new layout alone does not touch the bench's clock; a new boot does.
    if (this.#boot !== '' && identity.boot !== this.#boot) {
      this.#time.expectNewClock();
      this.#rates.newClock();
    }
    this.#boot = identity.boot;
    const t_us = this.#lineTime(time_us32);
    const text = JSON.stringify(identity);
    if (text === this.#saidIdentity) {
      this.#repeated(t_us, -1, 0);
      return;
    }
    this.#saidIdentity = text;
    this.#event({ kind: 'identity', identity });
  }

  table(table: BenchTable): void {
    this.#heard();
    // Inputs begin unknown with a table: what is said next is news.
    this.#saidInputs.clear();
    this.#event({ kind: 'table', table });
  }

  input(input: number, state: InputState, time_us32: number): void {
    const t_us = this.#lineTime(time_us32);
    if (this.#saidInputs.get(input) === state) {
      this.#repeated(t_us, input, state === 'X' ? 2 : state);
      return;
    }
    this.#saidInputs.set(input, state);
    this.#event({ kind: 'input', input, state });
  }

  answer(answer: Answer, time_us32: number): void {
    this.#lineTime(time_us32);
    this.#event({ kind: 'answer', answer });
  }

  text(weight: TextWeight, text: string, time_us32: number): void {
    this.#lineTime(time_us32);
    this.#event({ kind: 'text', weight, text });
  }

  fault(kind: FaultKind, excerpt: string): void {
    this.#lastFault = { kind, excerpt };
  }

  missing(_count: number): void {
    // Counted by the decoder, noted with its counts.
  }

  wrongVersion(version: string): void {
    this.#heard();
    this.#saidIdentity = '';
    this.#event({ kind: 'wrong-version', version });
  }

  // ---------------------------------------------------------------- private --

  /** Session time of a line; notes a new mapping of the clocks before it. */
  #lineTime(time_us32: number): number {
    if (this.#isSilent) this.#heard();
    if (this.#time.outrunsHost(time_us32, this.#arrived_us)) {
      this.#time.expectNewClock();
      this.#rates.newClock();
    }
    const wasMapped = this.#time.isMapped;
    const t_us = this.#time.line(time_us32, this.#arrived_us);
    if (!wasMapped) this.#noteClock();
    return t_us;
  }

  #repeated(t_us: number, input: number, state: number): void {
    this.#repeat[0] = input;
    this.#repeat[1] = state;
    this.#sink.frame(this.#ord++, t_us, REPEAT_GROUP, this.#repeat, 2);
  }

  #heard(): void {
    if (!this.#isSilent) return;
    this.#isSilent = false;
    this.#event({ kind: 'link', state: 'heard', detail: '' });
  }

  #noteClock(): void {
    const session_us = this.#time.now_us;
    this.#lastClock_us = session_us;
    const host_epochMs = this.#epochMsOfHost(this.#arrived_us);
    this.#event({ kind: 'clock', bench_us: this.#time.bench_us, session_us, host_epochMs });
  }

  #noteCounts(host_us: number, atOnce: boolean): void {
    const counts = this.#decoder.counts;
    const noted = this.#noted;
    const since_us = host_us - this.#lastCountsHost_us;
    if (since_us < COUNTS_us && !atOnce) return;
    const isTrouble = noted === null ? hasTrouble(counts) : !hasSameTrouble(counts, noted);
    const isNews = noted === null ? counts.bytes > 0 : counts.bytes !== noted.bytes;
    if (!isTrouble && !(isNews && (since_us >= PLAIN_COUNTS_us || atOnce))) return;
    this.#noted = { ...counts, faults: { ...counts.faults } };
    this.#lastCountsHost_us = host_us;
    this.#event({ kind: 'counts', counts: this.#noted });
  }

  #hostEvent(host_us: number, body: JournalInput): void {
    this.#time.hostAt(host_us);
    this.#time.advance();
    this.#event(body);
  }

  #event(body: JournalInput): void {
    const t_us = this.#time.now_us;
    this.#sink.event(this.#ord++, t_us, body);
    this.#onInput(t_us, body);
  }
}

function hasTrouble(counts: LineCounts): boolean {
  if (counts.missing > 0) return true;
  for (const kind in counts.faults) if (counts.faults[kind as FaultKind] > 0) return true;
  return false;
}

function hasSameTrouble(a: LineCounts, b: LineCounts): boolean {
  if (a.missing !== b.missing) return false;
  for (const kind in a.faults) if (a.faults[kind as FaultKind] !== b.faults[kind as FaultKind]) return false;
  return true;
}
