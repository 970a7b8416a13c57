/**
 * What a fold remembers, written down so that it can go on from there: a
 * replay that goes to the eightieth hour need not fold the seventy-nine before.
 *
 * Each part of the pipeline has one method `remember(memory)` that passes all
 * that it keeps between two entries through the memory, in a fixed order. The
 * same method writes and puts back, so the two cannot differ. What follows
 * from rig sheet and channel table is not in it. Numbers stay the same to the
 * bit.
 */
import { decodeJson, encodeJson } from '../base/exact-json.ts';

/**
 * To be raised whenever any part computes or remembers otherwise: what was
 * written by another version is not gone on from, but folded anew.
 */
export const FOLD_VERSION = 2;

export interface FoldMemory {
  /** Begins a part; a name that is not the one written means another version. */
  part(name: string): void;
  /** The number itself when writing, the one written when putting back; so for all below. */
  number(value: number): number;
  flag(value: boolean): boolean;
  /** Filled in place. */
  array(values: Float64Array | Uint8Array): void;
  /** Anything that JSON can say, NaN and infinities too. */
  data<T>(value: T): T;
}

export interface SavedFold {
  readonly version: number;
  /** Names of the parts, and how much each wrote: the shape of what follows. */
  readonly shape: string;
  readonly numbers: Float64Array;
  readonly bytes: Uint8Array;
  /** An array, as exact JSON. */
  readonly data: string;
}

/** What was written does not fit: by another version, or for another rig sheet or table. */
export class FoldMisfit extends Error {
  override readonly name = 'FoldMisfit';
}

export class FoldWriter implements FoldMemory {
  readonly #numbers: number[] = [];
  readonly #bytes: number[] = [];
  readonly #data: unknown[] = [];
  readonly #shape: string[] = [];

  part(name: string): void {
    this.#shape.push(`${name}@${this.#numbers.length},${this.#bytes.length},${this.#data.length}`);
  }
  number(value: number): number {
    this.#numbers.push(value);
    return value;
  }
  flag(value: boolean): boolean {
    this.#bytes.push(value ? 1 : 0);
    return value;
  }
  array(values: Float64Array | Uint8Array): void {
    const into = values instanceof Float64Array ? this.#numbers : this.#bytes;
    for (let i = 0; i < values.length; i++) into.push(values[i]!);
  }
  data<T>(value: T): T {
    this.#data.push(value);
    return value;
  }

  saved(): SavedFold {
    this.part('end');
    return {
      version: FOLD_VERSION,
      shape: this.#shape.join(' '),
      numbers: Float64Array.from(this.#numbers),
      bytes: Uint8Array.from(this.#bytes),
      data: encodeJson(this.#data),
    };
  }
}

export class FoldReader implements FoldMemory {
  readonly #saved: SavedFold;
  readonly #shape: readonly string[];
  readonly #data: readonly unknown[];
  #part = 0;
  #number = 0;
  #byte = 0;
  #datum = 0;

  /** @throws FoldMisfit where another version wrote it */
  constructor(saved: SavedFold) {
    if (saved.version !== FOLD_VERSION) throw new FoldMisfit(`written by fold version ${saved.version}`);
    this.#saved = saved;
    this.#shape = saved.shape.split(' ');
    this.#data = decodeJson(saved.data) as unknown[];
  }

  /** @throws FoldMisfit where the parts so far are not as they were written */
  part(name: string): void {
    const found = `${name}@${this.#number},${this.#byte},${this.#datum}`;
    const written = this.#shape[this.#part++];
    if (found !== written) throw new FoldMisfit(`expected ${written}, got ${found}`);
  }
  number(): number {
    return this.#saved.numbers[this.#number++]!;
  }
  flag(): boolean {
    return this.#saved.bytes[this.#byte++] === 1;
  }
  array(values: Float64Array | Uint8Array): void {
    if (values instanceof Float64Array) {
      values.set(this.#saved.numbers.subarray(this.#number, this.#number + values.length));
      this.#number += values.length;
    } else {
      values.set(this.#saved.bytes.subarray(this.#byte, this.#byte + values.length));
      this.#byte += values.length;
    }
  }
  data<T>(): T {
    return this.#data[this.#datum++] as T;
  }

  /** @throws FoldMisfit where something is left */
  end(): void {
    this.part('end');
  }
}
