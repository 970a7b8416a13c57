/**
 * Sensor states of a block, as runs beside its numbers: how many good samples
 * come before each, how long it is, and its code. The bytes are specified at
 * the head of `block-codec.ts`.
 */
import { RAW_MAX } from '../channels/quality.ts';
import { DamagedBlockError } from './damaged-block.ts';
import type { ByteReader, ByteWriter } from './varint.ts';

const STATE_BASE = 2_147_483_648;

/** Triples: good samples before, length, code. Good until the next call of `readStateRuns`. */
export interface StateRuns {
  readonly runs: Int32Array;
  readonly count: number;
  /** Samples in all runs together. */
  readonly states: number;
}

/** Scratch, grown to the most runs seen. */
let scratch = new Int32Array(0);

export function writeStateRuns(values: Int32Array, n: number, writer: ByteWriter): void {
  let count = 0;
  for (let i = 0; i < n; i++) {
    const code = values[i]!;
    if (code < -RAW_MAX && (i === 0 || values[i - 1] !== code)) count++;
  }
  writer.unsigned(count);
  let before = 0;
  for (let i = 0; i < n; ) {
    const code = values[i]!;
    if (code >= -RAW_MAX) {
      before++;
      i++;
      continue;
    }
    let end = i + 1;
    while (end < n && values[end] === code) end++;
    writer.unsigned(before);
    writer.unsigned(end - i - 1);
    writer.unsigned(code + STATE_BASE);
    before = 0;
    i = end;
  }
}

/** @throws DamagedBlockError unless the runs are states and end within n samples */
export function readStateRuns(reader: ByteReader, n: number): StateRuns {
  const count = reader.unsigned();
  // Each run takes three bytes at least, which bounds what is allocated here.
  if (count === 0 || count > reader.left / 3) throw new DamagedBlockError(`${count} runs of states`);
  if (scratch.length < 3 * count) scratch = new Int32Array(3 * count);
  let states = 0;
  let at = 0;
  for (let i = 0; i < count; i++) {
    const before = reader.unsigned();
    const length = reader.unsigned() + 1;
    const code = reader.unsigned() - STATE_BASE;
    at += before + length;
    if (at > n) throw new DamagedBlockError('runs of states past the end');
    if (code >= -RAW_MAX) throw new DamagedBlockError('a state that is a number');
    scratch[3 * i] = before;
    scratch[3 * i + 1] = length;
    scratch[3 * i + 2] = code;
    states += length;
  }
  return { runs: scratch, count, states };
}

/** Puts the states between the `good` samples that stand at the front, from the end backwards. */
export function spreadStates(out: Int32Array, good: number, n: number, { runs, count }: StateRuns): void {
  // Good samples behind the last run.
  let before = good;
  for (let i = 0; i < count; i++) before -= runs[3 * i]!;
  let from = good;
  let to = n;
  for (let i = count - 1; ; i--) {
    out.copyWithin(to - before, from - before, from);
    from -= before;
    to -= before;
    if (i < 0) return;
    const length = runs[3 * i + 1]!;
    out.fill(runs[3 * i + 2]!, to - length, to);
    to -= length;
    before = runs[3 * i]!;
  }
}
