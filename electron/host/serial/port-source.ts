/**
 * A serial port as a byte source that never gives up: opens, listens, and
 * after any failure tries again for ever with growing pauses. What the bytes
 * mean is not its business; that nothing comes at all is.
 *
 * Faults it lives with (each was met in practice by users of serial ports):
 * a port unplugged with no word from the system; a port that stays "in use"
 * for a while after unplugging; an open or a close that never returns.
 */
import { existsSync } from 'node:fs';
import type { ByteSource, ByteSourceEvents, SourceStatus } from '../byte-source.ts';
import { type HostClock, systemClock } from '../clock.ts';
import { grouped, openErrorWords } from './open-errors.ts';
import { type OpenPort, openSerialPort, type PortHandle } from './port-handle.ts';
import { systemTimers, type Timers } from './timers.ts';

export const FIRST_PAUSE_MS = 250;
export const LONGEST_PAUSE_MS = 5000;
/** An open that has not returned by then is given up. */
export const OPEN_LIMIT_MS = 5000;
/** A close that has not returned by then is left to itself. */
export const CLOSE_LIMIT_MS = 900;
/** A bench sends at least every 2 s (PROTOCOL.md, part 3): after this long something is wrong. */
export const SILENCE_MS = 3000;
/**
 * After this long without a byte the port is opened anew: some drivers hang
 * until then. Opening resets many boards, which may need ten seconds to start,
 * so the time doubles with each vain try.
 */
export const FIRST_REOPEN_MS = 20_000;
export const LONGEST_REOPEN_MS = 160_000;
const WATCH_EVERY_MS = 1000;

export interface PortSourceOptions {
  /** Device path or COM name; a path under /dev/serial/by-id finds the same adapter again in any socket. */
  readonly path: string;
  readonly baud: number;
  readonly clock?: HostClock;
  readonly timers?: Timers;
  readonly openPort?: OpenPort;
  readonly pathExists?: (path: string) => boolean;
  /** `process.platform`, for the words. */
  readonly platform?: string;
}

export class PortSource implements ByteSource {
  readonly kind = 'port';
  readonly name: string;
  readonly #baud: number;
  readonly #clock: HostClock;
  readonly #timers: Timers;
  readonly #openPort: OpenPort;
  readonly #pathExists: (path: string) => boolean;
  readonly #platform: string;
  #events: ByteSourceEvents | null = null;
  #handle: PortHandle | null = null;
  #isOpen = false;
  #isClosed = false;
  #cancel: () => void = () => {};
  /** Tries since bytes last came. */
  #attempts = 0;
  #pause_ms = FIRST_PAUSE_MS;
  #reopenAfter_ms = FIRST_REOPEN_MS;
  /** Since when nothing has come: opening, or the last byte. */
  #quietSince_us = 0;
  #isHeard = false;
  #isSilent = false;

  constructor(options: PortSourceOptions) {
    this.name = options.path;
    this.#baud = options.baud;
    this.#clock = options.clock ?? systemClock;
    this.#timers = options.timers ?? systemTimers;
    this.#openPort = options.openPort ?? openSerialPort;
    // A COM name is no path: nothing is learned from looking.
    this.#pathExists = options.pathExists ?? ((path) => !path.startsWith('/') || existsSync(path));
    this.#platform = options.platform ?? process.platform;
  }

  /** @throws Error if started before or closed */
  start(events: ByteSourceEvents): void {
    if (this.#events !== null || this.#isClosed) throw new Error('expected a source not yet started');
    this.#events = events;
    this.#try();
  }

  write(bytes: Uint8Array): boolean {
    return this.#isOpen && (this.#handle?.write(bytes) ?? false);
  }

  async close(): Promise<void> {
    if (this.#isClosed) return;
    this.#isClosed = true;
    this.#cancel();
    await new Promise<void>((resolve) => this.#release(resolve));
    this.#say('closed', `${this.name} is closed.`, '', null);
    this.#events = null;
  }

  #try(): void {
    this.#attempts++;
    this.#say('opening', `Opening ${this.name} at ${grouped(this.#baud)} Bd.`, '', null);
    // Each handle listens only as long as it is the present one.
    const isPresent = () => handle === this.#handle;
    const handle = this.#openPort(this.name, this.#baud, {
      opened: () => {
        if (isPresent()) this.#opened();
      },
      failed: (text) => {
        if (!isPresent()) return;
        const words = openErrorWords(text, this.name, this.#baud, this.#platform);
        this.#wait(words.sentence, words.remedy);
      },
      bytes: (chunk) => {
        if (isPresent()) this.#heard(chunk);
      },
      lost: () => {
        if (isPresent()) this.#lost();
      },
    });
    this.#handle = handle;
    this.#cancel = this.#timers.after(OPEN_LIMIT_MS, () =>
      this.#wait(
        `${this.name} did not open within ${OPEN_LIMIT_MS / 1000} s.`,
        'Unplug the adapter, wait some seconds, plug it in again.',
      ),
    );
  }

  #opened(): void {
    this.#cancel();
    this.#isOpen = true;
    this.#isHeard = false;
    this.#isSilent = false;
    this.#quietSince_us = this.#clock.now_us();
    this.#say('open', `${this.name} is open at ${grouped(this.#baud)} Bd; nothing heard yet.`, '', null);
    this.#watch();
  }

  #heard(chunk: Uint8Array): void {
    const now_us = this.#clock.now_us();
    this.#quietSince_us = now_us;
    if (!this.#isHeard || this.#isSilent) {
      this.#isHeard = true;
      this.#isSilent = false;
      this.#pause_ms = FIRST_PAUSE_MS;
      this.#reopenAfter_ms = FIRST_REOPEN_MS;
      this.#say('open', `Receiving from ${this.name} at ${grouped(this.#baud)} Bd.`, '', null);
      this.#attempts = 0;
    }
    this.#events?.onBytes(chunk, now_us);
  }

  #lost(): void {
    this.#wait(
      `${this.name} was lost: unplugged, or its adapter was reset.`,
      'Plug it in again; it is opened as soon as it appears.',
    );
  }

  #watch(): void {
    this.#cancel = this.#timers.after(WATCH_EVERY_MS, () => {
      const quiet_ms = (this.#clock.now_us() - this.#quietSince_us) / 1000;
      if (quiet_ms < SILENCE_MS) {
        this.#watch();
        return;
      }
      // Unplugged without a word from the system.
      if (!this.#pathExists(this.name)) {
        this.#lost();
        return;
      }
      if (quiet_ms >= this.#reopenAfter_ms) {
        this.#reopenAfter_ms = Math.min(2 * this.#reopenAfter_ms, LONGEST_REOPEN_MS);
        this.#wait(
          `Nothing heard on ${this.name} for ${Math.round(quiet_ms / 1000)} s: opening it anew.`,
          this.#silenceRemedy(),
        );
        return;
      }
      if (!this.#isSilent) {
        this.#isSilent = true;
        const seconds = Math.floor(quiet_ms / 1000);
        this.#say(
          'open',
          `${this.name} is open, but nothing has been heard for ${seconds} s.`,
          this.#silenceRemedy(),
          null,
        );
      }
      this.#watch();
    });
  }

  #silenceRemedy(): string {
    return `Check that the bench is powered, its cable is in at both ends, and it sends at ${grouped(this.#baud)} Bd.`;
  }

  /** Lets go of the port and tries again after a pause that grows from try to try. */
  #wait(sentence: string, remedy: string): void {
    this.#cancel();
    const pause_ms = this.#pause_ms;
    this.#pause_ms = Math.min(2 * pause_ms, LONGEST_PAUSE_MS);
    this.#say('waiting', sentence, remedy, pause_ms);
    // Not before the old handle is gone: it would find the port in use by ourselves.
    this.#release(() => {
      if (this.#isClosed) return;
      this.#cancel = this.#timers.after(pause_ms, () => this.#try());
    });
  }

  /** Closes the present handle, if any; `then` is called once, within CLOSE_LIMIT_MS. */
  #release(then: () => void): void {
    const handle = this.#handle;
    this.#handle = null;
    this.#isOpen = false;
    if (handle === null) {
      then();
      return;
    }
    let isDone = false;
    const finish = () => {
      if (isDone) return;
      isDone = true;
      giveUp();
      then();
    };
    const giveUp = this.#timers.after(CLOSE_LIMIT_MS, finish);
    handle.close(finish);
  }

  #say(state: SourceStatus['state'], sentence: string, remedy: string, nextAttemptIn_ms: number | null): void {
    this.#events?.onStatus({ state, sentence, remedy, attempts: this.#attempts, nextAttemptIn_ms });
  }
}
