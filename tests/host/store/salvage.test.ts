/** What a damaged file still has comes out of it, and no more than it had. */
import { mkdtempSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { DATABASE_NAME, openStore, openStoreReadOnly } from '../../../electron/host/store/open-store.ts';
import { type SalvageReport, salvage } from '../../../electron/host/store/salvage.ts';
import {
  EntrySink,
  eventsOf,
  inputsOf,
  madeUpJournal,
  noSummary,
  record,
  sessionStart,
} from '../../support/journal-samples.ts';

let folder: string;
let path: string;
let target: string;
const entries = madeUpJournal(500, 41);
const broken = madeUpJournal(20, 42);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-salvage-'));
  path = join(folder, DATABASE_NAME);
  target = join(folder, 'saved');
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(opened.error.kind);
  const store = opened.value;
  for (const [id, its] of [
    ['gone', madeUpJournal(60, 43)],
    ['s1', entries],
    ['s2', broken],
  ] as const) {
    const started = store.start(sessionStart(id));
    if (!started.ok) throw new Error(started.error.kind);
    for (let from = 0; from < its.length; from += 150) {
      record(started.value, its.slice(from, from + 150));
      started.value.commit(noSummary);
    }
    if (id !== 's2') started.value.close(noSummary, 5);
  }
  store.note('s1', 'the long one');
  store.close();
  // Its pages stay in the file, free; what was deleted must not come back.
  const db = new Database(path);
  db.pragma('foreign_keys = ON');
  db.exec("DELETE FROM session WHERE id = 'gone'");
  db.pragma('wal_checkpoint(TRUNCATE)');
  db.pragma('journal_mode = DELETE');
  db.close();
});
afterEach(() => rmSync(folder, { recursive: true }));

test('given a file that is whole, when salvaged, then all of it is saved, and verify says so', () => {
  const report = mustSalvage();
  expect(report.lost).toEqual([]);
  expect(
    report.sessions.map(({ id, framesLost, eventsLost, findings }) => [id, framesLost, eventsLost, findings]),
  ).toEqual([
    ['s1', 0, 0, []],
    ['s2', 0, 0, []],
  ]);
  expectSaved('s1', entries, entries);
  expectSaved('s2', broken, broken);
});

test('given the root of the table of blocks overwritten, when salvaged, then every block is found in its page', () => {
  overwrite((db) => [rootOf(db, 'block')]);
  const report = mustSalvage();
  expect(report.sessions.find((each) => each.id === 's1')).toMatchObject({ framesLost: 0, findings: [] });
  expectSaved('s1', entries, entries);
});

test('given a page in the middle of a block overwritten, when salvaged, then only that block is lost, and it is said which', () => {
  overwrite(() => []);
  const bytes = readFileSync(path);
  const db = new Database(path, { readonly: true });
  const block = db
    .prepare('SELECT first_ord, last_ord, frames, body FROM block WHERE session = 2 ORDER BY last_ord LIMIT 1 OFFSET 2')
    .get() as {
    first_ord: number;
    last_ord: number;
    frames: number;
    body: Buffer;
  };
  db.close();
  const at = bytes.indexOf(block.body.subarray(9000, 9100));
  expect(at).toBeGreaterThan(0);
  bytes.fill(0xaa, at - (at % 4096), at - (at % 4096) + 4096);
  writeFileSync(path, bytes);
  const report = mustSalvage();
  const s1 = report.sessions.find((each) => each.id === 's1')!;
  expect(s1.framesLost).toBe(block.frames);
  expect(s1.eventsLost).toBe(0);
  // Events of that time are saved: the gaps lie between them.
  expect(s1.findings.length).toBeGreaterThan(0);
  expectSaved(
    's1',
    entries,
    entries.filter((entry) => entry.kind === 'event' || entry.ord < block.first_ord || entry.ord > block.last_ord),
  );
});

test('given a file cut off by its last quarter, when salvaged, then what lies before the cut is saved', () => {
  truncateSync(path, 4096 * Math.floor((3 * readFileSync(path).length) / 4096 / 4));
  const report = mustSalvage();
  const saved = report.sessions.find((each) => each.id === 's1');
  expect(saved?.frames ?? 0).toBeGreaterThan(1000);
  expect(saved!.framesLost).toBeGreaterThan(0);
  expect(saved!.findings.length).toBeGreaterThan(0);
});

test('given the rig sheets overwritten, when salvaged, then it says what was left behind', () => {
  overwrite((db) => [rootOf(db, 'session_rig')]);
  const report = mustSalvage();
  expect(report.sessions).toEqual([]);
  expect(report.lost).toEqual([
    expect.stringMatching(/^Session s1: its rig sheet cannot be read; \d+ blocks/),
    expect.stringMatching(/^Session s2: /),
  ]);
});

test('given a header overwritten, when salvaged, then nothing is saved, and it says so', () => {
  overwrite(() => [1]);
  const report = mustSalvage();
  expect(report.sessions).toEqual([]);
  expect(report.lost[0]).toBe('The file does not open as a database: no list of sessions.');
  expect(report.lost.length).toBe(3);
});

test('given a file of an older version, when salvaged, then it says so, twice, and nothing is begun', () => {
  const old = fileURLToPath(new URL('./fixtures/v1.sqlite', import.meta.url));
  for (let round = 0; round < 2; round++) {
    expect(salvage(old, target)).toMatchObject({ ok: false, error: { kind: 'damaged', path: old } });
  }
});

describe('given a place that will not do', () => {
  test('when the folder has a database, then it is left as it is', () => {
    expect(salvage(path, folder)).toMatchObject({ ok: false, error: { kind: 'exists', path } });
  });

  test('when there is no damaged file, then the error says so', () => {
    expect(salvage(join(folder, 'none.sqlite'), target)).toMatchObject({
      ok: false,
      error: { kind: 'folder-missing' },
    });
  });
});

function mustSalvage(): SalvageReport {
  const before = readFileSync(path);
  const done = salvage(path, target);
  if (!done.ok) throw new Error(done.error.kind);
  expect(readFileSync(path).equals(before)).toBe(true);
  return done.value;
}

/** What was saved is a part of what was recorded, each entry as it was. */
function expectSaved(id: string, recorded: typeof entries, saved: typeof entries): void {
  const opened = openStoreReadOnly(target);
  if (!opened.ok) throw new Error(opened.error.kind);
  const sink = new EntrySink();
  expect(opened.value.replay(id, sink)).toEqual({ ok: true, value: null });
  expect(sink.entries).toEqual(inputsOf(saved));
  const loaded = opened.value.load(id);
  expect(loaded.ok && loaded.value.events).toEqual(eventsOf(recorded));
  if (id === 's1') expect(loaded.ok && loaded.value.row.note).toBe('the long one');
  opened.value.close();
}

function rootOf(db: Database.Database, table: string): number {
  return db.prepare('SELECT rootpage FROM sqlite_schema WHERE name = ?').pluck().get(table) as number;
}

function overwrite(pages: (db: Database.Database) => number[]): void {
  const db = new Database(path, { readonly: true });
  const numbers = pages(db);
  db.close();
  const bytes = readFileSync(path);
  for (const number of numbers) bytes.fill(0xaa, (number - 1) * 4096, number * 4096);
  writeFileSync(path, bytes);
}
