/**
 * A session as Parquet: a double per channel (null where not good), session
 * time in microseconds, and the state of what is not good as text, with units
 * and session facts in the file's metadata. Row groups are written as the
 * recording is read, so memory does not grow with the session.
 */
import { ByteWriter, type ColumnSource, ParquetWriter, schemaFromColumnData } from 'hyparquet-writer';
import type { Result } from '../../../shared-core/base/result.ts';
import { qualityNames } from '../../../shared-core/channels/quality.ts';
import type { SessionStore, StoredSession } from '../store/store-contract.ts';
import { type RowControl, type RowError, type RowHead, type RowOptions, type RowTaker, readRows } from './rows.ts';
import { whole } from './whole-file.ts';

/** Rows held in memory before they are written. */
const ROWS_PER_GROUP = 20_000;

export interface ParquetOptions extends RowOptions {
  readonly rowsPerGroup?: number;
}

/** Errors: as of `writeCsv`. */
export async function writeParquet(
  store: SessionStore,
  id: string,
  path: string,
  options: ParquetOptions = {},
  control: RowControl = {},
): Promise<Result<{ path: string; bytes: number; rows: number }, RowError>> {
  return whole(
    path,
    (write) => {
      const table = new ParquetTable(options, write);
      return { taker: table, read: () => readRows(store, id, options, table, control), end: () => table.end() };
    },
    control.writeSome,
  );
}

class ParquetTable implements RowTaker {
  readonly #options: ParquetOptions;
  readonly #rowsPerGroup: number;
  readonly #bytes: ByteWriter;
  readonly #write: (bytes: Uint8Array) => void;
  #heads: readonly RowHead[] = [];
  #parquet: ParquetWriter | null = null;
  #times: bigint[] = [];
  #columns: (number | null)[][] = [];
  #notGood: string[] = [];

  constructor(options: ParquetOptions, write: (bytes: Uint8Array) => void) {
    this.#options = options;
    this.#rowsPerGroup = options.rowsPerGroup ?? ROWS_PER_GROUP;
    this.#write = write;
    this.#bytes = new ByteWriter();
  }

  heads(heads: readonly RowHead[], session: StoredSession): void {
    this.#heads = heads;
    this.#columns = heads.map(() => []);
    this.#parquet = new ParquetWriter({
      writer: this.#bytes,
      schema: schemaFromColumnData({ columnData: this.#columnData() }),
      kvMetadata: this.#facts(session),
      createdBy: 'Runstand',
    });
  }

  row(t_us: number, values: Float64Array, states: Uint8Array): void {
    this.#times.push(BigInt(Math.round(t_us)));
    let notGood = '';
    for (let i = 0; i < this.#heads.length; i++) {
      const isGood = states[i] === 0;
      this.#columns[i]!.push(isGood ? values[i]! : null);
      if (!isGood)
        notGood += `${notGood === '' ? '' : ' '}${this.#heads[i]!.key}:${qualityNames[states[i]!] ?? 'absent'}`;
    }
    this.#notGood.push(notGood);
    if (this.#times.length >= this.#rowsPerGroup) this.#group();
  }

  end(): void {
    if (this.#times.length > 0) this.#group();
    this.#parquet!.finish();
    this.#flush();
  }

  #group(): void {
    void this.#parquet!.write({ columnData: this.#columnData(), rowGroupSize: this.#rowsPerGroup });
    this.#flush();
    this.#times = [];
    this.#notGood = [];
    this.#columns = this.#heads.map(() => []);
  }

  /** The library counts on from `offset`; only what lies in the buffer has still to be written. */
  #flush(): void {
    const { buffer, index } = this.#bytes;
    this.#write(new Uint8Array(buffer, 0, index));
    this.#bytes.index = 0;
  }

  #columnData(): ColumnSource[] {
    return [
      { name: 'session_time_us', data: this.#times, type: 'INT64', nullable: false },
      ...this.#heads.map(
        (head, i): ColumnSource => ({ name: head.key, data: this.#columns[i]!, type: 'DOUBLE', nullable: true }),
      ),
      { name: 'not_good', data: this.#notGood, type: 'STRING', nullable: false },
    ];
  }

  #facts(session: StoredSession): { key: string; value: string }[] {
    const { row, rig } = session;
    return [
      { key: 'session', value: row.id },
      { key: 'provenance', value: row.provenance },
      { key: 'began', value: new Date(row.startedAt_epochMs).toISOString() },
      { key: 'rig', value: `${rig.name}, version ${rig.version}${rig.isDemo ? ' (invented demo rig)' : ''}` },
      { key: 'values', value: this.#options.values ?? 'calibrated' },
      ...this.#heads.map((head) => ({ key: `unit.${head.key}`, value: head.unit })),
      ...this.#heads.map((head) => ({ key: `label.${head.key}`, value: head.label })),
    ];
  }
}
