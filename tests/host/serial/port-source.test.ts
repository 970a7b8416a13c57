/** The reconnect machine with a made-up port and a made-up clock. */
import { beforeEach, describe, expect, test } from 'vitest';
import type { SourceStatus } from '../../../electron/host/byte-source.ts';
import type { PortEvents } from '../../../electron/host/serial/port-handle.ts';
import {
  CLOSE_LIMIT_MS,
  FIRST_REOPEN_MS,
  LONGEST_REOPEN_MS,
  OPEN_LIMIT_MS,
  PortSource,
} from '../../../electron/host/serial/port-source.ts';

class FakeTime {
  now_ms = 0;
  #timers: { at_ms: number; run: () => void }[] = [];
  readonly clock = { now_us: () => this.now_ms * 1000, now_epochMs: () => this.now_ms };
  readonly timers = {
    after: (delay_ms: number, run: () => void) => {
      const timer = { at_ms: this.now_ms + delay_ms, run };
      this.#timers.push(timer);
      return () => {
        this.#timers = this.#timers.filter((each) => each !== timer);
      };
    },
  };

  advance(by_ms: number): void {
    const end_ms = this.now_ms + by_ms;
    for (;;) {
      const next = this.#timers.filter((each) => each.at_ms <= end_ms).sort((a, b) => a.at_ms - b.at_ms)[0];
      if (next === undefined) break;
      this.#timers = this.#timers.filter((each) => each !== next);
      this.now_ms = next.at_ms;
      next.run();
    }
    this.now_ms = end_ms;
  }

  get pending(): number {
    return this.#timers.length;
  }
}

class FakePort {
  readonly events: PortEvents;
  readonly written: number[] = [];
  isClosing = false;
  released: (() => void) | null = null;
  constructor(events: PortEvents) {
    this.events = events;
  }
  write = (bytes: Uint8Array) => {
    this.written.push(...bytes);
    return true;
  };
  close = (done: () => void) => {
    this.isClosing = true;
    this.released = done;
    if (!hangsOnClose) done();
  };
}

let time: FakeTime;
let tries: FakePort[];
let statuses: SourceStatus[];
let received: { bytes: number[]; at_us: number }[];
let source: PortSource;
let exists: boolean;
let hangsOnClose: boolean;
const last = () => tries.at(-1)!;
const status = () => statuses.at(-1)!;

beforeEach(() => {
  time = new FakeTime();
  tries = [];
  statuses = [];
  received = [];
  exists = true;
  hangsOnClose = false;
  source = new PortSource({
    path: '/dev/ttyUSB0',
    baud: 115_200,
    clock: time.clock,
    timers: time.timers,
    openPort: (_path, _baud, events) => {
      const port = new FakePort(events);
      tries.push(port);
      return port;
    },
    pathExists: () => exists,
    platform: 'linux',
  });
  source.start({
    onBytes: (chunk, arrived_us) => received.push({ bytes: [...chunk], at_us: arrived_us }),
    onStatus: (each) => statuses.push(each),
  });
});

describe('given a port that opens', () => {
  beforeEach(() => last().events.opened());

  test('when bytes come, then they are handed on with their time, and the status says so once', () => {
    time.advance(100);
    last().events.bytes(Uint8Array.of(1, 2));
    time.advance(100);
    last().events.bytes(Uint8Array.of(3));
    expect(received).toEqual([
      { bytes: [1, 2], at_us: 100_000 },
      { bytes: [3], at_us: 200_000 },
    ]);
    expect(statuses.map((each) => each.state)).toEqual(['opening', 'open', 'open']);
    expect(status().sentence).toBe('Receiving from /dev/ttyUSB0 at 115,200 Bd.');
  });

  test('when written to, then the bytes go out', () => {
    expect(source.write(Uint8Array.of(9))).toBe(true);
    expect(last().written).toEqual([9]);
  });

  test('when 3 s pass without a byte, then the status says so, with what to check, once', () => {
    time.advance(2999);
    expect(status().remedy).toBe('');
    time.advance(1);
    expect(status()).toMatchObject({
      state: 'open',
      sentence: '/dev/ttyUSB0 is open, but nothing has been heard for 3 s.',
    });
    expect(status().remedy).toContain('115,200 Bd');
    const count = statuses.length;
    time.advance(5000);
    expect(statuses.length).toBe(count);
    last().events.bytes(Uint8Array.of(1));
    expect(status().sentence).toContain('Receiving');
  });

  test('when it is silent and its path has gone, then it counts as lost without a word from the system', () => {
    exists = false;
    time.advance(3000);
    expect(last().isClosing).toBe(true);
    expect(status()).toMatchObject({ state: 'waiting', sentence: expect.stringContaining('was lost') });
  });

  test('when it stays silent, then it is opened anew after 20 s, 40 s, 80 s, 160 s, 160 s', () => {
    const opened_ms: number[] = [];
    for (let i = 0; i < 5; i++) {
      const before = tries.length;
      const from_ms = time.now_ms;
      while (tries.length === before) time.advance(50);
      opened_ms.push(time.now_ms - from_ms);
      last().events.opened();
    }
    // Each with a pause that grows from 0.25 s to 4 s.
    const waits_ms = [FIRST_REOPEN_MS, 40_000, 80_000, LONGEST_REOPEN_MS, LONGEST_REOPEN_MS];
    expect(opened_ms).toEqual(waits_ms.map((wait_ms, i) => wait_ms + 250 * 2 ** i));
  });

  test('when it is lost, then it waits 0.25 s and opens a fresh handle', () => {
    last().events.bytes(Uint8Array.of(1));
    last().events.lost('bad file descriptor');
    expect(status()).toMatchObject({ state: 'waiting', nextAttemptIn_ms: 250, attempts: 0 });
    expect(source.write(Uint8Array.of(1))).toBe(false);
    time.advance(249);
    expect(tries).toHaveLength(1);
    time.advance(1);
    expect(tries).toHaveLength(2);
    expect(status()).toMatchObject({ state: 'opening', attempts: 1 });
  });

  test('when a lost handle still speaks, then nobody listens', () => {
    const old = last();
    old.events.lost('x');
    time.advance(250);
    last().events.opened();
    const count = statuses.length;
    old.events.bytes(Uint8Array.of(1));
    old.events.lost('again');
    old.events.opened();
    expect(received).toEqual([]);
    expect(statuses.length).toBe(count);
  });
});

describe('given a port that does not open', () => {
  const text = 'Error: No such file or directory, cannot open /dev/ttyUSB0';

  test('when it fails again and again, then the pauses grow to 5 s and it never gives up', () => {
    const pauses: (number | null)[] = [];
    for (let i = 0; i < 100; i++) {
      last().events.failed(text);
      pauses.push(status().nextAttemptIn_ms);
      time.advance(5000);
    }
    expect(pauses.slice(0, 7)).toEqual([250, 500, 1000, 2000, 4000, 5000, 5000]);
    expect(tries).toHaveLength(101);
    expect(status().attempts).toBe(101);
    expect(statuses.at(-2)).toMatchObject({ state: 'waiting', sentence: 'There is no port /dev/ttyUSB0.' });
  });

  test('when bytes come at last, then the pauses begin at 0.25 s again', () => {
    for (let i = 0; i < 5; i++) {
      last().events.failed(text);
      time.advance(5000);
    }
    last().events.opened();
    last().events.bytes(Uint8Array.of(1));
    last().events.lost('x');
    expect(status().nextAttemptIn_ms).toBe(250);
  });

  test('when it opens and is lost without a byte, then the pauses go on growing', () => {
    last().events.failed(text);
    time.advance(250);
    last().events.opened();
    last().events.lost('x');
    expect(status().nextAttemptIn_ms).toBe(500);
  });

  test('when an open never returns, then it is given up after its limit', () => {
    time.advance(OPEN_LIMIT_MS);
    expect(last().isClosing).toBe(true);
    expect(status()).toMatchObject({ state: 'waiting', sentence: expect.stringContaining('did not open within 5 s') });
  });
});

describe('given a port whose close never returns', () => {
  beforeEach(() => {
    hangsOnClose = true;
    last().events.opened();
  });

  test('when it is lost, then the next try comes all the same', () => {
    last().events.lost('x');
    time.advance(CLOSE_LIMIT_MS + 250);
    expect(tries).toHaveLength(2);
  });

  test('when the source is closed, then that ends within a second', async () => {
    const closed = source.close();
    time.advance(CLOSE_LIMIT_MS);
    await closed;
    expect(status().state).toBe('closed');
    expect(CLOSE_LIMIT_MS).toBeLessThan(1000);
  });

  test('when it returns late, then nothing happens twice', () => {
    last().events.lost('x');
    const late = last().released!;
    time.advance(CLOSE_LIMIT_MS + 250);
    late();
    time.advance(250);
    expect(tries).toHaveLength(2);
  });
});

describe('given a source that is closed', () => {
  test.each(['opening', 'open', 'waiting'])(
    'when it was %s, then no timer is left and nothing is heard any more',
    async (state) => {
      if (state === 'open') last().events.opened();
      if (state === 'waiting') last().events.failed('x');
      await source.close();
      expect(status().state).toBe('closed');
      expect(time.pending).toBe(0);
      const count = statuses.length;
      last().events.opened();
      last().events.bytes(Uint8Array.of(1));
      time.advance(100_000);
      expect(statuses.length).toBe(count);
      expect(received).toEqual([]);
      expect(source.write(Uint8Array.of(1))).toBe(false);
      await source.close();
    },
  );

  test('when started again, then it throws', async () => {
    await source.close();
    expect(() => source.start({ onBytes: () => {}, onStatus: () => {} })).toThrow(/not yet started/);
  });
});
