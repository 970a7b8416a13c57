/**
 * Memory of the recorder: resident size of a process that has recorded one
 * hour, and of one that has recorded a hundred, as fast as it can.
 *
 * `npm run bench -- memory [--hours 100]`
 *
 * Each length has a process of its own. 32 channels at 100 Hz with one commit
 * a second of recorded time; what is measured is the mean of the last tenth of
 * the samples of `process.memoryUsage.rss()`, one taken each minute of
 * recorded time, after a collection of garbage. So that the disk is not what
 * is waited for, the file is not synced at each commit (`synchronous=OFF`).
 */
import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { migrate } from '../../electron/host/store/schema.ts';
import { SqliteStore } from '../../electron/host/store/sqlite-store.ts';
import { argument, inFolder, machine, must, mustStart, round, table } from './_measure.ts';
import { CHANNELS, RATE_Hz, signalColumns } from './_stand-signal.ts';

const SEED = 20_261;
/** The signal comes again after so long; nothing is remembered of it by then. */
const SIGNAL_SECONDS = 600;

export async function run(args: readonly string[]): Promise<Record<string, unknown>> {
  const hours = argument(args, 'hours', 100);
  const one = inProcess(1);
  const many = inProcess(hours);
  console.log(machine());
  console.log(
    table([
      ['', 'RSS, MB', 'most, MB', 'heap, MB', 'file, MB', 'took, s'],
      ...[one, many].map((each) => [
        `${each.hours} h`,
        round(each.rss / 1e6, 1),
        round(each.most / 1e6, 1),
        round(each.heap / 1e6, 1),
        round(each.file / 1e6, 1),
        round(each.took_s, 1),
      ]),
    ]),
  );
  return { hours, ratio: round(many.rss / one.rss, 3), rss_MB: round(many.rss / 1e6, 1) };
}

interface Measured {
  readonly hours: number;
  readonly rss: number;
  readonly most: number;
  readonly heap: number;
  readonly file: number;
  readonly took_s: number;
}

function inProcess(hours: number): Measured {
  const said = execFileSync(process.execPath, ['--expose-gc', fileURLToPath(import.meta.url), String(hours)]);
  return JSON.parse(said.toString()) as Measured;
}

function record(hours: number): Measured {
  return inFolder((folder) => {
    const path = `${folder}/runstand.sqlite`;
    const db = new Database(path);
    db.pragma('auto_vacuum = INCREMENTAL');
    migrate(db, 0);
    db.pragma('journal_mode = WAL');
    db.pragma('synchronous = OFF');
    const store = new SqliteStore(db, path, { onClose: () => {}, isRecordedElsewhere: () => false });
    const writer = mustStart(store, 'bench');
    const { columns } = signalColumns(1, SEED, SIGNAL_SECONDS * RATE_Hz);
    const raw = new Int32Array(CHANNELS);
    const seconds = Math.round(hours * 3600);
    const rss: number[] = [];
    const started = performance.now();
    for (let i = 0; i < seconds * RATE_Hz; i++) {
      const from = i % (SIGNAL_SECONDS * RATE_Hz);
      for (let c = 0; c < CHANNELS; c++) raw[c] = columns[c]![from]!;
      writer.frame(i, 10_000 * i, 1, raw, CHANNELS);
      if (i % RATE_Hz !== RATE_Hz - 1) continue;
      must(writer.commit({ duration_us: 10_000 * i, runs: [], alarms: 0, aborts: 0, marks: 0 }));
      if (i % (60 * RATE_Hz) !== 60 * RATE_Hz - 1) continue;
      global.gc?.();
      rss.push(process.memoryUsage.rss());
    }
    const took_s = (performance.now() - started) / 1000;
    const heap = process.memoryUsage().heapUsed;
    must(writer.close({ duration_us: 1e6 * seconds, runs: [], alarms: 0, aborts: 0, marks: 0 }, 1));
    const file = (db.pragma('page_count', { simple: true }) as number) * 4096;
    store.close();
    const last = rss.slice(-Math.ceil(rss.length / 10));
    const mean = last.reduce((sum, each) => sum + each, 0) / last.length;
    return { hours, rss: mean, most: Math.max(...rss), heap, file, took_s };
  });
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  process.stdout.write(JSON.stringify(record(Number(process.argv[2]))));
}
