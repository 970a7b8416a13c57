/**
 * The frames of an open block in the order of `ord`, all groups together.
 */
import type { OpenBlock, Section } from './block-file.ts';

/** Frames turned from columns into rows at a time, so that the rows stay in the nearest cache. */
const TILE = 64;

/** One section unpacked, and the place in it. */
class Run {
  readonly section: Section;
  readonly ords: Float64Array;
  readonly times_us: Float64Array;
  readonly #values: readonly Int32Array[];
  readonly #tile: Int32Array;
  readonly #rows: readonly Int32Array[];
  #tileFrom = Number.NEGATIVE_INFINITY;
  at = 0;

  constructor(section: Section) {
    const { columns } = section;
    this.section = section;
    this.ords = section.ords();
    this.times_us = section.times_us();
    this.#values = Array.from({ length: columns }, (_, column) => section.column(column));
    const tile = new Int32Array(TILE * columns);
    this.#tile = tile;
    this.#rows = Array.from({ length: TILE }, (_, i) => tile.subarray(i * columns, (i + 1) * columns));
  }

  row(): Int32Array {
    const place = this.at - this.#tileFrom;
    if (place < TILE) return this.#rows[place]!;
    this.#turn();
    return this.#rows[0]!;
  }

  #turn(): void {
    const from = this.at;
    const to = Math.min(from + TILE, this.ords.length);
    const columns = this.#values.length;
    const tile = this.#tile;
    for (let column = 0; column < columns; column++) {
      const values = this.#values[column]!;
      for (let i = from, at = column; i < to; i++, at += columns) tile[at] = values[i]!;
    }
    this.#tileFrom = from;
  }
}

export class BlockFrames {
  readonly #runs: Run[];
  #run: Run | null = null;
  /** Ord from which another section comes first. */
  #until = Number.POSITIVE_INFINITY;
  /** Of the present frame; infinite at the end. */
  ord = Number.POSITIVE_INFINITY;
  t_us = 0;

  /** Stands at the first frame at or after `fromOrd`. @throws BlockDamage */
  constructor(block: OpenBlock, fromOrd = 0) {
    this.#runs = block.sections.map((section) => {
      const run = new Run(section);
      while (run.at < run.ords.length && run.ords[run.at]! < fromOrd) run.at++;
      return run;
    });
    this.#choose();
  }

  get group(): number {
    return this.#run!.section.group;
  }

  /** The present frame's values; reused for later ones. */
  raw(): Int32Array {
    return this.#run!.row();
  }

  next(): void {
    const run = this.#run!;
    const at = run.at + 1;
    run.at = at;
    const ord = at < run.ords.length ? run.ords[at]! : Number.POSITIVE_INFINITY;
    if (ord > this.#until) this.#choose();
    else if (ord === Number.POSITIVE_INFINITY) this.ord = ord;
    else {
      this.ord = ord;
      this.t_us = run.times_us[at]!;
    }
  }

  #choose(): void {
    let first: Run | null = null;
    let firstOrd = Number.POSITIVE_INFINITY;
    let second = Number.POSITIVE_INFINITY;
    for (const run of this.#runs) {
      const ord = run.at < run.ords.length ? run.ords[run.at]! : Number.POSITIVE_INFINITY;
      if (ord < firstOrd) {
        second = firstOrd;
        firstOrd = ord;
        first = run;
      } else if (ord < second) second = ord;
    }
    this.#run = first;
    this.#until = second;
    this.ord = firstOrd;
    if (first !== null) this.t_us = first.times_us[first.at]!;
  }
}
