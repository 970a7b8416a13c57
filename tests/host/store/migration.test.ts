/**
 * Files of older versions. `fixtures/v1.sqlite` to `v3.sqlite` were written by
 * those versions from `madeUpJournal`: session `closed` of 8 s (seed 11), kept
 * and with a note, and `broken` of 3 s (seed 12) without an end.
 */
import { copyFileSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { DATABASE_NAME, openFileReadOnly, openStore } from '../../../electron/host/store/open-store.ts';
import { SCHEMA_VERSION } from '../../../electron/host/store/schema.ts';
import { BREAK_NOTE } from '../../../electron/host/store/session-table.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import { EntrySink, eventsOf, inputsOf, madeUpJournal } from '../../support/journal-samples.ts';

const closed = madeUpJournal(8, 11);
const broken = madeUpJournal(3, 12);

describe.each([
  { version: 1, tags: [], blocks: 11 },
  { version: 2, tags: ['endurance'], blocks: 11 },
  // Long blocks: one of the session that ended, and what broke off in short ones.
  { version: 3, tags: ['endurance'], blocks: 1 },
])('given a file of version $version', ({ version, tags, blocks }) => {
  const fixture = fileURLToPath(new URL(`./fixtures/v${version}.sqlite`, import.meta.url));
  let folder: string;
  let path: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'runstand-migrate-'));
    path = join(folder, DATABASE_NAME);
    copyFileSync(fixture, path);
  });
  afterEach(() => rmSync(folder, { recursive: true }));

  test('when opened for recording, then all of it is there, whole, and a copy of the old file stays', () => {
    const opened = openStore(folder);
    if (!opened.ok) throw new Error(opened.error.kind);
    expectAll(opened.value);
    opened.value.close();
    const db = new Database(path, { readonly: true });
    expect(db.pragma('user_version', { simple: true })).toBe(SCHEMA_VERSION);
    expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
    expect(db.prepare('SELECT count(*) FROM level').pluck().get()).toBeGreaterThan(0);
    db.close();
    const copy = join(folder, `runstand-before-update-from-${version}.sqlite`);
    const old = new Database(copy, { readonly: true });
    expect(old.pragma('user_version', { simple: true })).toBe(version);
    expect(old.prepare('SELECT count(*) FROM block').pluck().get()).toBeGreaterThanOrEqual(blocks);
    old.close();
  });

  test('when opened for reading, then all of it is there, and the file is left as it is', () => {
    const opened = openFileReadOnly(path);
    if (!opened.ok) throw new Error(opened.error.kind);
    expectAll(opened.value);
    opened.value.close();
    expect(readFileSync(path).equals(readFileSync(fixture))).toBe(true);
    expect(readdirSync(folder)).toEqual([DATABASE_NAME]);
  });

  // Version 3 has long blocks, one of which is all of the closed session.
  if (version <= 2)
    test('when a short block of it is damaged, then the rest is brought over, and verify names what is missing', () => {
      const db = new Database(path);
      const block = db.prepare('SELECT first_ord, last_ord FROM block WHERE session = 1 AND number = 4').get() as {
        first_ord: number;
        last_ord: number;
      };
      db.exec("UPDATE block SET body = CAST(x'00' || substr(body, 2) AS BLOB) WHERE session = 1 AND number = 4");
      db.close();
      const opened = openStore(folder);
      if (!opened.ok) throw new Error(opened.error.kind);
      const report = opened.value.verify('closed');
      expect(report.ok && report.value.isWhole).toBe(false);
      expect(report.ok && report.value.findings[0]).toMatch(new RegExp(`^ord ${block.first_ord} to \\d+ missing$`));
      expect(opened.value.verify('broken')).toMatchObject({ value: { isWhole: true } });
      opened.value.close();
    });

  test('when an event of it is damaged, then it is brought over as it is, and verify names it', () => {
    const db = new Database(path);
    db.exec("UPDATE event SET kind = 'table', body = '{cut off' WHERE session = 1 AND number = 2");
    db.close();
    const opened = openStore(folder);
    if (!opened.ok) throw new Error(opened.error.kind);
    const report = opened.value.verify('closed');
    expect(report.ok && report.value.findings).toEqual([expect.stringMatching(/^event 2 \(table, .* is damaged$/)]);
    opened.value.close();
  });

  function expectAll(store: SqliteStore): void {
    expect(store.list()).toMatchObject({
      value: [
        { id: 'broken', breakNote: BREAK_NOTE, isOpen: false },
        {
          id: 'closed',
          breakNote: '',
          isKept: true,
          note: `a file of version ${version}`,
          tags,
          duration_us: 8_000_000,
          alarms: 8,
          runs: [{ run: 1, peakSpeed_rpm: 6312 }],
        },
      ],
    });
    for (const [id, entries] of [
      ['closed', closed],
      ['broken', broken],
    ] as const) {
      const sink = new EntrySink();
      expect(store.replay(id, sink)).toEqual({ ok: true, value: null });
      expect(sink.entries).toEqual(inputsOf(entries));
      const loaded = store.load(id);
      expect(loaded.ok && loaded.value.events).toEqual(eventsOf(entries));
      expect(loaded.ok && loaded.value.rig.name).toBe('Lapwing 120');
      expect(store.verify(id)).toMatchObject({ value: { isWhole: true, findings: [] } });
    }
  }
});
