/**
 * The frames of an open block in the order of `ord`, all groups together.
 */
import type { OpenBlock, Section } from './block-file.ts';

/** One section unpacked, and the place in it. */
interface Run {
  readonly section: Section;
  readonly ords: Float64Array;
  readonly times_us: Float64Array;
  readonly values: readonly Int32Array[];
  at: number;
}

export class BlockFrames {
  readonly #runs: Run[];
  #run: Run | null = null;
  /** Ord from which another section comes first. */
  #until = Number.POSITIVE_INFINITY;
  #raw = new Int32Array(0);
  /** Of the present frame; infinite at the end. */
  ord = Number.POSITIVE_INFINITY;
  t_us = 0;

  /** Stands at the first frame at or after `fromOrd`. @throws BlockDamage */
  constructor(block: OpenBlock, fromOrd = 0) {
    this.#runs = block.sections.map((section) => {
      const ords = section.ords();
      let at = 0;
      while (at < ords.length && ords[at]! < fromOrd) at++;
      const values = Array.from({ length: section.columns }, (_, column) => section.column(column));
      return { section, ords, times_us: section.times_us(), values, at };
    });
    this.#choose();
  }

  get group(): number {
    return this.#run!.section.group;
  }

  /** The present frame's values; reused for the next one. */
  raw(): Int32Array {
    const { values, at } = this.#run!;
    if (this.#raw.length !== values.length) this.#raw = new Int32Array(values.length);
    const raw = this.#raw;
    for (let column = 0; column < raw.length; column++) raw[column] = values[column]![at]!;
    return raw;
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
