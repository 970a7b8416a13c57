/** Damage on the way: no wrong value comes out, nothing throws, and what is lost is counted exactly. */
import { describe, expect, test } from 'vitest';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { BenchLineEncoder } from '../../shared-core/line/encoder.ts';
import type { LineSink } from '../../shared-core/line/messages.ts';
import { bitwiseCrc16, hex, linesOf, RecordingSink, randomFrom, tableBodies, textOf } from './line-support.ts';

const LF = 0x0a;
/** Kind, running number and time. */
const HEAD_BYTES = 'S 0007 00001000'.length;

/** Notes samples as "group time values", and nothing else. */
class SampleNotes extends RecordingSink implements LineSink {
  notes: string[] = [];
  override samples(group: number, time_us32: number, raw: Int32Array, columns: number): void {
    this.notes.push(`${group} ${time_us32} ${raw.subarray(0, columns).join(' ')}`);
  }
  override fault(): void {}
  override missing(): void {}
  override text(): void {}
  override answer(): void {}
  override input(): void {}
}

/** The same notes, read plainly, of every line with a right CRC; lines are cut and checked here, not by our code. */
function plainNotes(bytes: Uint8Array): string[] {
  const notes: string[] = [];
  let from = 0;
  for (let lf = bytes.indexOf(LF); lf >= 0; from = lf + 1, lf = bytes.indexOf(LF, from)) {
    const end = bytes[lf - 1] === 0x0d ? lf - 1 : lf;
    const tilde = end - 5;
    if (tilde < from || bytes[from] !== 0x53 || bytes[tilde] !== 0x7e) continue;
    if (textOf(bytes.subarray(tilde + 1, end)) !== hex(bitwiseCrc16(bytes.subarray(from, tilde)), 4)) continue;
    const [, , time = '', group, ...values] = textOf(bytes.subarray(from, tilde)).split(' ');
    const raw = values.map((value) =>
      'OSVUX'.includes(value) ? -2_147_483_648 + 'OSVUX'.indexOf(value) + 1 : Number(value),
    );
    notes.push(`${group} ${Number.parseInt(time, 16)} ${raw.join(' ')}`);
  }
  return notes;
}

describe('given a million lines, each damaged in some way or left alone', () => {
  test('when they are decoded, then nothing throws and every value taken stood in a line with a right CRC', () => {
    const seed = 20_261_125;
    console.log(`mutated lines: seed ${seed}`);
    const random = randomFrom(seed);
    const below = (limit: number) => Math.floor(random() * limit);
    const decoder = new LineDecoder();
    const sink = new SampleNotes();
    decoder.push(linesOf(...tableBodies), sink);
    const encoder = new BenchLineEncoder(7);
    const raw = new Int32Array(2);
    let time_us = 1000;
    let sent = 0;
    let taken = 0;
    let plain = 0;
    let rest = new Uint8Array(0);
    let older: number[] = [];
    while (sent < 1_000_000) {
      const mutated: number[] = [];
      for (let i = 0; i < 500; i++, sent++) {
        time_us += 500;
        raw[0] = below(10 ** (1 + below(7))) - 500;
        raw[1] = random() < 0.05 ? -2_147_483_648 + 1 + below(5) : below(80_000);
        const kind = random();
        if (kind < 0.9) encoder.samples(kind < 0.6 ? 1 : 2, time_us, raw, kind < 0.6 ? 2 : 1);
        else if (kind < 0.95) encoder.event(0, 1, time_us);
        else encoder.text('N', `note ${below(1000)} %`, time_us);
        const line = [...encoder.take()];
        for (const byte of mutation([...line], older, below)) mutated.push(byte);
        if (i % 10 === 0) older = line;
      }
      const bytes = Uint8Array.from(mutated);
      decoder.push(bytes, sink);
      // The plain reading needs the end of the stretch before, where it had no LF yet.
      const joined = new Uint8Array(rest.length + bytes.length);
      joined.set(rest);
      joined.set(bytes, rest.length);
      const whole = joined.lastIndexOf(LF) + 1;
      rest = joined.slice(whole);
      const expected = plainNotes(joined.subarray(0, whole));
      plain += expected.length;
      taken += sink.notes.length;
      let at = 0;
      for (const note of sink.notes) {
        while (at < expected.length && expected[at] !== note) at++;
        if (at++ >= expected.length) throw new Error(`seed ${seed}: "${note}" was in no line with a right CRC`);
      }
      sink.notes = [];
    }
    const { counts } = decoder;
    console.log(`mutated lines: ${taken} sample lines taken of ${plain} with a right CRC; ${JSON.stringify(counts)}`);
    // The damage did reach every count that damage can raise, and left something to take.
    expect(taken).toBeGreaterThan(200_000);
    for (const kind of [
      'garbage',
      'too-long',
      'no-crc',
      'bad-crc',
      'bad-form',
      'field-count',
      'unknown-kind',
      'time-back',
    ] as const) {
      expect(counts.faults[kind], kind).toBeGreaterThan(0);
    }
  });
});

/** A line damaged in one of many ways; four in ten are left alone. */
function mutation(line: number[], older: readonly number[], below: (limit: number) => number): number[] {
  const at = below(line.length);
  switch (below(20)) {
    case 0:
      line[at] = (line[at] ?? 0) ^ (1 << below(8));
      return line;
    case 1:
      for (let i = 0; i < 3; i++) line[below(line.length)] = below(256);
      return line;
    case 2:
      line.splice(at, 1 + below(4));
      return line;
    case 3:
      line.splice(at, 0, below(256));
      return line;
    case 4:
      return line.slice(0, at);
    case 5:
      return line.slice(at);
    case 6:
      // Twice, or an older one once more.
      return [...line, ...(below(2) === 0 ? line : older)];
    case 7:
      return [];
    case 8:
      return line.slice(0, -1);
    case 9:
      return below(10) === 0 ? [...Array.from({ length: below(1500) }, () => 0x20 + below(95)), ...line] : line;
    case 10: {
      // Another kind or value, and the CRC made good again: the form is all that is left to judge. Number and time
      // stay, for a bench that jumps ahead in time is rightly not heard until it is there.
      const body = line.slice(0, -6);
      const place = below(8) === 0 ? 0 : HEAD_BYTES + below(body.length - HEAD_BYTES);
      body[place] = [0x30, 0x20, 0x2d, 0x39, 0x4f, 0x5a, 0x41][below(7)] ?? 0x30;
      if (below(4) === 0) body.splice(place, 1);
      const crc = hex(bitwiseCrc16(Uint8Array.from(body)), 4);
      return [...body, 0x7e, ...Array.from(crc, (digit) => digit.charCodeAt(0)), LF];
    }
    case 11:
      return [...line.slice(0, -1), 0x0d, LF];
    default:
      return line;
  }
}

describe('given 200,000 lines with 1 to 3 bits flipped in one of a hundred', () => {
  test('when they are decoded, then no value is wrong and `missing` is exactly what was lost', () => {
    const seed = 4242;
    console.log(`bit flips: seed ${seed}`);
    const random = randomFrom(seed);
    const below = (limit: number) => Math.floor(random() * limit);
    const encoder = new BenchLineEncoder(7);
    const raw = new Int32Array(2);
    const sentNotes = new Map<string, number>();
    const decoder = new LineDecoder();
    const sink = new SampleNotes();
    decoder.push(linesOf(...tableBodies), sink);
    const count = 200_000;
    let flipped = 0;
    for (let i = 0; i < count; i++) {
      raw[0] = below(9000);
      raw[1] = below(85_000) - 5000;
      encoder.samples(1, 1000 + i * 1000, raw, 2);
      sentNotes.set(`1 ${1000 + i * 1000} ${raw.join(' ')}`, i);
      const line = encoder.take();
      // The last line stays whole: what is lost behind the last accepted line cannot be known yet.
      if (below(100) === 0 && i < count - 1) {
        flipped++;
        for (let bits = 1 + below(3); bits > 0; bits--) {
          const at = below(line.length);
          line[at] = (line[at] ?? 0) ^ (1 << below(8));
        }
      }
      decoder.push(line, sink);
    }
    const wrong = sink.notes.filter((note) => !sentNotes.has(note));
    const lost = count - sink.notes.length;
    console.log(`bit flips: ${flipped} lines flipped, ${lost} lost, ${decoder.counts.missing} counted missing`);
    expect(flipped).toBeGreaterThan(1500);
    expect(wrong).toEqual([]);
    expect(lost).toBeGreaterThan(flipped * 0.9);
    expect(decoder.counts.missing).toBe(lost);
  });
});

describe('given a megabyte of noise without LF', () => {
  test('when it is decoded, then less than a line is held, it is counted once, and the next line is taken', () => {
    const random = randomFrom(9600);
    const decoder = new LineDecoder();
    const sink = new RecordingSink();
    decoder.push(linesOf(...tableBodies), sink);
    sink.take();
    for (let i = 0; i < 4096; i++) {
      const noise = Uint8Array.from({ length: 256 }, () => Math.floor(random() * 256)).map((byte) =>
        byte === LF ? 0 : byte,
      );
      decoder.push(noise, sink);
      expect(decoder.heldBytes).toBeLessThan(512);
    }
    decoder.push(Uint8Array.from([LF, ...linesOf('S 0007 00001000 1 1 2')]), sink);
    expect(sink.take().map(([name]) => name)).toEqual(['fault', 'samples']);
    expect(decoder.counts.faults.garbage).toBe(1);
  });
});
