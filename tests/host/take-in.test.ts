/** Session files taken in by the running host: whole or not at all, and never while something is recorded. */
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { type Reading, ReadingRoom } from '../../electron/host/reading/reading-room.ts';
import { SessionFiles } from '../../electron/host/session-files.ts';
import { MemoryStore } from '../../electron/host/store/memory-store.ts';
import { openStore } from '../../electron/host/store/open-store.ts';
import { exportSession } from '../../electron/host/store/session-file.ts';
import type { SqliteStore } from '../../electron/host/store/sqlite-store.ts';
import type { SessionStore } from '../../electron/host/store/store-contract.ts';
import { TakeInDesk, type TakeInRequest } from '../../electron/host/take-in-desk.ts';
import type { Result } from '../../shared-core/base/result.ts';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import { madeUpJournal, noSummary, record, sessionStart } from '../support/journal-samples.ts';

const NAME = 'from the other stand.runstand';
const PART = 10_000;

let folder: string;
let store: SqliteStore;
let other: SqliteStore;
let bytes: Uint8Array;
let desk: TakeInDesk;
let isRecording: boolean;
let now_epochMs: number;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-take-in-'));
  store = mustOpen('here');
  other = mustOpen('there');
  recordInto(other, 's1');
  const file = join(folder, 'out.runstand');
  expect(exportSession(other, 's1', file).ok).toBe(true);
  bytes = readFileSync(file);
  isRecording = false;
  now_epochMs = 1000;
  desk = deskOver(store);
});
afterEach(async () => {
  await desk.close();
  store.close();
  other.close();
  rmSync(folder, { recursive: true });
});

describe('given a session file', () => {
  test('when it comes in parts, then its session is in the library, the same in every number', async () => {
    expect(await take(bytes)).toEqual({ ok: true, value: { sessions: [{ id: 's1', wasThere: false }] } });
    const verified = store.verify('s1');
    expect(verified).toMatchObject({ ok: true, value: { isWhole: true } });
    expect(verified).toEqual(other.verify('s1'));
    expectNothingLeft();
  });

  test('when it is taken in again, then it says that it was there', async () => {
    await take(bytes);
    expect(await take(bytes)).toEqual({ ok: true, value: { sessions: [{ id: 's1', wasThere: true }] } });
  });

  test('when another session has its name, then both stay as they are, and it says so', async () => {
    recordInto(store, 's1', 99);
    const before = store.verify('s1');
    expect(await take(bytes)).toMatchObject({ ok: false, error: { kind: 'disk' } });
    expect(store.verify('s1')).toEqual(before);
    expectNothingLeft();
  });

  test('when something is recorded, then it is refused at the beginning', async () => {
    isRecording = true;
    const begun = await ask('takein.begin', { name: NAME, bytes: bytes.length });
    expect(begun).toMatchObject({
      ok: false,
      error: { kind: 'refused', remedy: expect.stringContaining('Disconnect') },
    });
  });

  test('when a bench is connected while it comes, then it is refused at the end, and nothing is in', async () => {
    const upload = await send(bytes);
    isRecording = true;
    expect(await ask('takein.end', { upload })).toMatchObject({ ok: false, error: { kind: 'refused' } });
    expectNothingTaken();
  });

  test('when one byte of a block was changed, then nothing is taken in, and the file is named as its owner knows it', async () => {
    const file = join(folder, 'changed.sqlite');
    writeFileSync(file, bytes);
    const db = new Database(file);
    db.exec('UPDATE block SET frames = frames + 1 WHERE rowid = 1');
    db.close();
    const done = await take(readFileSync(file));
    expect(done).toMatchObject({ ok: false, error: { kind: 'invalid' } });
    expect(!done.ok && done.error.sentence).toContain(NAME);
    expect(!done.ok && done.error.sentence).toContain('Nothing was taken in');
    expectNothingTaken();
  });

  test.each([
    ['is cut short', () => bytes.subarray(0, bytes.length / 2)],
    ['is something else', () => new TextEncoder().encode('a picture of a propeller '.repeat(400))],
    ['is empty', () => new Uint8Array(0)],
  ])('when what is chosen %s, then it says so, and nothing is taken in', async (_, made) => {
    const done = await take(made());
    expect(done.ok).toBe(false);
    expect(!done.ok && done.error.sentence).toContain(NAME);
    expectNothingTaken();
  });

  test('when a part is left out, then nothing is taken in', async () => {
    const upload = await begun(bytes.length);
    await ask('takein.part', { upload, at: 0, part: bytes.subarray(0, PART) });
    const next = await ask('takein.part', { upload, at: 2 * PART, part: bytes.subarray(2 * PART, 3 * PART) });
    expect(next).toMatchObject({ ok: false, error: { kind: 'invalid' } });
    expect(await ask('takein.end', { upload })).toMatchObject({ ok: false, error: { kind: 'not-found' } });
    expectNothingTaken();
  });

  test('when it ends before all of it came, then nothing is taken in', async () => {
    const upload = await begun(bytes.length + 1);
    await parts(upload, bytes);
    const ended = await ask('takein.end', { upload });
    expect(ended).toMatchObject({ ok: false, error: { kind: 'invalid' } });
    expect(!ended.ok && ended.error.sentence).toContain(`${bytes.length} of ${bytes.length + 1} bytes`);
    expectNothingTaken();
  });

  test('when more comes than was said, then nothing is taken in', async () => {
    const upload = await begun(5);
    const part = await ask('takein.part', { upload, at: 0, part: bytes.subarray(0, 6) });
    expect(part).toMatchObject({ ok: false, error: { kind: 'invalid' } });
    expectNothingTaken();
  });

  test('when it is cancelled on its way, then nothing is left of it', async () => {
    const upload = await send(bytes);
    expect(await ask('takein.cancel', { upload })).toMatchObject({ ok: true });
    expectNothingTaken();
    expect((await take(bytes)).ok).toBe(true);
  });

  test('when it is cancelled while it is verified, then nothing is taken in', async () => {
    let end = (): void => {};
    const ended = new Promise<void>((resolve) => {
      end = resolve;
    });
    const slow: Reading = {
      ask: async () => {
        await ended;
        return { ok: true, value: null };
      },
      close: async () => end(),
    };
    await desk.close();
    desk = deskOver(store, () => slow);
    const upload = await send(bytes);
    const done = ask('takein.end', { upload });
    await ask('takein.cancel', { upload });
    expect(await done).toMatchObject({ ok: false, error: { kind: 'cancelled' } });
    expectNothingTaken();
  });

  test('when it is larger than the disk has room for, then it says how much is needed', async () => {
    const free = store.freeBytes();
    const large = await ask('takein.begin', { name: NAME, bytes: free });
    expect(large).toMatchObject({ ok: false, error: { kind: 'disk', sentence: expect.stringContaining('MB') } });
  });

  test('when another is on its way, then it waits its turn; a page that went away holds nobody up', async () => {
    const first = await begun(bytes.length);
    expect(await ask('takein.begin', { name: 'b', bytes: 5 })).toMatchObject({ ok: false, error: { kind: 'busy' } });
    now_epochMs += 31_000;
    expect((await take(bytes)).ok).toBe(true);
    expect(await ask('takein.part', { upload: first, at: 0, part: bytes.subarray(0, 5) })).toMatchObject({
      error: { kind: 'not-found' },
    });
  });

  test('when the host was killed meanwhile, then its next start clears what was left', async () => {
    await desk.close();
    mkdirSync(join(folder, 'here', 'taking-in'));
    writeFileSync(join(folder, 'here', 'taking-in', 'taking-1.sqlite'), 'half of it');
    desk = deskOver(store);
    expectNothingLeft();
  });

  test('when sessions are held in memory only, then it is refused, and what another host is taking in stays', async () => {
    const upload = await send(bytes);
    const first = desk;
    desk = deskOver(new MemoryStore());
    expect(await first.ask({ type: 'request', id: 1, method: 'takein.end', params: { upload } })).toMatchObject({
      ok: true,
    });
    const begun = await ask('takein.begin', { name: NAME, bytes: bytes.length });
    expect(begun).toMatchObject({ ok: false, error: { kind: 'refused', sentence: expect.stringContaining('memory') } });
  });
});

describe('given a recording', () => {
  const files = (reading: () => Reading = () => new ReadingRoom(other, join(folder, 'out'), () => {})) =>
    new SessionFiles(join(folder, 'out'), reading);

  test('when copied out, then the file can be taken in; twice, then the newer one stands there', async () => {
    for (let i = 0; i < 2; i++) {
      const done = await files().ask({ method: 'export.session', params: { id: 's1' } });
      const path = join(folder, 'out', 's1.runstand');
      expect(done).toMatchObject({ ok: true, value: { path } });
      expect((await take(readFileSync(path))).ok).toBe(true);
    }
  });

  test('when it is in memory only, then there is no file to copy out, and it says so', async () => {
    const memory = files(() => new ReadingRoom(new MemoryStore(), join(folder, 'out'), () => {}));
    const done = await memory.ask({ method: 'export.session', params: { id: 's1' } });
    expect(done).toMatchObject({ ok: false, error: { kind: 'refused' } });
  });

  test('when verified, then it says what was read; changed, then where it is not whole', async () => {
    const ask = () => files().ask({ method: 'sessions.verify', params: { id: 's1' } });
    expect(await ask()).toMatchObject({ ok: true, value: { isWhole: true, findings: [] } });
    other.withDatabase((db) => {
      db.exec('UPDATE block SET frames = frames + 1 WHERE rowid = 1');
      return { ok: true, value: null };
    });
    const changed = await ask();
    expect(changed).toMatchObject({ ok: true, value: { isWhole: false } });
    expect((changed as { value: { findings: string[] } }).value.findings.length).toBeGreaterThan(0);
  });

  test('when nobody has the session, then it says so', async () => {
    for (const method of ['export.session', 'sessions.verify'] as const) {
      expect(await files().ask({ method, params: { id: 'none' } })).toMatchObject({
        ok: false,
        error: { kind: 'not-found' },
      });
    }
  });

  test('when copying is asked for twice, then the second is refused; cancelled, then no file is left', async () => {
    let end = (): void => {};
    const slow: Reading = {
      ask: () =>
        new Promise((resolve) => {
          end = () =>
            resolve({ ok: false, error: { kind: 'internal', sentence: 'The reading worker ended.', remedy: '' } });
        }),
      close: async () => end(),
    };
    const own = files(() => slow);
    const request = { method: 'export.session', params: { id: 's1' } } as const;
    const first = own.ask(request);
    writeFileSync(join(folder, 'out', 's1.runstand.part'), 'half of it');
    expect(await own.ask(request)).toMatchObject({ ok: false, error: { kind: 'busy' } });
    await own.cancel('session', 's1');
    expect(await first).toMatchObject({ ok: false, error: { kind: 'cancelled' } });
    expect(existsSync(join(folder, 'out', 's1.runstand.part'))).toBe(false);
  });
});

function deskOver(
  over: SessionStore,
  newReading: () => Reading = () => new ReadingRoom(over, join(folder, 'exports'), () => {}),
): TakeInDesk {
  return new TakeInDesk({
    dataFolder: join(folder, 'here'),
    store: over,
    isRecording: () => isRecording,
    newReading,
    now_epochMs: () => now_epochMs,
    log: () => {},
  });
}

type Asked<M extends TakeInRequest['method']> = Extract<TakeInRequest, { method: M }>['params'];

function ask<M extends TakeInRequest['method']>(method: M, params: Asked<M>): Promise<Result<unknown, BridgeError>> {
  return desk.ask({ type: 'request', id: 1, method, params } as TakeInRequest);
}

async function begun(length: number): Promise<string> {
  const answer = await ask('takein.begin', { name: NAME, bytes: length });
  if (!answer.ok) throw new Error(answer.error.sentence);
  return (answer.value as { upload: string }).upload;
}

async function parts(upload: string, of: Uint8Array): Promise<void> {
  for (let at = 0; at < of.length; at += PART) {
    expect(await ask('takein.part', { upload, at, part: of.subarray(at, at + PART) })).toEqual({
      ok: true,
      value: null,
    });
  }
}

async function send(of: Uint8Array): Promise<string> {
  const upload = await begun(of.length);
  await parts(upload, of);
  return upload;
}

async function take(of: Uint8Array): Promise<Result<unknown, BridgeError>> {
  return ask('takein.end', { upload: await send(of) });
}

function expectNothingLeft(): void {
  expect(existsSync(join(folder, 'here', 'taking-in'))).toBe(false);
}

function expectNothingTaken(): void {
  expect(store.list({ includeBinned: true })).toEqual({ ok: true, value: [] });
  expectNothingLeft();
}

function mustOpen(name: string): SqliteStore {
  const opened = openStore(join(folder, name));
  if (!opened.ok) throw new Error(opened.error.kind);
  return opened.value;
}

function recordInto(to: SqliteStore, id: string, seed = 31): void {
  const started = to.start(sessionStart(id));
  if (!started.ok) throw new Error(started.error.kind);
  record(started.value, madeUpJournal(60, seed));
  started.value.commit(noSummary);
  started.value.close(noSummary, 1_760_000_060_000);
}
