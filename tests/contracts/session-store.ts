/** What every session store promises; run over each implementation. */
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type {
  SessionStore,
  SessionSummary,
  SessionWriter,
  ViewWindow,
} from '../../electron/host/store/store-contract.ts';
import { quality, RAW_MAX, rawOfQuality } from '../../shared-core/channels/quality.ts';
import type { JournalEvent } from '../../shared-core/journal.ts';
import {
  type Entry,
  EntrySink,
  eventsOf,
  inputsOf,
  madeUpJournal,
  mulberry32,
  noSummary,
  record,
  sessionStart,
} from '../support/journal-samples.ts';

const summary: SessionSummary = {
  duration_us: 12_000_000.5,
  runs: [{ run: 1, from_us: 1_000_000, to_us: null, peakSpeed_rpm: 6312 }],
  alarms: 3,
  aborts: 1,
  marks: 2,
};
const DAY_MS = 86_400_000;

export function sessionStoreContract(name: string, make: () => { store: SessionStore; dispose: () => void }): void {
  describe(`session store in ${name}`, () => {
    let store: SessionStore;
    let dispose: () => void;
    beforeEach(() => {
      ({ store, dispose } = make());
    });
    afterEach(() => dispose());

    test('given a session just started, when listed, then it is open, with its rig and provenance', () => {
      begin(store, 's1');
      expect(rows(store)).toMatchObject([
        {
          id: 's1',
          isOpen: true,
          provenance: 'SIMULATED',
          rigName: sessionStart('s1').rig.name,
          engine: sessionStart('s1').rig.engine.name,
          breakNote: '',
          isKept: false,
        },
      ]);
    });

    test('given a committed summary, when listed, then the row says the same', () => {
      const writer = begin(store, 's1');
      expect(writer.commit(summary).ok).toBe(true);
      expect(rows(store)[0]).toMatchObject(summary);
    });

    test('given a closed session, when listed, then it is not open and has no break note', () => {
      const writer = begin(store, 's1');
      expect(writer.close(summary, 1_760_000_012_000)).toEqual({ ok: true, value: null });
      expect(rows(store)[0]).toMatchObject({ isOpen: false, breakNote: '' });
    });

    test('given sessions of two days, when listed, then the newest comes first', () => {
      begin(store, 'old', 1000);
      begin(store, 'new', 2000);
      expect(rows(store).map((row) => row.id)).toEqual(['new', 'old']);
    });

    test('given frames, ticks and events over several commits, when replayed, then all come in the order of ord', () => {
      const entries = madeUpJournal(7);
      const writer = begin(store, 's1');
      for (let from = 0; from < entries.length; from += 37) {
        record(writer, entries.slice(from, from + 37));
        expect(writer.commit(noSummary).ok).toBe(true);
      }
      expect(replayed(store, 's1')).toEqual(inputsOf(entries));
    });

    test('given one long commit, when replayed, then all come in the order of ord', () => {
      const entries = madeUpJournal(7, 2);
      const writer = begin(store, 's1');
      record(writer, entries);
      writer.close(noSummary, 1);
      expect(replayed(store, 's1')).toEqual(inputsOf(entries));
    });

    test('given frames not yet committed, when replayed, then they do not come', () => {
      const entries = madeUpJournal(2);
      const writer = begin(store, 's1');
      record(writer, entries.slice(0, 50));
      writer.commit(noSummary);
      record(writer, entries.slice(50));
      expect(replayed(store, 's1')).toEqual(inputsOf(entries.slice(0, 50)));
      expect(writer.held_s).toBeGreaterThan(1);
    });

    test.each([0, 1, 99, 100, 101, 250, 617])(
      'given fromOrd %i, when replayed, then the first entry is at it',
      (fromOrd) => {
        const entries = madeUpJournal(6, 3);
        const writer = begin(store, 's1');
        record(writer, entries);
        writer.commit(noSummary);
        const expected = inputsOf(entries).filter((entry) => ordOf(entry) >= fromOrd);
        expect(replayed(store, 's1', { fromOrd })).toEqual(expected);
      },
    );

    test('given fromOrd beyond the end, when replayed, then nothing comes', () => {
      const writer = begin(store, 's1');
      record(writer, madeUpJournal(1));
      writer.commit(noSummary);
      expect(replayed(store, 's1', { fromOrd: 1_000_000 })).toEqual([]);
    });

    test('given shouldStop true after 3 s, when replayed, then it was asked each second and the rest does not come', () => {
      const writer = begin(store, 's1');
      record(writer, madeUpJournal(10));
      writer.commit(noSummary);
      const asked: number[] = [];
      const got = replayed(store, 's1', {
        shouldStop: (t_us) => {
          asked.push(Math.floor(t_us / 1e6));
          return t_us >= 3e6;
        },
      });
      expect(asked).toEqual([0, 1, 2, 3]);
      expect(got.every((entry) => timeOf(entry) < 3.1e6)).toBe(true);
      expect(got.length).toBeGreaterThan(300);
    });

    test('given a group whose column count changes, when replayed, then each frame has its own count', () => {
      const writer = begin(store, 's1');
      const entries: Entry[] = [
        { kind: 'frame', ord: 0, t_us: 0, group: 1, raw: [1, 2] },
        { kind: 'frame', ord: 1, t_us: 10, group: 1, raw: [3] },
        { kind: 'frame', ord: 2, t_us: 20, group: 1, raw: [4, 5, 6] },
        { kind: 'frame', ord: 3, t_us: 30, group: 1, raw: [7, 8] },
      ];
      record(writer, entries);
      writer.commit(noSummary);
      expect(replayed(store, 's1')).toEqual(entries);
    });

    test('given raw values at the ends of their range, when replayed, then they are the same', () => {
      const raw = [2_147_483_647, -2_147_483_648, -2_147_483_642, 2_147_483_000, -2_147_483_000, 0, -1];
      const writer = begin(store, 's1');
      record(writer, [{ kind: 'frame', ord: 0, t_us: 0, group: 9, raw }]);
      writer.commit(noSummary);
      expect(replayed(store, 's1')).toEqual([{ kind: 'frame', ord: 0, t_us: 0, group: 9, raw }]);
    });

    test('given times that are no whole microseconds, when replayed, then they are the same to the last bit', () => {
      const entries: Entry[] = [0.1, 0.30000000000000004, 1_000_000.25, 7e15].map((t_us, ord) => ({
        kind: 'tick',
        ord,
        t_us,
      }));
      const writer = begin(store, 's1');
      record(writer, entries);
      writer.commit(noSummary);
      expect(replayed(store, 's1')).toEqual(entries);
    });

    test('given events with NaN, infinities and null, when loaded, then each is what it was', () => {
      const events: JournalEvent[] = [
        ...eventsOf(madeUpJournal(3)),
        {
          ord: 999,
          t_us: 4e6,
          side: 'out',
          body: {
            kind: 'point',
            point: {
              name: 'full',
              from_us: 0,
              to_us: 1,
              samples: 1,
              means: {
                a: { mean: -0, sd: Number.NaN },
                b: null,
                c: { mean: Number.POSITIVE_INFINITY, sd: Number.NEGATIVE_INFINITY },
              },
            },
          },
        },
      ];
      const writer = begin(store, 's1');
      for (const event of events) writer.event(event);
      writer.commit(noSummary);
      const loaded = store.load('s1');
      expect(loaded.ok && loaded.value.events).toEqual(events);
      expect(loaded.ok && loaded.value.rig).toEqual(sessionStart('s1').rig);
    });

    test('given events, when asked for from an ord on, then outputs come with the input that caused them, and news alone', () => {
      const link = (ord: number): JournalEvent => {
        const body = { kind: 'link', state: 'heard', detail: `at ${ord}` } as const;
        return { ord, t_us: ord * 1e6, side: 'in', body };
      };
      const output = (ord: number): JournalEvent => {
        return { ord, t_us: ord * 1e6, side: 'out', body: { kind: 'run-state', state: 'running', run: 1 } };
      };
      const writer = begin(store, 's1');
      for (const event of [link(0), link(4), output(4)]) writer.event(event);
      writer.commit(noSummary);
      const from = (fromOrd?: number) => {
        const found = store.events('s1', { fromOrd });
        return found.ok ? found.value : found.error.kind;
      };
      expect(from()).toEqual([link(0), link(4), output(4)]);
      expect(from(1)).toEqual([link(4), output(4)]);
      expect(from(4)).toEqual([link(4), output(4)]);
      expect(from(5)).toEqual([]);
      writer.event(link(7));
      // Not before it is durable.
      expect(from(5)).toEqual([]);
      writer.commit(noSummary);
      expect(from(5)).toEqual([link(7)]);
    });

    test('given a buffer that the caller reuses, when committed, then the values at the time of the call are kept', () => {
      const writer = begin(store, 's1');
      const raw = Int32Array.of(1, 2, 3);
      writer.frame(0, 0, 1, raw, 2);
      raw.fill(9);
      writer.commit(noSummary);
      expect(replayed(store, 's1')).toEqual([{ kind: 'frame', ord: 0, t_us: 0, group: 1, raw: [1, 2] }]);
    });

    test('given nothing to write, when committed, then it is ok and held_s is 0', () => {
      const writer = begin(store, 's1');
      expect(writer.held_s).toBe(0);
      expect(writer.commit(noSummary).ok).toBe(true);
      expect(writer.close(noSummary, 1).ok).toBe(true);
      expect(replayed(store, 's1')).toEqual([]);
    });

    test('given a whole session, when verified, then it is whole and its entries are counted', () => {
      const entries = madeUpJournal(3);
      const writer = begin(store, 's1');
      record(writer, entries);
      writer.close(noSummary, 1);
      const report = store.verify('s1');
      expect(report.ok && report.value).toMatchObject({
        isWhole: true,
        findings: [],
        frames: entries.filter((entry) => entry.kind !== 'event').length,
        events: eventsOf(entries).length,
      });
    });

    // Fresh blocks, long ones and, in the last, levels of several heights.
    test.each([
      { seconds: 4, pixels: 300 },
      { seconds: 90, pixels: 40 },
      { seconds: 500, pixels: 17 },
    ])(
      'given $seconds s in commits, when $pixels pixels of a column are viewed, then each is a scan of its samples',
      ({ seconds, pixels }) => {
        const entries = madeUpJournal(seconds, 21);
        const writer = begin(store, 's1');
        for (let from = 0; from < entries.length; from += 173) {
          record(writer, entries.slice(from, from + 173));
          writer.commit(noSummary);
        }
        for (const isClosed of [false, true]) {
          if (isClosed) writer.close(noSummary, 1);
          for (const [from_us, to_us] of [
            [0, seconds * 1e6],
            [1.234567e6, seconds * 0.77e6],
            [-5e6, seconds * 1.5e6],
          ] as const) {
            for (const column of [0, 1]) expectScan(store, entries, column, { from_us, to_us, pixels });
          }
        }
      },
    );

    test('given numbers at the ends of their range and states among them, when viewed, then each pixel is a scan', () => {
      const extremes = [RAW_MAX, -RAW_MAX, 0, -1, 1 << 30, -(1 << 30), (1 << 30) - 1, 77, 78];
      const states = [rawOfQuality(quality.open), rawOfQuality(quality.stale)];
      const random = mulberry32(8);
      const pick = (from: readonly number[]) => from[Math.floor(random() * from.length)]!;
      // By stretches: all of them, numbers alone, narrow ones alone, nothing but states.
      const choices = [[...extremes, ...states], extremes, [77, 78, 79], states];
      const entries: Entry[] = Array.from({ length: 4000 }, (_, i) => {
        const raw = [pick(choices[Math.floor(i / 37) % 4]!), pick(extremes.slice(0, 2))];
        return { kind: 'frame', ord: i, t_us: 10_000 * i + Math.floor(9000 * random()), group: 1, raw };
      });
      const writer = begin(store, 's1');
      record(writer, entries);
      writer.commit(noSummary);
      writer.close(noSummary, 1);
      for (const pixels of [1, 90, 700, 4100]) {
        for (const column of [0, 1]) expectScan(store, entries, column, { from_us: 123, to_us: 39.5e6, pixels });
      }
    });

    test.each([0, 1e6, 3.3e6, 1e9])(
      'given time %i, when asked for an ord before it, then all from it on is behind',
      (t_us) => {
        const entries = madeUpJournal(6, 9);
        const writer = begin(store, 's1');
        record(writer, entries);
        writer.commit(noSummary);
        const found = store.ordBefore('s1', t_us);
        if (!found.ok) throw new Error(found.error.kind);
        for (const entry of entries) {
          if (entry.kind === 'frame' && entry.t_us >= t_us) expect(entry.ord).toBeGreaterThanOrEqual(found.value);
        }
      },
    );

    test('given a window without samples, when viewed, then every pixel counts none', () => {
      const writer = begin(store, 's1');
      record(writer, madeUpJournal(3));
      writer.commit(noSummary);
      for (const group of [1, 7]) {
        const viewed = store.viewRaw('s1', group, 0, { from_us: 50e6, to_us: 5000e6, pixels: 10 });
        expect(viewed.ok && [...viewed.value.count]).toEqual(new Array(10).fill(0));
      }
    });

    test('given an id that nobody has, when asked for in any way, then the error says so', () => {
      const missing = { ok: false, error: { kind: 'session-not-found', id: 'none' } };
      expect(store.load('none')).toEqual(missing);
      expect(store.events('none')).toEqual(missing);
      expect(store.replay('none', new EntrySink())).toEqual(missing);
      expect(store.keep('none', true)).toEqual(missing);
      expect(store.note('none', 'x')).toEqual(missing);
      expect(store.tags('none', ['x'])).toEqual(missing);
      expect(store.bin('none', 1)).toEqual(missing);
      expect(store.verify('none')).toEqual(missing);
      expect(store.viewRaw('none', 1, 0, { from_us: 0, to_us: 1, pixels: 1 })).toEqual(missing);
      expect(store.viewDerived('none', 'brake_power', { from_us: 0, to_us: 1, pixels: 1 })).toEqual(missing);
    });

    test('given keep and note, when listed, then both are there', () => {
      begin(store, 's1');
      store.keep('s1', true);
      store.note('s1', 'carburettor changed');
      expect(rows(store)[0]).toMatchObject({ isKept: true, note: 'carburettor changed' });
      store.keep('s1', false);
      expect(rows(store)[0]).toMatchObject({ isKept: false });
    });

    test('given tags, when listed, then each is there once, trimmed, in order; new ones take their place', () => {
      begin(store, 's1');
      expect(rows(store)[0]?.tags).toEqual([]);
      store.tags('s1', [' endurance ', 'carburettor 2', 'endurance', ' ']);
      expect(rows(store)[0]?.tags).toEqual(['endurance', 'carburettor 2']);
      store.tags('s1', []);
      expect(rows(store)[0]?.tags).toEqual([]);
    });

    test('given a session in the bin, when listed, then it comes only when asked for, and is back when restored', () => {
      begin(store, 's1').close(summary, 1);
      store.tags('s1', ['endurance']);
      expect(store.bin('s1', 5000)).toEqual({ ok: true, value: null });
      expect(rows(store)).toEqual([]);
      const all = store.list({ includeBinned: true });
      expect(all.ok && all.value).toMatchObject([{ id: 's1', binnedAt_epochMs: 5000, tags: ['endurance'] }]);
      expect(store.load('s1').ok).toBe(true);
      expect(store.bin('s1', null)).toEqual({ ok: true, value: null });
      expect(rows(store)).toMatchObject([{ id: 's1', binnedAt_epochMs: null, tags: ['endurance'] }]);
    });

    test('given a session that is recorded or kept, when put into the bin, then it is refused with the reason', () => {
      const writer = begin(store, 's1');
      const refused = (why: string) => ({ ok: false, error: { kind: 'session-in-use', id: 's1', why } });
      expect(store.bin('s1', 5000)).toEqual(refused('recording'));
      writer.close(summary, 1);
      store.keep('s1', true);
      expect(store.bin('s1', 5000)).toEqual(refused('kept'));
      expect(rows(store)[0]?.binnedAt_epochMs).toBeNull();
    });

    // The bin as store-contract.ts states it: 30 days after it was put there, whatever the session holds.
    test.each([
      { title: '30 days to the ms', days: 30, goes: false },
      { title: '30 days and 1 ms', days: 30 + 1 / DAY_MS, goes: true },
    ])('given a session with a run in the bin for $title, when pruned, then it goes: $goes', ({ days, goes }) => {
      const now = 1_760_000_000_000;
      begin(store, 's1', now - 31 * DAY_MS).close(summary, 1);
      store.bin('s1', Math.round(now - days * DAY_MS));
      expect(store.prune(now)).toEqual({ ok: true, value: goes ? ['s1'] : [] });
      expect(store.load('s1').ok).toBe(!goes);
    });

    test('given an id that is taken, when started again, then it throws', () => {
      begin(store, 's1');
      expect(() => store.start(sessionStart('s1'))).toThrow(/new session id/);
    });

    // The retention rule as store-contract.ts states it: 14 days, no run, no abort, not kept, closed.
    test.each([
      { title: 'nothing in it, 15 days', days: 15, goes: true },
      { title: 'nothing in it, 14 days less 1 ms', days: 14 - 1 / DAY_MS, goes: false },
      { title: 'nothing in it, 14 days to the ms', days: 14, goes: false },
      { title: 'kept by hand', days: 400, keep: true, goes: false },
      { title: 'a run', days: 400, runs: summary.runs, goes: false },
      { title: 'an abort', days: 400, aborts: 1, goes: false },
      { title: 'only a caution', days: 400, alarms: 1, goes: true },
      { title: 'still open', days: 400, isOpen: true, goes: false },
    ])(
      'given a session with $title, when pruned, then it goes: $goes',
      ({ days, keep, runs, aborts, alarms, isOpen, goes }) => {
        const now = 1_760_000_000_000;
        const writer = begin(store, 'old', Math.round(now - days * DAY_MS));
        const its = { ...noSummary, runs: runs ?? [], aborts: aborts ?? 0, alarms: alarms ?? 0 };
        record(writer, madeUpJournal(1));
        if (isOpen) writer.commit(its);
        else writer.close(its, now);
        if (keep) store.keep('old', true);
        begin(store, 'today', now);
        expect(store.prune(now)).toEqual({ ok: true, value: goes ? ['old'] : [] });
        expect(rows(store).some((row) => row.id === 'old')).toBe(!goes);
        expect(store.load('old').ok).toBe(!goes);
      },
    );

    test('given a place to write, when asked, then free bytes are more than none', () => {
      expect(store.freeBytes()).toBeGreaterThan(0);
    });
  });
}

/** Against the journal itself. */
function expectScan(store: SessionStore, entries: readonly Entry[], column: number, window: ViewWindow): void {
  const viewed = store.viewRaw('s1', 1, column, window);
  if (!viewed.ok) throw new Error(viewed.error.kind);
  const { edges_us, min, max, mean, count, ends } = viewed.value;
  const { from_us, to_us, pixels } = window;
  expect([edges_us[0], edges_us[pixels]]).toEqual([from_us, to_us]);
  const width_us = (to_us - from_us) / pixels;
  for (let p = 0; p < pixels; p++) {
    expect(Math.abs(edges_us[p]! - (from_us + p * width_us))).toBeLessThanOrEqual(0.2501 * width_us);
    const samples = entries.flatMap((entry) =>
      entry.kind === 'frame' && entry.group === 1 && entry.t_us >= edges_us[p]! && entry.t_us < edges_us[p + 1]!
        ? entry.raw[column]! >= -RAW_MAX
          ? [entry.raw[column]!]
          : []
        : [],
    );
    expect(count[p]).toBe(samples.length);
    if (samples.length === 0) continue;
    expect([min[p], max[p]]).toEqual([Math.min(...samples), Math.max(...samples)]);
    expect(Math.abs(mean[p]! - samples.reduce((sum, each) => sum + each, 0) / samples.length)).toBeLessThan(0.51);
    if (ends !== null) expect([ends.first[p], ends.last[p]]).toEqual([samples[0], samples.at(-1)]);
  }
}

function begin(store: SessionStore, id: string, startedAt_epochMs?: number): SessionWriter {
  const started = store.start(sessionStart(id, startedAt_epochMs));
  if (!started.ok) throw new Error(`start failed: ${started.error.kind}`);
  return started.value;
}

function rows(store: SessionStore) {
  const listed = store.list();
  if (!listed.ok) throw new Error(`list failed: ${listed.error.kind}`);
  return listed.value;
}

function replayed(store: SessionStore, id: string, options?: Parameters<SessionStore['replay']>[2]): Entry[] {
  const sink = new EntrySink();
  const done = store.replay(id, sink, options);
  expect(done).toEqual({ ok: true, value: null });
  return sink.entries;
}

function ordOf(entry: Entry): number {
  return entry.kind === 'event' ? entry.event.ord : entry.ord;
}

function timeOf(entry: Entry): number {
  return entry.kind === 'event' ? entry.event.t_us : entry.t_us;
}
