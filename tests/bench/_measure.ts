/** What the benchmarks of the store measure, and how: processor time, bytes written to the disk, medians. */
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openStore } from '../../electron/host/store/open-store.ts';
import type { SqliteStore } from '../../electron/host/store/sqlite-store.ts';
import type { SessionWriter } from '../../electron/host/store/store-contract.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

export interface Cost {
  readonly wall_s: number;
  /** User and system time of the process. */
  readonly cpu_s: number;
  /** Bytes that the process caused to be written to storage (Linux, /proc/self/io); NaN elsewhere. */
  readonly disk_bytes: number;
}

export function costOf(work: () => void): Cost {
  const written = writtenBytes();
  const cpu = process.cpuUsage();
  const started = performance.now();
  work();
  const wall_s = (performance.now() - started) / 1000;
  const { user, system } = process.cpuUsage(cpu);
  return { wall_s, cpu_s: (user + system) / 1e6, disk_bytes: writtenBytes() - written };
}

function writtenBytes(): number {
  try {
    return Number(/^write_bytes: (\d+)$/m.exec(readFileSync('/proc/self/io', 'latin1'))?.[1]);
  } catch {
    return Number.NaN;
  }
}

/** A folder for the work, removed afterwards. */
export function inFolder<T>(work: (folder: string) => T): T {
  const folder = mkdtempSync(join(process.env.BENCH_DIR ?? tmpdir(), 'runstand-bench-'));
  try {
    return work(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

export function mustOpen(folder: string): SqliteStore {
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(`open failed: ${opened.error.kind}`);
  return opened.value;
}

export function mustStart(store: SqliteStore, id: string): SessionWriter {
  const started = store.start({
    id,
    startedAt_epochMs: 1_795_000_000_000,
    source: 'simulator',
    detail: 'benchmark',
    rig: lapwing120,
  });
  if (!started.ok) throw new Error(`start failed: ${started.error.kind}`);
  return started.value;
}

export function must<T>(result: { ok: true; value: T } | { ok: false; error: { kind: string } }): T {
  if (!result.ok) throw new Error(result.error.kind);
  return result.value;
}

/** Size of the file with nothing left in its log. */
export function checkpointedBytes(path: string): number {
  const db = new Database(path);
  db.pragma('wal_checkpoint(TRUNCATE)');
  db.close();
  return statSync(path).size;
}

export function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}

export function round(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

/** `--n 1e6` or `n=1e6`. */
export function argument(args: readonly string[], name: string, usual: number): number {
  const at = args.indexOf(`--${name}`);
  const given = at >= 0 ? args[at + 1] : args.find((each) => each.startsWith(`${name}=`))?.slice(name.length + 1);
  const value = given === undefined ? usual : Number(given);
  if (!(value > 0)) throw new RangeError(`${name}: expected a number above 0, got ${given}`);
  return value;
}

export function machine(): string {
  return `${cpus().length} x ${cpus()[0]?.model.trim() ?? 'unknown processor'}, ${process.platform}, Node ${process.versions.node}`;
}

export function table(rows: readonly (readonly (string | number)[])[]): string {
  const widths = rows[0]!.map((_, column) => Math.max(...rows.map((row) => String(row[column]).length)));
  const cell = (value: string | number, column: number) =>
    column === 0 ? String(value).padEnd(widths[0]!) : String(value).padStart(widths[column]!);
  return rows.map((row) => `  ${row.map(cell).join('  ')}`).join('\n');
}
