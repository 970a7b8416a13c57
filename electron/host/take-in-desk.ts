/**
 * Takes session files into the library: the file comes in parts from a page,
 * is verified from end to end by a reading worker, and only then copied into
 * the database. That copy holds the host up for seconds, so it is refused
 * while a session is recorded. Whatever happens, nothing of the file is left
 * beside the library, and nothing half in it.
 */
import { closeSync, fsyncSync, mkdirSync, openSync, rmSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError, TakenSession } from '../../shared-core/bridge/contract.ts';
import { MOST_PART_BYTES } from '../../shared-core/bridge/schema.ts';
import type { RequestMessage } from './page.ts';
import type { Reading } from './reading/reading-room.ts';
import { wordsOf } from './store/error-words.ts';
import { takeInVerified } from './store/session-file.ts';
import { SqliteStore } from './store/sqlite-store.ts';
import type { SessionStore } from './store/store-contract.ts';

export type TakeInRequest = Extract<RequestMessage, { method: `takein.${string}` }>;

/** What the desk needs of the rest of the host. */
export interface TakeInWorld {
  readonly dataFolder: string;
  readonly store: SessionStore;
  /** A bench or a simulator is connected. */
  isRecording(): boolean;
  newReading(): Reading;
  now_epochMs(): number;
  log(line: string): void;
}

interface Upload {
  readonly id: string;
  /** As its owner knows it. */
  readonly name: string;
  readonly bytes: number;
  readonly path: string;
  /** Null once all of it came. */
  file: number | null;
  at: number;
  last_epochMs: number;
  reading: Reading | null;
  isCancelled: boolean;
}

const FOLDER = 'taking-in';
/** A page that has sent nothing for so long is gone: another may begin. */
const FORGOTTEN_AFTER_MS = 30_000;
/** The file, the database with it, and something to spare. */
const ROOM_TIMES = 2.2;

export class TakeInDesk {
  readonly #world: TakeInWorld;
  readonly #folder: string;
  #upload: Upload | null = null;
  #count = 0;

  constructor(world: TakeInWorld) {
    this.#world = world;
    this.#folder = join(world.dataFolder, FOLDER);
    // Of a host that was killed. Without the recordings' lock, the folder may be another host's, at work.
    if (world.store instanceof SqliteStore) rmSync(this.#folder, { recursive: true, force: true });
  }

  async ask(request: TakeInRequest): Promise<Result<unknown, BridgeError>> {
    if (request.method === 'takein.begin') return this.#begin(request.params.name, request.params.bytes);
    const upload = this.#upload;
    if (upload === null || upload.id !== request.params.upload) {
      return err({
        kind: 'not-found',
        sentence: 'This file is not being taken in any more.',
        remedy: 'Choose it again.',
      });
    }
    upload.last_epochMs = this.#world.now_epochMs();
    switch (request.method) {
      case 'takein.part':
        return this.#part(upload, request.params.at, request.params.part);
      case 'takein.end':
        return this.#end(upload);
      case 'takein.cancel':
        upload.isCancelled = true;
        await upload.reading?.close();
        if (upload.reading === null) this.#drop();
        return ok(null);
    }
  }

  async close(): Promise<void> {
    await this.#upload?.reading?.close();
    this.#drop();
  }

  #begin(name: string, bytes: number): Result<{ upload: string; partBytes: number }, BridgeError> {
    const refused = this.#refusal();
    if (refused !== null) return refused;
    const before = this.#upload;
    const isForgotten =
      before !== null &&
      before.reading === null &&
      this.#world.now_epochMs() - before.last_epochMs > FORGOTTEN_AFTER_MS;
    if (before !== null && !isForgotten) {
      return err({
        kind: 'busy',
        sentence: `${before.name} is being taken in.`,
        remedy: 'Wait until that is done.',
      });
    }
    this.#drop();
    const free = this.#world.store.freeBytes();
    if (ROOM_TIMES * bytes > free) {
      return err({
        kind: 'disk',
        sentence: `${name} needs ${Math.ceil((ROOM_TIMES * bytes) / 1e6)} MB for a while, and ${Math.floor(free / 1e6)} MB are free.`,
        remedy: 'Make room on the disk of the data folder.',
      });
    }
    try {
      mkdirSync(this.#folder, { recursive: true });
      const id = `taking-${++this.#count}`;
      const path = join(this.#folder, `${id}.sqlite`);
      const file = openSync(path, 'w');
      this.#upload = {
        ...{ id, name, bytes, path, file, at: 0 },
        ...{ last_epochMs: this.#world.now_epochMs(), reading: null, isCancelled: false },
      };
      return ok({ upload: id, partBytes: MOST_PART_BYTES });
    } catch (error) {
      return this.#failed(error);
    }
  }

  #part(upload: Upload, at: number, part: Uint8Array): Result<null, BridgeError> {
    if (upload.file === null || at !== upload.at || at + part.length > upload.bytes) {
      this.#drop();
      return err({
        kind: 'invalid',
        sentence: `${upload.name} did not come in order (${part.length} bytes at ${at}, expected at ${upload.at} of ${upload.bytes}). Nothing was taken in.`,
        remedy: 'Choose it again.',
      });
    }
    try {
      for (let from = 0; from < part.length; ) from += writeSync(upload.file, part, from, part.length - from);
    } catch (error) {
      return this.#failed(error);
    }
    upload.at += part.length;
    return ok(null);
  }

  async #end(upload: Upload): Promise<Result<{ sessions: TakenSession[] }, BridgeError>> {
    const { file, name, bytes, path } = upload;
    if (file === null || upload.at !== bytes) {
      this.#drop();
      return err({
        kind: 'invalid',
        sentence: `Of ${name} ${upload.at} of ${bytes} bytes came. Nothing was taken in.`,
        remedy: 'Choose it again.',
      });
    }
    try {
      fsyncSync(file);
      closeSync(file);
      upload.file = null;
    } catch (error) {
      return this.#failed(error);
    }
    upload.reading = this.#world.newReading();
    try {
      const verified = await upload.reading.ask({ method: 'file.verify', params: { path, name } });
      if (upload.isCancelled) return err({ kind: 'cancelled', sentence: 'Cancelled.', remedy: '' });
      if (!verified.ok) return verified;
      // A bench may have been connected meanwhile.
      const refused = this.#refusal();
      if (refused !== null) return refused;
      const taken = takeInVerified(path, this.#world.store as SqliteStore);
      if (!taken.ok) return err({ kind: 'disk', ...wordsOf(taken.error) });
      for (const { id, wasThere } of taken.value) {
        this.#world.log(
          wasThere ? `session ${id} of ${name} was there already` : `session ${id} taken in from ${name}`,
        );
      }
      return ok({ sessions: taken.value.map(({ id, wasThere }) => ({ id, wasThere })) });
    } finally {
      await upload.reading.close();
      if (this.#upload === upload) this.#drop();
    }
  }

  #refusal(): Result<never, BridgeError> | null {
    if (!(this.#world.store instanceof SqliteStore)) {
      return err({
        kind: 'refused',
        sentence: 'Sessions are held in memory only at present, so that none can be taken in.',
        remedy: 'See the trouble named at the top of the screen.',
      });
    }
    if (!this.#world.isRecording()) return null;
    return err({
      kind: 'refused',
      sentence: 'A session is being recorded. Taking a file in would hold it up for seconds, so nothing was taken in.',
      remedy: 'Disconnect in Rig, then take the file in.',
    });
  }

  #failed(error: unknown): Result<never, BridgeError> {
    const { name = 'The file' } = this.#upload ?? {};
    this.#drop();
    return err({
      kind: 'disk',
      sentence: `${name} could not be taken in: ${error instanceof Error ? error.message : String(error)}.`,
      remedy: 'Check the disk of the data folder: its room, and the right to write there.',
    });
  }

  #drop(): void {
    const upload = this.#upload;
    this.#upload = null;
    if (upload === null) return;
    if (upload.file !== null) closeSync(upload.file);
    rmSync(this.#folder, { recursive: true, force: true });
  }
}
