/**
 * The tables, and how a file of an older version becomes one of this version.
 * What stands inside a block is the business of `block-file.ts`.
 */
import { existsSync } from 'node:fs';
import type Database from 'better-sqlite3';
import { rewriteShortBlocks } from './version-2/rewrite-short-blocks.ts';

/** "RSTD" in ASCII; stands at offset 68 of the file. */
export const APPLICATION_ID = 0x52_53_54_44;

/** SQL, or what SQL cannot say. Runs inside the one transaction. */
export type Migration = string | ((db: Database.Database) => void);

/**
 * Step i leads from version i to i + 1. A released step is never changed; a
 * new version appends one, and keeps a file of the old version as a fixture.
 */
export const migrations: readonly Migration[] = [
  `
  CREATE TABLE session (
    number            INTEGER PRIMARY KEY,
    id                TEXT    NOT NULL UNIQUE,
    started_at_epochMs INTEGER NOT NULL,
    -- NULL while it is recorded, and for ever where it broke off.
    ended_at_epochMs  INTEGER,
    source            TEXT    NOT NULL CHECK (source IN ('port', 'simulator')),
    detail            TEXT    NOT NULL,
    rig               TEXT    NOT NULL,
    rig_name          TEXT    NOT NULL,
    rig_version       INTEGER NOT NULL,
    -- As of the last commit; the tables below are the truth.
    duration_us       REAL    NOT NULL DEFAULT 0,
    runs              TEXT    NOT NULL DEFAULT '[]',
    alarms            INTEGER NOT NULL DEFAULT 0,
    aborts            INTEGER NOT NULL DEFAULT 0,
    marks             INTEGER NOT NULL DEFAULT 0,
    is_kept           INTEGER NOT NULL DEFAULT 0,
    note              TEXT    NOT NULL DEFAULT '',
    break_note        TEXT    NOT NULL DEFAULT '',
    bytes             INTEGER NOT NULL DEFAULT 0,
    -- Highest ord that is durable, or −1; what a reader beside the recorder may rely on.
    last_ord          INTEGER NOT NULL DEFAULT -1,
    -- How many blocks and events there must be, and the ends of their two checksum chains.
    blocks            INTEGER NOT NULL DEFAULT 0,
    block_chain       INTEGER NOT NULL DEFAULT 0,
    events            INTEGER NOT NULL DEFAULT 0,
    event_chain       INTEGER NOT NULL DEFAULT 0
  ) STRICT;

  CREATE TABLE block (
    session    INTEGER NOT NULL REFERENCES session (number) ON DELETE CASCADE,
    -- 0, 1, 2 … within the session: the order of the checksum chain.
    number     INTEGER NOT NULL,
    -- Rate group of the bench, or 0 for ticks.
    rate_group INTEGER NOT NULL,
    first_ord  INTEGER NOT NULL,
    last_ord   INTEGER NOT NULL,
    first_us   REAL    NOT NULL,
    last_us    REAL    NOT NULL,
    frames     INTEGER NOT NULL,
    columns    INTEGER NOT NULL,
    previous   INTEGER NOT NULL,
    checksum   INTEGER NOT NULL,
    body       BLOB    NOT NULL,
    PRIMARY KEY (session, number)
  ) STRICT;
  CREATE INDEX block_by_group ON block (session, rate_group, last_ord);

  CREATE TABLE event (
    session  INTEGER NOT NULL REFERENCES session (number) ON DELETE CASCADE,
    -- 0, 1, 2 … within the session. An output has the ord of the input that caused it, so ord is no key.
    number   INTEGER NOT NULL,
    ord      INTEGER NOT NULL,
    t_us     REAL    NOT NULL,
    side     TEXT    NOT NULL CHECK (side IN ('in', 'out')),
    kind     TEXT    NOT NULL,
    body     TEXT    NOT NULL,
    checksum INTEGER NOT NULL,
    PRIMARY KEY (session, number)
  ) STRICT, WITHOUT ROWID;
  `,
  // What people do with a session in the logbook, apart from what was recorded. No row: no tags, not in the bin.
  `
  CREATE TABLE library (
    session           INTEGER PRIMARY KEY REFERENCES session (number) ON DELETE CASCADE,
    -- JSON array of strings.
    tags              TEXT    NOT NULL DEFAULT '[]',
    -- When it was put into the bin; NULL: it is not in it.
    binned_at_epochMs INTEGER
  ) STRICT;
  `,
  // To version 3: long blocks of all groups together, a chain over the content, levels for drawing.
  (db) => {
    db.exec(`
    ALTER TABLE block RENAME TO block_before_3;
    DROP INDEX block_by_group;

    -- The sheet is long and never changes; beside the counts it would be written anew with them.
    CREATE TABLE session_rig (
      session INTEGER PRIMARY KEY REFERENCES session (number) ON DELETE CASCADE,
      rig     TEXT NOT NULL
    ) STRICT;
    INSERT INTO session_rig SELECT number, rig FROM session;
    ALTER TABLE session DROP COLUMN rig;

    -- As of the last long block, or the end; while fresh blocks are there, the newest of them says.
    ALTER TABLE session ADD COLUMN frames INTEGER NOT NULL DEFAULT 0;
    ALTER TABLE session ADD COLUMN frame_chain INTEGER NOT NULL DEFAULT 0;
    -- Which fresh blocks count: those of this turn. A long block begins the next.
    ALTER TABLE session ADD COLUMN turn INTEGER NOT NULL DEFAULT 0;

    -- Long blocks (block-file.ts). Ordinary tables with a rowid: in others, rows beyond a quarter
    -- of a page spill into overflow pages of their own.
    CREATE TABLE block (
      session   INTEGER NOT NULL REFERENCES session (number) ON DELETE CASCADE,
      first_ord INTEGER NOT NULL,
      last_ord  INTEGER NOT NULL,
      first_us  REAL    NOT NULL,
      last_us   REAL    NOT NULL,
      frames    INTEGER NOT NULL,
      -- The content chain before and after (content-chain.ts).
      previous  INTEGER NOT NULL,
      checksum  INTEGER NOT NULL,
      body      BLOB    NOT NULL
    ) STRICT;
    CREATE UNIQUE INDEX block_by_ord ON block (session, last_ord);
    CREATE INDEX block_by_time ON block (session, last_us);

    -- What was committed since the last long block: a row for each commit. Without an index, and
    -- with the rows of the turn before written over, so that most commits write a single page.
    -- Its last columns say what the session's row will say.
    CREATE TABLE fresh (
      number      INTEGER PRIMARY KEY,
      session     INTEGER NOT NULL REFERENCES session (number) ON DELETE CASCADE,
      turn        INTEGER NOT NULL,
      first_ord   INTEGER NOT NULL,
      last_ord    INTEGER NOT NULL,
      first_us    REAL    NOT NULL,
      last_us     REAL    NOT NULL,
      -- 0 where only events were committed.
      frames      INTEGER NOT NULL,
      previous    INTEGER NOT NULL,
      checksum    INTEGER NOT NULL,
      body        BLOB    NOT NULL,
      newest_ord  INTEGER NOT NULL,
      all_frames  INTEGER NOT NULL,
      events      INTEGER NOT NULL,
      event_chain INTEGER NOT NULL,
      duration_us REAL    NOT NULL,
      bytes       INTEGER NOT NULL
    ) STRICT;

    -- Levels (session-levels.ts). Chunks are of series/level-chunk.ts.
    CREATE TABLE level_group (
      session    INTEGER NOT NULL REFERENCES session (number) ON DELETE CASCADE,
      rate_group INTEGER NOT NULL,
      base_us    INTEGER NOT NULL,
      -- JSON array of channel keys for derived channels, whose groups are −1, −2 …
      keys       TEXT,
      PRIMARY KEY (session, rate_group)
    ) STRICT;
    CREATE TABLE level (
      session    INTEGER NOT NULL REFERENCES session (number) ON DELETE CASCADE,
      rate_group INTEGER NOT NULL,
      level      INTEGER NOT NULL,
      chunk      INTEGER NOT NULL,
      place      INTEGER NOT NULL,
      body       BLOB    NOT NULL
    ) STRICT;
    CREATE UNIQUE INDEX level_by_place ON level (session, rate_group, level, chunk, place);
    `);
    rewriteShortBlocks(db);
    db.exec(`
    DROP TABLE block_before_3;
    ALTER TABLE session DROP COLUMN blocks;
    ALTER TABLE session DROP COLUMN block_chain;
    `);
  },
  // To version 4: where a replay can begin without folding all before (keyframe.ts). Older sessions have none.
  `
  CREATE TABLE keyframe (
    session INTEGER NOT NULL REFERENCES session (number) ON DELETE CASCADE,
    ord     INTEGER NOT NULL,
    t_us    REAL    NOT NULL,
    body    BLOB    NOT NULL
  ) STRICT;
  CREATE INDEX keyframe_by_time ON keyframe (session, t_us);
  `,
];

export const SCHEMA_VERSION = migrations.length;

/**
 * Brings the file to the newest version in one transaction: all steps or none.
 * @param from version of the file, 0 for an empty one
 * @param steps other steps than the real ones, for tests
 */
export function migrate(db: Database.Database, from: number, steps: readonly Migration[] = migrations): void {
  db.transaction(() => {
    for (const step of steps.slice(from)) {
      if (typeof step === 'string') db.exec(step);
      else step(db);
    }
    db.pragma(`application_id = ${APPLICATION_ID}`);
    db.pragma(`user_version = ${steps.length}`);
  }).exclusive();
}

/**
 * `migrate`, with a copy of the old file beside the new one.
 * @returns path of the copy
 */
export function migrateKeepingCopy(
  db: Database.Database,
  path: string,
  from: number,
  steps: readonly Migration[] = migrations,
): string {
  const stem = path.replace(/\.sqlite$/, `-before-update-from-${from}`);
  let copy = `${stem}.sqlite`;
  for (let i = 2; existsSync(copy); i++) copy = `${stem}-${i}.sqlite`;
  db.prepare('VACUUM INTO ?').run(copy);
  migrate(db, from, steps);
  return copy;
}
