/** The frames of one rate group since the last long block, column by column; its arrays are kept for the next. */
import type { FrameColumns } from './block-file.ts';

export class GrowingSection {
  readonly group: number;
  readonly columns: number;
  frames = 0;
  /** Frames of commits before this one. */
  committed = 0;
  ords = new Float64Array(256);
  times_us = new Float64Array(256);
  values: Int32Array[];
  readonly predictors: Int8Array;

  constructor(group: number, columns: number) {
    this.group = group;
    this.columns = columns;
    this.values = Array.from({ length: columns }, () => new Int32Array(256));
    this.predictors = new Int8Array(columns).fill(-1);
  }

  add(ord: number, t_us: number, words: Int32Array, first: number): void {
    const at = this.frames;
    if (at === this.ords.length) this.#grow();
    this.ords[at] = ord;
    this.times_us[at] = t_us;
    const { values } = this;
    for (let c = 0; c < values.length; c++) values[c]![at] = words[first + c]!;
    this.frames = at + 1;
  }

  /** All frames, or those since the last commit. */
  view(isAll: boolean): FrameColumns {
    return { ...this.#shape(), from: isAll ? 0 : this.committed, to: this.frames };
  }

  clear(): void {
    this.frames = 0;
    this.committed = 0;
  }

  #shape() {
    const { group, columns, ords, times_us, values, predictors } = this;
    return { group, columns, ords, times_us, values, predictors };
  }

  #grow(): void {
    const length = 2 * this.ords.length;
    this.ords = grown(this.ords, new Float64Array(length));
    this.times_us = grown(this.times_us, new Float64Array(length));
    this.values = this.values.map((values) => grown(values, new Int32Array(length)));
  }
}

function grown<A extends Float64Array | Int32Array>(from: A, to: A): A {
  to.set(from);
  return to;
}
