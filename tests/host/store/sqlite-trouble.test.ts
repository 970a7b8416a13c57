/** A disk that is full for a while, and bytes that change behind our back. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { openBlock, packBlock } from '../../../electron/host/store/block-file.ts';
import { DATABASE_NAME, openStore } from '../../../electron/host/store/open-store.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import type { SessionWriter, VerifyReport } from '../../../electron/host/store/store-contract.ts';
import { StoredBlocks } from '../../../electron/host/store/stored-blocks.ts';
import {
  type Entry,
  EntrySink,
  eventsOf,
  inputsOf,
  madeUpJournal,
  noSummary,
  record,
  sessionStart,
} from '../../support/journal-samples.ts';

let folder: string;
let store: SqliteStore;
let writer: SessionWriter;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-trouble-'));
  store = mustOpen();
});
afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true });
});

describe('given a disk with room for a few pages more', () => {
  test('when it fills, then commits say so and hold the data; when room returns, then everything is there once', () => {
    begin();
    store.limitPages(30);
    const entries = madeUpJournal(60);
    let failures = 0;
    for (let from = 0; from < entries.length; from += 50) {
      record(writer, entries.slice(from, from + 50));
      const done = writer.commit(noSummary);
      if (done.ok) continue;
      failures++;
      expect(done.error).toEqual({ kind: 'disk-full', path: join(folder, DATABASE_NAME) });
    }
    expect(failures).toBeGreaterThan(3);
    expect(writer.held_s).toBeGreaterThan(1);
    // What was written before can still be read.
    expect(store.verify('s1')).toMatchObject({ value: { isWhole: true } });

    store.limitPages(1_000_000);
    expect(writer.commit(noSummary).ok).toBe(true);
    expect(writer.held_s).toBe(0);
    expect(replayed()).toEqual(inputsOf(entries));
    expect(loadedEvents()).toEqual(eventsOf(entries));
    expect(verified()).toMatchObject({ isWhole: true });
  });

  test('when closing fails, then the session is still open, and closing again closes it', () => {
    begin();
    store.limitPages(1);
    const entries = madeUpJournal(30);
    record(writer, entries);
    expect(writer.close(noSummary, 5).ok).toBe(false);
    expect(store.list()).toMatchObject({ value: [{ isOpen: true }] });
    store.limitPages(1_000_000);
    expect(writer.close(noSummary, 5).ok).toBe(true);
    expect(store.list()).toMatchObject({ value: [{ isOpen: false }] });
    expect(replayed()).toEqual(inputsOf(entries));
  });
});

describe('given a disk that is full before the session starts', () => {
  test('when it starts, then it holds its data, and the first good commit has the session too', () => {
    // Fills what is free in the file, so that not even the session's row has a place.
    begin('filler');
    store.limitPages(1);
    for (let i = 0; i < 20 && writer.commit(noSummary).ok; i++) {
      record(writer, madeUpJournal(1, i, i * 200, i * 1e6));
    }
    begin('s1');
    const entries = madeUpJournal(2);
    record(writer, entries);
    expect(writer.commit(noSummary)).toMatchObject({ ok: false, error: { kind: 'disk-full' } });
    expect(store.list()).toMatchObject({ value: [{ id: 'filler' }] });
    store.limitPages(1_000_000);
    expect(writer.commit(noSummary).ok).toBe(true);
    expect(replayed()).toEqual(inputsOf(entries));
  });
});

describe('given another program that holds the write lock', () => {
  test('when committed, then it is locked; when the lock goes, then everything is there once', () => {
    begin();
    const entries = madeUpJournal(1);
    record(writer, entries);
    const other = new Database(join(folder, DATABASE_NAME));
    other.exec('BEGIN IMMEDIATE');
    expect(writer.commit(noSummary)).toMatchObject({ ok: false, error: { kind: 'locked' } });
    other.exec('ROLLBACK');
    other.close();
    expect(writer.commit(noSummary).ok).toBe(true);
    expect(replayed()).toEqual(inputsOf(entries));
  });
});

describe('given a recorded session that is changed behind our back', () => {
  // Long enough for several long blocks.
  const entries = madeUpJournal(150);
  beforeEach(() => {
    begin();
    for (let from = 0; from < entries.length; from += 150) {
      record(writer, entries.slice(from, from + 150));
      writer.commit(noSummary);
    }
    writer.close(noSummary, 1);
    expect(blockIds().length).toBeGreaterThan(3);
  });

  test('when one bit of a block flips, then verify names its place and its time, and replay stops at it', () => {
    change((db) => {
      const body = db.prepare('SELECT body FROM block WHERE rowid = ?').pluck().get(blockIds()[2]) as Buffer;
      body[body.length >> 1]! ^= 0x10;
      db.prepare('UPDATE block SET body = ? WHERE rowid = ?').run(body, blockIds()[2]);
    });
    const report = verified();
    expect(report.isWhole).toBe(false);
    expect(report.findings[0]).toMatch(
      /^block at ord \d+ to \d+ \(\d+\.\d{3} s to \d+\.\d{3} s\) is damaged: checksum is/,
    );
    expect(report.findings[1]).toMatch(/^\d+ frames are there, \d+ were recorded$/);
    expect(report.findings).toHaveLength(2);
    const sink = new EntrySink();
    expect(store.replay('s1', sink)).toMatchObject({ ok: false, error: { kind: 'damaged' } });
    expect(sink.entries.length).toBeGreaterThan(5000);
    expect(sink.entries).toEqual(inputsOf(entries).slice(0, sink.entries.length));
  });

  test.each(['first_ord', 'last_ord', 'first_us', 'last_us', 'frames', 'previous', 'checksum'])(
    'when %s of a block changes, then verify finds it',
    (column) => {
      change((db) => db.prepare(`UPDATE block SET ${column} = ${column} + 1 WHERE rowid = ?`).run(blockIds()[1]));
      expect(verified().findings.some((finding) => finding.startsWith('block at ord'))).toBe(true);
    },
  );

  test('when a block is written anew with a frame changed and its own checksum right, then the chain finds it', () => {
    change((db) => {
      const [block] = new StoredBlocks(db, 1).inOrder();
      const sections = openBlock(block!).sections.map((section) => {
        const values = Array.from({ length: section.columns }, (_, column) => section.column(column));
        if (values[0] !== undefined) values[0][5]! += 1;
        const { group, columns, frames } = section;
        return { group, columns, ords: section.ords(), times_us: section.times_us(), values, from: 0, to: frames };
      });
      db.prepare('UPDATE block SET body = ? WHERE rowid = ?').run(
        packBlock(block!, sections, true).body,
        blockIds()[0],
      );
    });
    expect(verified().findings).toEqual([expect.stringMatching(/does not hold the frames that were recorded$/)]);
  });

  test('when two blocks change places, then verify finds it', () => {
    change((db) => {
      const swap = 'UPDATE block SET body = (SELECT body FROM block WHERE rowid = ?) WHERE rowid = ?';
      db.exec('CREATE TEMP TABLE kept AS SELECT rowid AS id, body FROM block');
      db.prepare(swap).run(blockIds()[0], blockIds()[1]);
      db.prepare('UPDATE block SET body = (SELECT body FROM kept WHERE id = ?) WHERE rowid = ?').run(
        blockIds()[1],
        blockIds()[0],
      );
    });
    expect(verified().findings.filter((finding) => finding.includes('is damaged'))).toHaveLength(2);
  });

  test('when a block is deleted, then verify names the place and the gap', () => {
    change((db) => db.prepare('DELETE FROM block WHERE rowid = ?').run(blockIds()[1]));
    const { findings } = verified();
    expect(findings[0]).toMatch(/^block at ord \d+ .* does not follow ord \d+: a block is missing/);
    expect(findings.some((finding) => /^ord \d+ to \d+ missing$/.test(finding))).toBe(true);
  });

  test('when the last block is deleted, then verify finds it', () => {
    change((db) => db.prepare('DELETE FROM block WHERE rowid = ?').run(blockIds().at(-1)));
    expect(verified().findings[0]).toBe('the last block is not the one last recorded');
  });

  test.each([
    { title: 'its text', sql: `UPDATE event SET body = replace(body, 'mark', 'nark') WHERE number = 2` },
    { title: 'its time', sql: 'UPDATE event SET t_us = t_us + 0.5 WHERE number = 2' },
    { title: 'its ord', sql: 'UPDATE event SET ord = ord + 1 WHERE number = 2' },
  ])('when $title changes in an event, then verify names the event', ({ sql }) => {
    change((db) => db.exec(sql));
    expect(verified().findings[0]).toMatch(/^event 2 \(operator, ord \d+, \d+\.\d{3} s\) is damaged$/);
  });

  test('when an event is deleted, then verify names it', () => {
    change((db) => db.prepare('DELETE FROM event WHERE number = 4').run());
    expect(verified().findings[0]).toBe('event 4 to 4 missing');
  });
});

/** In their order. */
function blockIds(): number[] {
  const db = new Database(join(folder, DATABASE_NAME), { readonly: true });
  const ids = db.prepare('SELECT rowid FROM block ORDER BY last_ord').pluck().all() as number[];
  db.close();
  return ids;
}

function begin(id = 's1'): void {
  const started = store.start(sessionStart(id));
  if (!started.ok) throw new Error(`start failed: ${started.error.kind}`);
  writer = started.value;
}

function mustOpen(): SqliteStore {
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(`open failed: ${opened.error.kind}`);
  return opened.value;
}

function change(work: (db: Database.Database) => unknown): void {
  const db = new Database(join(folder, DATABASE_NAME));
  work(db);
  db.close();
}

function replayed(): Entry[] {
  const sink = new EntrySink();
  expect(store.replay('s1', sink)).toEqual({ ok: true, value: null });
  return sink.entries;
}

function loadedEvents() {
  const loaded = store.load('s1');
  if (!loaded.ok) throw new Error(loaded.error.kind);
  return loaded.value.events;
}

function verified(): VerifyReport {
  const report = store.verify('s1');
  if (!report.ok) throw new Error(report.error.kind);
  return report.value;
}
