/**
 * A session as CSV (RFC 4180): a row of names, a row of units, then the rows
 * of `rows.ts`. Decimal point, comma, CR LF. A value that is not good leaves
 * its cell empty and is named with its state in the last column.
 */
import type { Result } from '../../../shared-core/base/result.ts';
import { qualityNames } from '../../../shared-core/channels/quality.ts';
import type { SessionStore, StoredSession } from '../store/store-contract.ts';
import { type RowControl, type RowError, type RowHead, type RowOptions, type RowTaker, readRows } from './rows.ts';
import { whole } from './whole-file.ts';

/** Text is handed to the file in pieces of about this size. */
const PIECE = 1 << 16;

/** Errors: those of `readRows`, and `io` where the file cannot be written; then no file is left. */
export async function writeCsv(
  store: SessionStore,
  id: string,
  path: string,
  options: RowOptions = {},
  control: RowControl = {},
): Promise<Result<{ path: string; bytes: number; rows: number }, RowError>> {
  return whole(
    path,
    (write) => {
      const text = new CsvText((piece) => write(Buffer.from(piece)));
      return { taker: text, read: () => readRows(store, id, options, text, control), end: () => text.flush() };
    },
    control.writeSome,
  );
}

class CsvText implements RowTaker {
  readonly #write: (piece: string) => void;
  #heads: readonly RowHead[] = [];
  #startedAt_epochMs = 0;
  #piece = '';

  constructor(write: (piece: string) => void) {
    this.#write = write;
  }

  heads(heads: readonly RowHead[], session: StoredSession): void {
    this.#heads = heads;
    this.#startedAt_epochMs = session.row.startedAt_epochMs;
    this.#line(['session_time', 'utc', ...heads.map((each) => each.key), 'not_good']);
    this.#line(['s', 'ISO 8601', ...heads.map((each) => each.unit), '']);
  }

  row(t_us: number, values: Float64Array, states: Uint8Array): void {
    const cells = [(t_us / 1e6).toFixed(6), new Date(this.#startedAt_epochMs + t_us / 1000).toISOString()];
    let notGood = '';
    for (let i = 0; i < this.#heads.length; i++) {
      const head = this.#heads[i]!;
      if (states[i] === 0) {
        cells.push(values[i]!.toFixed(head.decimals));
      } else {
        cells.push('');
        notGood += `${notGood === '' ? '' : ' '}${head.key}:${qualityNames[states[i]!] ?? 'absent'}`;
      }
    }
    cells.push(notGood);
    this.#line(cells);
  }

  flush(): void {
    if (this.#piece !== '') this.#write(this.#piece);
    this.#piece = '';
  }

  #line(cells: readonly string[]): void {
    this.#piece += `${cells.map(quoted).join(',')}\r\n`;
    if (this.#piece.length >= PIECE) this.flush();
  }
}

/** RFC 4180, part 2, rules 5 to 7. */
function quoted(cell: string): string {
  return /[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;
}
