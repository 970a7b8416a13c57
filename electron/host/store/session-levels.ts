/**
 * The levels of a session being recorded (series/time-levels.ts): one builder
 * for each rate group of the bench, and one for the derived channels, whose
 * values come from the pipeline. Finished chunks wait here until they are
 * durable, as all else of the session does.
 *
 * Levels serve drawing only. The samples are the record; what a level does not
 * have is read from them, or folded again.
 */
import type { JournalEvent } from '../../../shared-core/journal.ts';
import { packChunk } from '../../../shared-core/series/level-chunk.ts';
import { orderedAbove, orderedBelow } from '../../../shared-core/series/ordered-float.ts';
import { baseOfRate_us, TimeLevelBuilder } from '../../../shared-core/series/time-levels.ts';
import type { FrameColumns } from './block-file.ts';

/** Derived channels have levels from 1 s up. */
export const DERIVED_BASE_US = 1_000_000;

export interface LevelGroupRow {
  /** Rate group of the bench; −1, −2 … for the derived channels, a new number when their list changed. */
  readonly group: number;
  readonly base_us: number;
  /** Keys of derived channels by column; null for a group of the bench, whose table says. */
  readonly keys: readonly string[] | null;
}

export interface LevelRow {
  readonly group: number;
  readonly level: number;
  readonly chunk: number;
  readonly column: number;
  readonly body: Uint8Array;
}

export class SessionLevels {
  readonly #rates_mHz = new Map<number, number>();
  /** Null where the group's columns changed: its levels ended there. */
  readonly #builders = new Map<number, TimeLevelBuilder | null>();
  readonly #groups: LevelGroupRow[] = [];
  readonly #rows: LevelRow[] = [];
  #bytes = 0;
  #derived: DerivedLevels | null = null;
  #derivedGroup = 0;

  get groups(): readonly LevelGroupRow[] {
    return this.#groups;
  }

  get rows(): readonly LevelRow[] {
    return this.#rows;
  }

  /** Of the chunks that wait. */
  get bytes(): number {
    return this.#bytes;
  }

  /** The channel table says how fast each group is. */
  event(event: JournalEvent): void {
    if (event.side !== 'in' || event.body.kind !== 'table') return;
    for (const { group, rate_mHz } of event.body.table.groups) this.#rates_mHz.set(group, rate_mHz);
  }

  frames({ group, columns, times_us, values, from, to }: FrameColumns): void {
    if (columns === 0 || from === to) return;
    let builder = this.#builders.get(group);
    if (builder === undefined) {
      const base_us = baseOfRate_us(this.#rates_mHz.get(group) ?? Number.NaN);
      builder = new TimeLevelBuilder(columns, base_us, this.#sinkOf(group));
      this.#builders.set(group, builder);
      this.#groups.push({ group, base_us, keys: null });
    }
    if (builder === null) return;
    if (builder.columns !== columns) {
      builder.flush();
      this.#builders.set(group, null);
      return;
    }
    builder.push(times_us, values, to, from);
  }

  /** Values of derived channels after a frame; see `SessionWriter.derived`. */
  derived(t_us: number, keys: readonly string[], value: Float64Array, updated_us: Float64Array, from: number): void {
    if (this.#derived?.keys !== keys) {
      this.#derived?.flush();
      this.#derivedGroup--;
      this.#derived = new DerivedLevels(keys, this.#sinkOf(this.#derivedGroup));
      this.#groups.push({ group: this.#derivedGroup, base_us: DERIVED_BASE_US, keys });
    }
    this.#derived.add(t_us, value, updated_us, from);
  }

  /** Hands out all that is open, at the end of the session. */
  flush(): void {
    for (const builder of this.#builders.values()) builder?.flush();
    this.#builders.clear();
    this.#derived?.flush();
    this.#derived = null;
  }

  /** What was shown is durable. */
  settle(): void {
    this.#groups.length = 0;
    this.#rows.length = 0;
    this.#bytes = 0;
  }

  #sinkOf(group: number) {
    return (level: number, chunk: number, column: number, values: Parameters<typeof packChunk>[0]) => {
      const body = packChunk(values);
      this.#bytes += body.length;
      this.#rows.push({ group, level, chunk, column, body });
    };
  }
}

/** Extremes of the derived channels in the present second. */
class DerivedLevels {
  readonly keys: readonly string[];
  readonly #builder: TimeLevelBuilder;
  readonly #low: Float64Array;
  readonly #high: Float64Array;
  readonly #count: Int32Array;
  readonly #min: Int32Array;
  readonly #max: Int32Array;
  #step = -1;

  constructor(keys: readonly string[], sink: ConstructorParameters<typeof TimeLevelBuilder>[2]) {
    const n = keys.length;
    this.keys = keys;
    this.#builder = new TimeLevelBuilder(n, DERIVED_BASE_US, sink);
    this.#low = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
    this.#high = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
    this.#count = new Int32Array(n);
    this.#min = new Int32Array(n);
    this.#max = new Int32Array(n);
  }

  add(t_us: number, value: Float64Array, updated_us: Float64Array, from: number): void {
    const step = Math.floor(t_us / DERIVED_BASE_US);
    if (step > this.#step) {
      this.#close();
      this.#step = step;
    }
    const n = this.keys.length;
    for (let i = 0; i < n; i++) {
      if (updated_us[from + i] !== t_us) continue;
      const each = value[from + i]!;
      // Not good, or without bound: nothing that could be drawn.
      if (!Number.isFinite(each)) continue;
      if (each < this.#low[i]!) this.#low[i] = each;
      if (each > this.#high[i]!) this.#high[i] = each;
      this.#count[i] = this.#count[i]! + 1;
    }
  }

  flush(): void {
    this.#close();
    this.#builder.flush();
  }

  #close(): void {
    if (this.#step < 0) return;
    for (let i = 0; i < this.keys.length; i++) {
      if (this.#count[i] === 0) continue;
      this.#min[i] = orderedBelow(this.#low[i]!);
      this.#max[i] = orderedAbove(this.#high[i]!);
    }
    this.#builder.step(this.#step, this.#min, this.#max, this.#count);
    this.#low.fill(Number.POSITIVE_INFINITY);
    this.#high.fill(Number.NEGATIVE_INFINITY);
    this.#count.fill(0);
  }
}
