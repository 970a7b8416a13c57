/** How reads split the bytes never changes the result. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { HostLineDecoder } from '../../shared-core/line/host-lines.ts';
import type { HostLine } from '../../shared-core/line/messages.ts';
import { bytesOf, type Call, hex, linesOf, RecordingSink, tableBodies, withCrc } from './line-support.ts';

/** Pieces of what may come over a line: good lines, bad lines, noise, ends of lines. */
const piece: fc.Arbitrary<Uint8Array> = fc.oneof(
  {
    weight: 6,
    arbitrary: fc
      .tuple(fc.nat(0xffff), fc.nat(9000), fc.integer({ min: -5000, max: 80_000 }))
      .map(([seq, rpm, thrust]) => linesOf(`S ${hex(seq, 4)} 00001000 1 ${rpm} ${thrust}`)),
  },
  { weight: 2, arbitrary: fc.constantFrom(...tableBodies).map((body) => linesOf(body)) },
  {
    weight: 1,
    arbitrary: fc
      .constantFrom('\n', '\r\n', '\r', '~', 'S 0007 0000', `${withCrc('Z 0001 00002000 x')}\r\n`)
      .map(bytesOf),
  },
  { weight: 1, arbitrary: fc.uint8Array({ maxLength: 40 }) },
  // Around the longest line: 512 bytes, and the CR that may be its last.
  {
    weight: 1,
    arbitrary: fc
      .tuple(
        fc.integer({ min: 505, max: 515 }),
        fc.constantFrom('', '\r', '\x01'),
        fc.constantFrom('', '\n', '\r\n', '\x01\n'),
      )
      .map(([length, last, end]) => bytesOf('x'.repeat(length - last.length) + last + end)),
  },
);

const stream = fc.array(piece, { maxLength: 40 }).map((pieces) => Uint8Array.from(pieces.flatMap((each) => [...each])));
const cuts = fc.array(fc.nat(5000), { maxLength: 60 });

function chunksOf(bytes: Uint8Array, at: readonly number[]): Uint8Array[] {
  const bounds = [0, ...at.filter((cut) => cut < bytes.length).sort((a, b) => a - b), bytes.length];
  return bounds.slice(1).map((to, i) => bytes.subarray(bounds[i], to));
}

function decoded(chunks: readonly Uint8Array[]): { calls: Call[]; counts: unknown; held: number } {
  const decoder = new LineDecoder();
  const sink = new RecordingSink();
  decoder.push(linesOf(...tableBodies), sink);
  for (const chunk of chunks) {
    decoder.push(chunk, sink);
    if (decoder.heldBytes >= 512) throw new Error(`expected less than a line held, got ${decoder.heldBytes}`);
  }
  return { calls: sink.calls, counts: decoder.counts, held: decoder.heldBytes };
}

describe('given any bytes with good and bad lines among them', () => {
  test('when they come in any pieces, then the sink is called and the counts stand as if they came whole', () => {
    fc.assert(
      fc.property(stream, cuts, (bytes, at) => {
        expect(decoded(chunksOf(bytes, at))).toEqual(decoded([bytes]));
      }),
      { numRuns: 400 },
    );
  });

  test('when they come byte by byte, then the same', () => {
    fc.assert(
      fc.property(stream, (bytes) => {
        expect(decoded([...bytes].map((byte) => Uint8Array.of(byte)))).toEqual(decoded([bytes]));
      }),
      { numRuns: 60 },
    );
  });

  test('when a bench reads them in any pieces, then it has the same host lines and counts', () => {
    const hostPiece = fc.oneof(
      fc
        .constantFrom('Q C0DE 0001 IDENTIFY', 'L C0DE 900', 'L C0DE 10', 'Q C0DE 0002 THROTTLE 350')
        .map((body) => linesOf(body)),
      piece,
    );
    const read = (chunks: readonly Uint8Array[]) => {
      const decoder = new HostLineDecoder();
      const lines: HostLine[] = [];
      for (const chunk of chunks) decoder.push(chunk, (line) => lines.push(line));
      return { lines, counts: decoder.counts };
    };
    fc.assert(
      fc.property(fc.array(hostPiece, { maxLength: 30 }), cuts, (pieces, at) => {
        const bytes = Uint8Array.from(pieces.flatMap((each) => [...each]));
        expect(read(chunksOf(bytes, at))).toEqual(read([bytes]));
      }),
      { numRuns: 200 },
    );
  });
});

test('given a stream longer than the buffer, when it is cut at every distance from 1 to 600, then nothing changes', () => {
  const bodies = Array.from(
    { length: 400 },
    (_, i) => `S ${hex(i + 7, 4)} 00001000 ${1 + (i % 3)} ${i * 37} ${i % 7 ? -i : 'O'}`,
  );
  const bytes = linesOf(...bodies);
  const whole = decoded([bytes]);
  expect(whole.calls.length).toBeGreaterThan(400);
  for (let step = 1; step <= 600; step += step < 20 ? 1 : 29) {
    const at = Array.from({ length: Math.ceil(bytes.length / step) }, (_, i) => i * step);
    expect(decoded(chunksOf(bytes, at)), `step ${step}`).toEqual(whole);
  }
});
