/** One session out into a file, and in again: nothing differs. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { openFileReadOnly, openStore } from '../../../electron/host/store/open-store.ts';
import { exportSession, importSession } from '../../../electron/host/store/session-file.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import { EntrySink, inputsOf, madeUpJournal, noSummary, record, sessionStart } from '../../support/journal-samples.ts';

let folder: string;
let store: SqliteStore;
let other: SqliteStore;
let file: string;
const entries = madeUpJournal(120, 31);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-copy-'));
  file = join(folder, 's1.sqlite');
  store = mustOpen('a');
  other = mustOpen('b');
});
afterEach(() => {
  store.close();
  other.close();
  rmSync(folder, { recursive: true });
});

describe.each([{ isClosed: true }, { isClosed: false }])('given a session, closed: $isClosed', ({ isClosed }) => {
  beforeEach(() => {
    recordInto(store, 's0', madeUpJournal(40, 5), true);
    recordInto(store, 's1', entries, isClosed);
    store.note('s1', 'plugs changed');
    store.tags('s1', ['endurance']);
  });

  test('when copied out and taken in, then verify, replay, events, views, note and tags are the same', () => {
    // In the other store it has another number.
    recordInto(other, 'first', madeUpJournal(3), true);
    const out = exportSession(store, 's1', file);
    expect(out).toMatchObject({ ok: true, value: { id: 's1' } });
    expect(readdirSync(folder).filter((name) => name.startsWith('s1'))).toEqual(['s1.sqlite']);
    // Not in write-ahead mode: bytes 18 and 19 of the header are 1 ("The Database Header", fileformat2.html).
    expect([...readFileSync(file).subarray(18, 20)]).toEqual([1, 1]);
    expect(importSession(file, other)).toMatchObject({ ok: true, value: [{ id: 's1' }] });
    const verified = store.verify('s1');
    expect(verified).toMatchObject({ value: { isWhole: true } });
    expect(other.verify('s1')).toEqual(verified);
    for (const each of [store, other]) {
      const sink = new EntrySink();
      each.replay('s1', sink);
      expect(sink.entries).toEqual(inputsOf(entries));
    }
    const [a, b] = [store.load('s1'), other.load('s1')];
    if (!a.ok || !b.ok) throw new Error('load failed');
    expect(b.value.events).toEqual(a.value.events);
    expect(b.value.rig).toEqual(a.value.rig);
    expect({ ...b.value.row, isOpen: true }).toEqual({
      ...a.value.row,
      isOpen: true,
      breakNote: b.value.row.breakNote,
    });
    const window = { from_us: 0, to_us: 120e6, pixels: 30 };
    expect(other.viewRaw('s1', 1, 0, window)).toEqual(store.viewRaw('s1', 1, 0, window));
  });

  test('when taken in twice, then it is there once', () => {
    exportSession(store, 's1', file);
    expect(importSession(file, other).ok).toBe(true);
    expect(importSession(file, other).ok).toBe(true);
    expect(other.list()).toMatchObject({ value: [{ id: 's1' }] });
  });

  test('when another session has its name, then both are left as they are', () => {
    exportSession(store, 's1', file);
    recordInto(other, 's1', madeUpJournal(2, 77), true);
    const before = other.verify('s1');
    expect(importSession(file, other)).toMatchObject({ ok: false, error: { kind: 'exists', id: 's1' } });
    expect(other.verify('s1')).toEqual(before);
  });

  test('when a block of the file is changed, then it is refused, and nothing is taken in', () => {
    exportSession(store, 's1', file);
    const db = new Database(file);
    db.exec('UPDATE block SET frames = frames - 1 WHERE rowid = 1');
    db.close();
    expect(importSession(file, other)).toMatchObject({ ok: false, error: { kind: 'damaged', path: file } });
    expect(other.list()).toEqual({ ok: true, value: [] });
  });
});

test('given a file of several sessions of which the last one clashes, when taken in, then none of them is', () => {
  for (const id of ['s1', 's2', 's3']) recordInto(store, id, madeUpJournal(2, 5), true);
  store.close();
  recordInto(other, 's3', madeUpJournal(2, 6), true);
  const whole = join(folder, 'a', 'runstand.sqlite');
  expect(importSession(whole, other)).toMatchObject({ ok: false, error: { kind: 'exists', id: 's3' } });
  expect(other.list()).toMatchObject({ ok: true, value: [{ id: 's3' }] });
  expect(other.verify('s3')).toMatchObject({ value: { isWhole: true } });
  store = mustOpen('a');
});

test('given a file of that name, when copied out, then it is left as it is', () => {
  recordInto(store, 's1', entries, true);
  writeFileSync(file, 'mine');
  expect(exportSession(store, 's1', file)).toMatchObject({ ok: false, error: { kind: 'exists', path: file } });
  expect(readFileSync(file, 'utf8')).toBe('mine');
});

test('given a name that nobody has or a folder that is not there, when copied out, then no file is left', () => {
  expect(exportSession(store, 'none', file)).toMatchObject({ ok: false, error: { kind: 'session-not-found' } });
  expect(existsSync(file) || existsSync(`${file}.part`)).toBe(false);
  recordInto(store, 's1', madeUpJournal(1), true);
  const nowhere = join(folder, 'none', 's1.sqlite');
  expect(exportSession(store, 's1', nowhere)).toMatchObject({ ok: false, error: { kind: 'folder-missing' } });
});

test('given a file that is no recording, when taken in, then it is refused', () => {
  writeFileSync(file, 'no database '.repeat(100));
  expect(importSession(file, store)).toMatchObject({ ok: false, error: { kind: 'not-a-database' } });
  expect(openFileReadOnly(file).ok).toBe(false);
});

function mustOpen(name: string): SqliteStore {
  const opened = openStore(join(folder, name));
  if (!opened.ok) throw new Error(opened.error.kind);
  return opened.value;
}

function recordInto(to: SqliteStore, id: string, its: typeof entries, isClosed: boolean): void {
  const started = to.start(sessionStart(id));
  if (!started.ok) throw new Error(started.error.kind);
  for (let from = 0; from < its.length; from += 200) {
    record(started.value, its.slice(from, from + 200));
    started.value.commit(noSummary);
  }
  if (isClosed) started.value.close(noSummary, 1_760_000_120_000);
}
