/** Reads the levels of one session: which groups have them, and their chunks. */
import type Database from 'better-sqlite3';
import { unpackChunk } from '../../../shared-core/series/level-chunk.ts';
import type { LevelChunk } from '../../../shared-core/series/time-levels.ts';
import { BlockDamage } from './block-file.ts';
import type { LevelGroupRow } from './session-levels.ts';

export class StoredLevels {
  readonly groups: readonly LevelGroupRow[];
  readonly #session: number;
  readonly #chunk: Database.Statement<[number, number, number, number, number], Uint8Array>;
  readonly #last: Database.Statement<[number, number], number | null>;

  constructor(db: Database.Database, session: number) {
    this.#session = session;
    this.groups = db
      .prepare<[number], { group: number; base_us: number; keys: string | null }>(
        'SELECT rate_group AS "group", base_us, keys FROM level_group WHERE session = ? ORDER BY rate_group DESC',
      )
      .all(session)
      .map(({ group, base_us, keys }) => ({
        group,
        base_us,
        keys: keys === null ? null : (JSON.parse(keys) as string[]),
      }));
    this.#chunk = db
      .prepare<[number, number, number, number, number], Uint8Array>(
        'SELECT body FROM level WHERE session = ? AND rate_group = ? AND level = ? AND chunk = ? AND place = ?',
      )
      .pluck();
    this.#last = db
      .prepare<[number, number], number | null>(
        'SELECT max(chunk) FROM level WHERE session = ? AND rate_group = ? AND level = 0',
      )
      .pluck();
  }

  /** @param into its arrays are filled, and returned; null where there is no such chunk. @throws BlockDamage */
  chunk(group: number, level: number, chunk: number, column: number, into: LevelChunk): LevelChunk | null {
    const body = this.#chunk.get(this.#session, group, level, chunk, column);
    if (body === undefined) return null;
    try {
      return unpackChunk(body, into);
    } catch (error) {
      throw new BlockDamage(error instanceof Error ? error.message : String(error));
    }
  }

  /** Last chunk of level 0; −1 where there is none. */
  lastChunk(group: number): number {
    return this.#last.get(this.#session, group) ?? -1;
  }
}
