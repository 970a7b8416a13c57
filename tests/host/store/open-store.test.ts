/** Opening: whose file it is, whether it is whole, and that nothing of somebody else is touched. */
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { wordsOf } from '../../../electron/host/store/error-words.ts';
import {
  DATABASE_NAME,
  openFileReadOnly,
  openStore,
  openStoreReadOnly,
  openStoreSettingAside,
  setAside,
} from '../../../electron/host/store/open-store.ts';
import {
  APPLICATION_ID,
  migrate,
  migrateKeepingCopy,
  migrations,
  SCHEMA_VERSION,
} from '../../../electron/host/store/schema.ts';
import { BREAK_NOTE } from '../../../electron/host/store/session-table.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import { EntrySink, inputsOf, madeUpJournal, noSummary, record, sessionStart } from '../../support/journal-samples.ts';

const isRoot = process.getuid?.() === 0;
let folder: string;
let path: string;
const open: SqliteStore[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-open-'));
  path = join(folder, DATABASE_NAME);
});
afterEach(() => {
  for (const store of open.splice(0)) store.close();
  rmSync(folder, { recursive: true });
});

describe('given no file', () => {
  test('when opened, then folder and file are made, with our id and version in the header', () => {
    const deep = join(folder, 'a', 'b');
    mustOpen(deep).close();
    const header = readFileSync(join(deep, DATABASE_NAME)).subarray(0, 100);
    expect(header.readUInt32BE(68)).toBe(APPLICATION_ID);
    expect(header.readUInt32BE(60)).toBe(SCHEMA_VERSION);
  });

  test('when opened for reading, then the error says that it is missing, and nothing is made', () => {
    expect(openStoreReadOnly(join(folder, 'none'))).toMatchObject({ ok: false, error: { kind: 'folder-missing' } });
    expect(existsSync(join(folder, 'none'))).toBe(false);
  });

  test('when a file stands where the folder should be, then the error says so', () => {
    writeFileSync(join(folder, 'file'), 'x');
    const opened = openStore(join(folder, 'file'));
    expect(opened).toMatchObject({ ok: false, error: { kind: expect.stringMatching(/^(io|folder-missing)$/) } });
  });

  test('when the file has no bytes, then it is begun', () => {
    writeFileSync(path, '');
    mustOpen(folder);
  });

  // A host killed while SQLite had written only its own empty header left a file that was refused as foreign for ever.
  test('when an unfinished file is left from a host killed while making it, then a new one is made', () => {
    const unfinished = new Database(`${path}.new`);
    unfinished.pragma('auto_vacuum = INCREMENTAL');
    unfinished.close();
    writeFileSync(`${path}.new-journal`, 'cut off');
    mustOpen(folder);
    expect(readdirSync(folder).filter((name) => name.includes('.new'))).toEqual([]);
  });
});

describe('given a file that is not ours', () => {
  test.each([
    { title: 'text', bytes: Buffer.from('time,rpm\n0,6100\n'.repeat(100)) },
    { title: 'one byte', bytes: Buffer.from('S') },
    { title: 'zeros', bytes: Buffer.alloc(8192) },
  ])('when it holds $title, then it is no database, and left as it is', ({ bytes }) => {
    writeFileSync(path, bytes);
    expect(openStore(folder)).toEqual({ ok: false, error: { kind: 'not-a-database', path } });
    expect(openStoreReadOnly(folder)).toMatchObject({ ok: false, error: { kind: 'not-a-database' } });
    expect(readFileSync(path).equals(bytes)).toBe(true);
  });

  test('when it is the database of another program, then its id is named, and it is left as it is', () => {
    const other = new Database(path);
    other.exec('CREATE TABLE run (x); PRAGMA application_id = 305419896');
    other.close();
    const before = readFileSync(path);
    const error = { kind: 'foreign-database', path, applicationId: 0x12345678 } as const;
    expect(openStore(folder)).toEqual({ ok: false, error });
    expect(openStoreReadOnly(folder)).toEqual({ ok: false, error });
    expect(readFileSync(path).equals(before)).toBe(true);
    expect(wordsOf(error).sentence).toContain('0x12345678');
  });

  test('when it is a folder, then it is no database', () => {
    mkdirSync(path);
    expect(openStore(folder)).toEqual({ ok: false, error: { kind: 'not-a-database', path } });
  });
});

describe('given a file of a newer version', () => {
  test('when opened, then both versions are named, and it is left as it is', () => {
    mustOpen(folder).close();
    const db = new Database(path);
    db.pragma(`user_version = ${SCHEMA_VERSION + 1}`);
    db.close();
    const before = readFileSync(path);
    const error = { kind: 'schema-too-new', path, found: SCHEMA_VERSION + 1, supported: SCHEMA_VERSION };
    expect(openStore(folder)).toEqual({ ok: false, error });
    expect(openStoreReadOnly(folder)).toEqual({ ok: false, error });
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  test('when the new version is still in the write-ahead log, then it is refused all the same', () => {
    mustOpen(folder).close();
    const db = new Database(path);
    db.pragma(`user_version = ${SCHEMA_VERSION + 1}`);
    expect(readFileSync(path).readUInt32BE(60)).toBe(SCHEMA_VERSION);
    expect(openStore(folder)).toMatchObject({ ok: false, error: { kind: 'schema-too-new' } });
    db.close();
  });
});

describe('given a file of an older version', () => {
  const steps = ['CREATE TABLE a (x INTEGER) STRICT', 'CREATE TABLE b (x INTEGER) STRICT; INSERT INTO b SELECT 7'];

  test('when migrated, then only the missing steps run, and a copy of the old file stays beside it', () => {
    const db = new Database(path);
    migrate(db, 0, steps.slice(0, 1));
    db.exec('INSERT INTO a VALUES (5)');
    writeFileSync(join(folder, 'runstand-before-update-from-1.sqlite'), 'a copy of an earlier try');
    const copy = migrateKeepingCopy(db, path, 1, steps);
    expect(copy).toBe(join(folder, 'runstand-before-update-from-1-2.sqlite'));
    expect(db.pragma('user_version', { simple: true })).toBe(2);
    expect(db.prepare('SELECT x FROM b').pluck().get()).toBe(7);
    db.close();
    const old = new Database(copy, { readonly: true });
    expect(old.pragma('user_version', { simple: true })).toBe(1);
    expect(old.prepare('SELECT x FROM a').pluck().get()).toBe(5);
    old.close();
  });

  test('when a step fails, then the file stays at its version', () => {
    const db = new Database(path);
    migrate(db, 0, steps.slice(0, 1));
    expect(() => migrate(db, 1, [steps[0]!, steps[1]!, 'NONSENSE'])).toThrow(/syntax/);
    expect(db.pragma('user_version', { simple: true })).toBe(1);
    expect(db.prepare("SELECT count(*) FROM sqlite_schema WHERE name = 'b'").pluck().get()).toBe(0);
    db.close();
  });
});

describe('given a file from before tags and the bin', () => {
  beforeEach(() => {
    const db = new Database(path);
    db.pragma('auto_vacuum = INCREMENTAL');
    migrate(db, 0, migrations.slice(0, 1));
    db.exec(
      `INSERT INTO session (id, started_at_epochMs, ended_at_epochMs, source, detail, rig, rig_name, rig_version)
       VALUES ('s1', 1000, 2000, 'port', '/dev/ttyUSB0', '{}', 'Lapwing 120', 3)`,
    );
    db.close();
  });

  test('when opened for reading, then its sessions have no tags, and it is left as it is', () => {
    const before = readFileSync(path);
    const store = openStoreReadOnly(folder);
    expect(store.ok && store.value.list()).toMatchObject({
      ok: true,
      value: [{ id: 's1', tags: [], binnedAt_epochMs: null }],
    });
    if (store.ok) store.value.close();
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  test('when opened for recording, then it is migrated, and a session of it takes tags', () => {
    const store = mustOpen(folder);
    expect(store.tags('s1', ['old']).ok).toBe(true);
    expect(store.list()).toMatchObject({ ok: true, value: [{ id: 's1', tags: ['old'] }] });
  });
});

describe('given a damaged file', () => {
  beforeEach(() => {
    const store = mustOpen(folder);
    recordSession(store, 's1', 20);
    store.close();
  });

  test('when it is cut off, then it is damaged, and left as it is', () => {
    truncateSync(path, statSync(path).size - 5000);
    const before = readFileSync(path);
    expect(openStore(folder)).toMatchObject({
      ok: false,
      error: { kind: 'damaged', path, detail: expect.stringMatching(/ends after \d+ of \d+ bytes/), setAsideAs: null },
    });
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  test('when it is cut off within its header, then it is damaged', () => {
    truncateSync(path, 60);
    expect(openStore(folder)).toMatchObject({ ok: false, error: { kind: 'damaged' } });
  });

  test('when a page is overwritten, then it is damaged, and left as it is', () => {
    overwriteTablePage('block');
    const before = readFileSync(path);
    expect(openStore(folder)).toMatchObject({ ok: false, error: { kind: 'damaged', path, setAsideAs: null } });
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  test('when a page is overwritten, then what can be read is read from a read-only store', () => {
    overwriteTablePage('block');
    const opened = openFileReadOnly(path);
    if (!opened.ok) throw new Error(opened.error.kind);
    open.push(opened.value);
    expect(opened.value.list()).toMatchObject({ ok: true, value: [{ id: 's1' }] });
    const loaded = opened.value.load('s1');
    expect(loaded.ok && loaded.value.events.length).toBe(40);
    expect(opened.value.replay('s1', new EntrySink())).toMatchObject({ ok: false, error: { kind: 'damaged' } });
  });

  test('when set aside, then every byte is kept under the new name, a fresh file is begun, and the words name both', () => {
    overwriteTablePage('block');
    const before = readFileSync(path);
    const now = new Date('2026-03-04T05:06:07Z');
    const opened = openStoreSettingAside(folder, now);
    if (!opened.ok) throw new Error(opened.error.kind);
    open.push(opened.value.store);
    const kept = join(folder, 'runstand-set-aside-2026-03-04T050607.sqlite');
    expect(opened.value.setAside).toMatchObject({ kind: 'damaged', path, setAsideAs: kept });
    expect(readFileSync(kept).equals(before)).toBe(true);
    expect(opened.value.store.list()).toEqual({ ok: true, value: [] });
    const words = wordsOf(opened.value.setAside!);
    expect(words.sentence).toContain(kept);
    expect(words.sentence).toContain('fresh');
  });

  test('when set aside twice in a second, then both are kept', () => {
    const now = new Date('2026-03-04T05:06:07Z');
    setAside(path, now);
    writeFileSync(path, 'x');
    expect(setAside(path, now)).toEqual({
      ok: true,
      value: join(folder, 'runstand-set-aside-2026-03-04T050607-2.sqlite'),
    });
    expect(readdirSync(folder).filter((name) => name.includes('set-aside')).length).toBe(2);
  });

  test('when the file is whole, then nothing is set aside', () => {
    const opened = openStoreSettingAside(folder, new Date(0));
    if (!opened.ok) throw new Error(opened.error.kind);
    open.push(opened.value.store);
    expect(opened.value.setAside).toBeNull();
  });
});

describe('given a folder that cannot be written', () => {
  test.skipIf(process.platform === 'win32')(
    'when opened, then recording is refused as read-only, and reading works',
    () => {
      mustOpen(folder).close();
      open.pop();
      chmodSync(folder, 0o555);
      // Root may write everywhere: for this test it is nobody (user 65534).
      if (isRoot) process.seteuid?.(65_534);
      try {
        expect(openStore(folder)).toEqual({ ok: false, error: { kind: 'read-only', path } });
        const reader = openStoreReadOnly(folder);
        expect(reader.ok && reader.value.list()).toEqual({ ok: true, value: [] });
        if (reader.ok) reader.value.close();
      } finally {
        if (isRoot) process.seteuid?.(0);
        chmodSync(folder, 0o700);
      }
    },
  );
});

describe('given a folder in which somebody records', () => {
  test('when opened a second time for recording, then it is locked, until the first lets go', () => {
    const first = mustOpen(folder);
    expect(openStore(folder)).toEqual({ ok: false, error: { kind: 'locked', path } });
    first.close();
    mustOpen(folder);
  });

  test('when read beside it, then the session is open, its data as of the last commit, and nothing can be changed', () => {
    const store = mustOpen(folder);
    const started = store.start(sessionStart('s1'));
    if (!started.ok) throw new Error('start failed');
    const entries = madeUpJournal(4);
    record(started.value, entries.slice(0, 200));
    started.value.commit({ ...noSummary, duration_us: 2_000_000 });

    const opened = openStoreReadOnly(folder);
    if (!opened.ok) throw new Error(opened.error.kind);
    const reader = opened.value;
    open.push(reader);
    expect(reader.list()).toMatchObject({ value: [{ id: 's1', isOpen: true, breakNote: '', duration_us: 2_000_000 }] });
    // The recorder commits while the replay runs: what is new stays out of it, in every group.
    const sink = new EntrySink();
    record(started.value, entries.slice(200, 300));
    const done = reader.replay('s1', sink, {
      shouldStop: () => {
        started.value.commit(noSummary);
        return false;
      },
    });
    expect(done.ok).toBe(true);
    expect(sink.entries).toEqual(inputsOf(entries.slice(0, 200)));
    const later = new EntrySink();
    reader.replay('s1', later);
    expect(later.entries).toEqual(inputsOf(entries.slice(0, 300)));
    expect(reader.verify('s1')).toMatchObject({ value: { isWhole: true } });

    const readOnly = { ok: false, error: { kind: 'read-only' } };
    expect(reader.start(sessionStart('s2'))).toMatchObject(readOnly);
    expect(reader.keep('s1', true)).toMatchObject(readOnly);
    expect(reader.note('s1', 'x')).toMatchObject(readOnly);
  });

  test('when the recorder ends without closing the session, then a reader sees that it broke off', () => {
    const store = mustOpen(folder);
    recordSession(store, 's1', 2, { isClosed: false });
    store.close();
    const opened = openStoreReadOnly(folder);
    if (!opened.ok) throw new Error(opened.error.kind);
    open.push(opened.value);
    expect(opened.value.list()).toMatchObject({ value: [{ id: 's1', isOpen: false, breakNote: BREAK_NOTE }] });
  });
});

describe('given a session that nobody closed', () => {
  test('when the store is opened again, then it broke off, its duration from the data, and it is whole', () => {
    const first = mustOpen(folder);
    recordSession(first, 's1', 3, { isClosed: false });
    recordSession(first, 's2', 3);
    first.close();
    const listed = mustOpen(folder).list();
    if (!listed.ok) throw new Error(listed.error.kind);
    const broken = listed.value.find((row) => row.id === 's1');
    expect(broken).toMatchObject({ isOpen: false, breakNote: BREAK_NOTE });
    expect(broken?.duration_us).toBeGreaterThan(2_980_000);
    expect(broken?.duration_us).toBeLessThan(3_000_000);
    expect(listed.value.find((row) => row.id === 's2')).toMatchObject({ isOpen: false, breakNote: '' });
    expect(open.at(-1)!.verify('s1')).toMatchObject({ value: { isWhole: true } });
  });
});

function mustOpen(where: string): SqliteStore {
  const opened = openStore(where);
  if (!opened.ok) throw new Error(`open failed: ${opened.error.kind}`);
  open.push(opened.value);
  return opened.value;
}

function recordSession(store: SqliteStore, id: string, seconds: number, { isClosed = true } = {}): void {
  const started = store.start(sessionStart(id));
  if (!started.ok) throw new Error('start failed');
  record(started.value, madeUpJournal(seconds));
  const done = isClosed ? started.value.close(noSummary, 1) : started.value.commit(noSummary);
  if (!done.ok) throw new Error(`commit failed: ${done.error.kind}`);
}

/** Fills the root page of a table with 0xAA. */
function overwriteTablePage(table: string): void {
  const db = new Database(path, { readonly: true });
  const page = db.prepare('SELECT rootpage FROM sqlite_schema WHERE name = ?').pluck().get(table) as number;
  const size = db.pragma('page_size', { simple: true }) as number;
  db.close();
  const bytes = readFileSync(path);
  bytes.fill(0xaa, (page - 1) * size, page * size);
  writeFileSync(path, bytes);
}

describe('given a database too large to be checked on opening', () => {
  test('when a page of it is damaged, then it opens, and the check of all pages finds it', () => {
    const store = mustOpen(folder);
    recordSession(store, 's1', 20);
    store.close();
    // Past 4 MB, beyond which opening looks at the list of sessions only.
    const db = new Database(path);
    db.exec('CREATE TABLE filler (x BLOB); INSERT INTO filler VALUES (zeroblob(5000000))');
    db.close();
    const whole = mustOpen(folder);
    expect(whole.check()).toEqual({ ok: true, value: null });
    whole.close();
    overwriteTablePage('level');
    const opened = mustOpen(folder);
    expect(opened.list()).toMatchObject({ value: [{ id: 's1' }] });
    expect(opened.check()).toMatchObject({ ok: false, error: { kind: 'damaged', path, setAsideAs: null } });
  });
});
