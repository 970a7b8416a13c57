/**
 * A session as CSV (RFC 4180): a row of names, a row of units, then one row
 * per time step with the last value of every channel, calibrated and derived.
 * Decimal point, comma, CR LF. A value that is not good leaves its cell empty
 * and is named with its state in the last column.
 */
import { closeSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import { qualityNames } from '../../../shared-core/channels/quality.ts';
import type { JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import type { SessionStore, StoreError } from '../store/store-contract.ts';

export interface CsvOptions {
  /** Rows per second of session time; default 10. */
  readonly rate_Hz?: number;
  /** Told now and then, 0 to 1. */
  readonly onProgress?: (done: number) => void;
}

/** Text is handed to the file in pieces of about this size. */
const PIECE = 1 << 16;

export async function writeCsv(
  store: SessionStore,
  id: string,
  path: string,
  options: CsvOptions = {},
): Promise<Result<{ path: string; bytes: number }, StoreError>> {
  const session = store.load(id);
  if (!session.ok) return session;
  const { row, rig } = session.value;
  const unfinished = `${path}.part`;
  let file: number;
  try {
    file = openSync(unfinished, 'w');
  } catch (error) {
    return err({ kind: 'io', path, detail: (error as Error).message });
  }
  const sheet = new CsvSink(rig, row.startedAt_epochMs, 1e6 / (options.rate_Hz ?? 10), (piece) =>
    writeSync(file, piece),
  );
  try {
    const columns = channelKeysOf(store, id, rig);
    if (!columns.ok) return columns;
    sheet.head(columns.value);
    let told_us = 0;
    const done = store.replay(id, sheet, {
      shouldStop: (t_us) => {
        if (options.onProgress !== undefined && t_us - told_us > 10_000_000) {
          told_us = t_us;
          options.onProgress(Math.min(1, t_us / Math.max(1, row.duration_us)));
        }
        return false;
      },
    });
    if (!done.ok) return done;
    sheet.end();
    closeSync(file);
    renameSync(unfinished, path);
    return ok({ path, bytes: sheet.bytes });
  } catch (error) {
    // A full disk in the middle of it leaves no half file behind.
    rmSync(unfinished, { force: true });
    return err({ kind: 'io', path, detail: (error as Error).message });
  } finally {
    try {
      closeSync(file);
    } catch {
      // Closed above, on the good way.
    }
    rmSync(unfinished, { force: true });
  }
}

interface ColumnHead {
  readonly key: string;
  readonly unit: string;
  readonly decimals: number;
}

/** Every channel that the session ever had, in order of first appearance. */
function channelKeysOf(store: SessionStore, id: string, rig: RigSheet): Result<ColumnHead[], StoreError> {
  const session = store.load(id);
  if (!session.ok) return session;
  const heads = new Map<string, ColumnHead>();
  const pipeline = new Pipeline(rig);
  for (const event of session.value.events) {
    if (event.side !== 'in' || event.body.kind !== 'table') continue;
    pipeline.event(event.ord, event.t_us, event.body);
    for (const { key, unit, decimals } of pipeline.values.channels) {
      if (!heads.has(key)) heads.set(key, { key, unit, decimals });
    }
  }
  return ok([...heads.values()]);
}

class CsvSink implements JournalSink {
  bytes = 0;
  readonly #pipeline: Pipeline;
  readonly #startedAt_epochMs: number;
  readonly #step_us: number;
  readonly #write: (piece: string) => void;
  #heads: readonly ColumnHead[] = [];
  #ordinals: number[] = [];
  #layoutVersion = -1;
  #next_us = 0;
  #piece = '';

  constructor(rig: RigSheet, startedAt_epochMs: number, step_us: number, write: (piece: string) => void) {
    this.#pipeline = new Pipeline(rig);
    this.#startedAt_epochMs = startedAt_epochMs;
    this.#step_us = step_us;
    this.#write = write;
  }

  head(heads: readonly ColumnHead[]): void {
    this.#heads = heads;
    this.#line(['session_time', 'utc', ...heads.map((each) => each.key), 'not_good']);
    this.#line(['s', 'ISO 8601', ...heads.map((each) => each.unit), '']);
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#before(t_us);
    this.#pipeline.frame(ord, t_us, group, raw, columns);
  }
  tick(ord: number, t_us: number): void {
    this.#before(t_us);
    this.#pipeline.tick(ord, t_us);
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.#pipeline.event(ord, t_us, body);
  }

  end(): void {
    this.#row();
    this.#flush();
  }

  /** Writes the row of the step that has just ended. */
  #before(t_us: number): void {
    if (t_us < this.#next_us) return;
    if (this.#next_us > 0) this.#row();
    this.#next_us = (Math.floor(t_us / this.#step_us) + 1) * this.#step_us;
  }

  #row(): void {
    const { channels, value, quality } = this.#pipeline.values;
    if (channels.length === 0) return;
    if (this.#pipeline.layoutVersion !== this.#layoutVersion) {
      this.#layoutVersion = this.#pipeline.layoutVersion;
      this.#ordinals = this.#heads.map((head) => channels.findIndex((each) => each.key === head.key));
    }
    const t_us = this.#pipeline.now_us;
    const cells = [(t_us / 1e6).toFixed(6), new Date(this.#startedAt_epochMs + t_us / 1000).toISOString()];
    const notGood: string[] = [];
    this.#ordinals.forEach((ordinal, i) => {
      const head = this.#heads[i]!;
      if (ordinal < 0) {
        cells.push('');
      } else if (quality[ordinal] === 0) {
        // One digit more than shown: rounding for the eye is not rounding for the file.
        cells.push(value[ordinal]!.toFixed(Math.min(9, head.decimals + 1)));
      } else {
        cells.push('');
        notGood.push(`${head.key}:${qualityNames[quality[ordinal]!] ?? 'absent'}`);
      }
    });
    cells.push(notGood.join(' '));
    this.#line(cells);
  }

  #line(cells: readonly string[]): void {
    this.#piece += `${cells.map(quoted).join(',')}\r\n`;
    if (this.#piece.length >= PIECE) this.#flush();
  }

  #flush(): void {
    this.#write(this.#piece);
    this.bytes += Buffer.byteLength(this.#piece);
    this.#piece = '';
  }
}

/** RFC 4180, part 2, rules 5 to 7. */
function quoted(cell: string): string {
  return /[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;
}
