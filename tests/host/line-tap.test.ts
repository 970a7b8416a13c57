import { describe, expect, test } from 'vitest';
import { LineTap } from '../../electron/host/line-tap.ts';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { noCounts } from '../../shared-core/line/messages.ts';

/** From the examples of PROTOCOL.md: identity, its table of one group, samples, and damaged lines. */
const text = [
  'I 0000 000003E8 1.0 lapwing-bench 0.9.2 0017 5A10 2 4 2~1E59',
  'T 000E 00004E84 W fuel filter changed 3%25 ago~40D4',
  'S 0017 000084D0 3 17~1E7B',
  'S 0013 00007530 1 6123 31256~0000',
].join('\r\n');
const bytes = Uint8Array.from(`half a line\n${text}\n`, (character) => character.charCodeAt(0));

function heard(tap: LineTap, chunks: readonly Uint8Array[]) {
  const decoder = new LineDecoder();
  const ignore = () => {};
  const sink = {
    samples: ignore,
    identity: ignore,
    table: ignore,
    input: ignore,
    answer: ignore,
    text: ignore,
    fault: ignore,
    missing: ignore,
    wrongVersion: ignore,
  };
  for (const chunk of chunks) tap.pass(chunk, decoder.counts, 1000, (piece) => decoder.push(piece, sink));
  return decoder.counts;
}

describe('given a page that asks for lines', () => {
  test.each([
    { how: 'whole', size: bytes.length },
    { how: 'byte by byte', size: 1 },
    { how: 'in sevens', size: 7 },
  ])('when bytes come $how, then each whole line stands there with what became of it', ({ size }) => {
    const tap = new LineTap();
    expect(tap.take(0, 0)).toEqual({ lines: [], next: 1 });
    const chunks: Uint8Array[] = [];
    for (let at = 0; at < bytes.length; at += size) chunks.push(bytes.subarray(at, at + size));
    heard(tap, chunks);
    const { lines, next } = tap.take(1, 100);
    // The rest of the line under way when it was first asked is nobody's line.
    expect(lines.map((each) => [each.n, each.text.slice(0, 8), each.outcome])).toEqual([
      [1, 'I 0000 0', 'used'],
      [2, 'T 000E 0', 'used'],
      [3, 'S 0017 0', 'before-table'],
      [4, 'S 0013 0', 'bad-crc'],
    ]);
    expect(next).toBe(5);
    expect(tap.take(4, 200).lines.map((each) => each.n)).toEqual([4]);
  });

  test('when more than 200 came, then the newest 200 are kept, and numbers show the gap', () => {
    const tap = new LineTap();
    tap.take(0, 0);
    heard(tap, [Uint8Array.from('\nx\n'.padEnd(600, 'y\n'), (c) => c.charCodeAt(0))]);
    const { lines } = tap.take(1, 10);
    expect(lines).toHaveLength(200);
    expect(lines[0]!.n).toBeGreaterThan(1);
  });

  test('when it has not asked for more than five seconds, then nothing is tapped, and what was is let go', () => {
    const tap = new LineTap();
    tap.take(0, 0);
    expect(tap.isAsked(5000)).toBe(true);
    expect(tap.isAsked(5001)).toBe(false);
    heard(tap, [bytes]);
    expect(tap.take(0, 6000).lines).toEqual([]);
  });
});

test('given a count object, then it is read, never changed', () => {
  const counts = noCounts();
  const tap = new LineTap();
  tap.take(0, 0);
  tap.pass(Uint8Array.of(10, 120, 10), counts, 0, () => {});
  expect(counts).toEqual(noCounts());
  expect(tap.take(0, 1).lines[0]).toMatchObject({ text: 'x', outcome: 'passed', missing: 0 });
});
