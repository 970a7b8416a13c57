/**
 * The plain way of recording, as a baseline: one row per frame with a column
 * per channel, times as the key, one transaction per second, write-ahead log
 * with FULL syncs, one prepared statement. Values are engineering values in
 * REAL columns, as one would keep them; or, kinder, the scaled integers. And
 * the narrow way: one row per sample with an index by channel and time.
 */
import Database from 'better-sqlite3';
import { CHANNELS, decimals, RATE_Hz } from './_stand-signal.ts';

function opened(path: string): Database.Database {
  const db = new Database(path);
  db.pragma('journal_mode = WAL');
  db.pragma('synchronous = FULL');
  return db;
}

export type Kept = 'REAL' | 'INTEGER';

export function writeWideRows(path: string, columns: readonly Int32Array[], n: number, kept: Kept): void {
  const db = opened(path);
  const names = Array.from({ length: CHANNELS }, (_, i) => `c${i}`);
  db.exec(
    `CREATE TABLE IF NOT EXISTS wide (t_us INTEGER PRIMARY KEY, ${names.map((name) => `${name} ${kept}`).join(', ')})`,
  );
  const insert = db.prepare(`INSERT INTO wide VALUES (?${', ?'.repeat(CHANNELS)})`);
  const row = new Array<number>(CHANNELS + 1);
  const divisors = decimals.map((each) => (kept === 'REAL' ? 10 ** each : 1));
  const second = db.transaction((start: number) => {
    for (let i = start; i < Math.min(n, start + RATE_Hz); i++) {
      row[0] = 10_000 * i;
      for (let c = 0; c < CHANNELS; c++) row[c + 1] = columns[c]![i]! / divisors[c]!;
      insert.run(row);
    }
  });
  for (let start = 0; start < n; start += RATE_Hz) second(start);
  db.close();
}

export function writeNarrowRows(path: string, columns: readonly Int32Array[], n: number): void {
  const db = opened(path);
  db.exec('CREATE TABLE narrow (channel INTEGER, t_us INTEGER, value REAL)');
  db.exec('CREATE INDEX narrow_by_time ON narrow (channel, t_us)');
  const insert = db.prepare('INSERT INTO narrow VALUES (?, ?, ?)');
  const second = db.transaction((start: number) => {
    for (let i = start; i < Math.min(n, start + RATE_Hz); i++) {
      for (let c = 0; c < CHANNELS; c++) insert.run(c, 10_000 * i, columns[c]![i]! / 10 ** decimals[c]!);
    }
  });
  for (let start = 0; start < n; start += RATE_Hz) second(start);
  db.close();
}
