/** What a bench encodes, a host decodes; and the fast reader of sample lines agrees with a plain one. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type QualityCode, RAW_MAX, rawOfQuality } from '../../shared-core/channels/quality.ts';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { BenchLineEncoder, hostCommandLine, hostLeaseLine } from '../../shared-core/line/encoder.ts';
import { hex4Text } from '../../shared-core/line/hex.ts';
import { HostLineDecoder } from '../../shared-core/line/host-lines.ts';
import type { BenchCommand, HostLine } from '../../shared-core/line/messages.ts';
import { SampleLine } from '../../shared-core/line/sample-line.ts';
import { bytesOf, type Call, RecordingSink, withCrc } from './line-support.ts';

const wordLetters = 'ABCXYZabcxyz0189._-/%[]';
const word = fc.string({ unit: fc.constantFrom(...wordLetters), minLength: 1, maxLength: 24 });
const field = fc.string({
  unit: fc.integer({ min: 0x21, max: 0x7d }).map((code) => String.fromCharCode(code)),
  minLength: 1,
  maxLength: 30,
});
const hex4 = fc.nat(0xffff).map(hex4Text);
const raw = fc.oneof(
  fc.integer({ min: -RAW_MAX, max: RAW_MAX }),
  fc.integer({ min: -99_999, max: 99_999 }),
  fc.constantFrom(0, 9, 10, -1, 9999, 10_000, RAW_MAX, -RAW_MAX),
  fc.integer({ min: 1, max: 5 }).map((code) => rawOfQuality(code as QualityCode)),
);

/** A table of one group with `columns` columns and two inputs, sent by `encoder`. */
function sendTable(encoder: BenchLineEncoder, columns: number): void {
  const layout = '0A0B';
  encoder.identity(
    { version: '1.0', bench: 'b', firmware: '1', boot: '0001', layout, groups: 1, channels: columns, inputs: 2 },
    0,
  );
  encoder.group(layout, { group: 3, rate_mHz: 100_000, columns }, 0);
  for (let column = 0; column < columns; column++) {
    const place = { channel: column, group: 3, column, key: `c${column}`, quantity: 'q', unit: '1' };
    encoder.channel(layout, { ...place, decimals: 0, low: 0, high: 1 }, 0);
  }
  encoder.input(layout, { input: 0, key: 'stop', word0: 'open', word1: 'closed' }, 0);
  encoder.input(layout, { input: 1, key: 'cage', word0: 'open', word1: 'closed' }, 0);
}

describe('given a bench that sends anything it may', () => {
  const message = fc.oneof(
    { weight: 4, arbitrary: fc.tuple(fc.constant('samples' as const), fc.array(raw, { minLength: 5, maxLength: 5 })) },
    fc.tuple(fc.constant('event' as const), fc.nat(1), fc.constantFrom(0 as const, 1 as const, 'X' as const)),
    fc.tuple(
      fc.constant('text' as const),
      fc.constantFrom('N' as const, 'W' as const, 'F' as const),
      fc.string({ unit: 'binary', minLength: 1, maxLength: 30 }),
    ),
    fc.tuple(fc.constant('accepted' as const), hex4, hex4, fc.array(field, { maxLength: 5 })),
    fc.tuple(fc.constant('refused' as const), hex4, hex4, word, fc.array(field, { maxLength: 5 })),
  );

  test('when a host reads it, then it has exactly that, nothing is missing and nothing is counted', () => {
    fc.assert(
      fc.property(fc.array(message, { maxLength: 30 }), fc.nat(0xffff), (messages, firstSeq) => {
        const encoder = new BenchLineEncoder(firstSeq);
        sendTable(encoder, 5);
        const expected: Call[] = [];
        // Steps of 20 minutes: the time wraps on the way.
        let time_us = 0;
        for (const each of messages) {
          time_us += 1_200_000_000;
          const time_us32 = time_us % 2 ** 32;
          if (each[0] === 'samples') {
            encoder.samples(3, time_us, Int32Array.from(each[1]), 5);
            expected.push(['samples', 3, time_us32, each[1]]);
          } else if (each[0] === 'event') {
            encoder.event(each[1], each[2], time_us);
            expected.push(['input', each[1], each[2], time_us32]);
          } else if (each[0] === 'text') {
            encoder.text(each[1], each[2], time_us);
            expected.push(['text', each[1], each[2], time_us32]);
          } else if (each[0] === 'accepted') {
            const [, host, id, fields] = each;
            encoder.accepted(host, id, fields, time_us);
            expected.push(['answer', { kind: 'accepted', host, id, fields }, time_us32]);
          } else {
            const [, host, id, reason, words] = each;
            encoder.refused(host, id, reason, words, time_us);
            expected.push(['answer', { kind: 'refused', host, id, reason, words }, time_us32]);
          }
        }
        const decoder = new LineDecoder();
        const sink = new RecordingSink();
        decoder.push(encoder.take(), sink);
        expect(sink.calls.slice(2)).toEqual(expected);
        expect(sink.calls.slice(0, 2).map(([name]) => name)).toEqual(['identity', 'table']);
        expect(decoder.counts.missing).toBe(0);
        expect(Object.values(decoder.counts.faults).every((count) => count === 0)).toBe(true);
      }),
      { numRuns: 300 },
    );
  });
});

describe('given a host that sends anything it may', () => {
  const command: fc.Arbitrary<BenchCommand> = fc.oneof(
    fc
      .constantFrom(...(['IDENTIFY', 'TARE-THRUST', 'TARE-TORQUE', 'RESET-FUEL', 'ZERO-FUEL'] as const))
      .map((name) => ({ name })),
    fc.nat(1000).map((permille) => ({ name: 'THROTTLE' as const, permille })),
    fc
      .tuple(fc.constantFrom(...(['SERVO', 'IGNITION', 'STARTER', 'SUPPLY', 'FAN'] as const)), fc.boolean())
      .map(([name, on]) => ({ name, on })),
  );

  test('when a bench reads it, then it has exactly that', () => {
    fc.assert(
      fc.property(hex4, hex4, command, fc.constantFrom(0, 300, 900, 5000), (host, id, sent, ms) => {
        const decoder = new HostLineDecoder();
        const lines: HostLine[] = [];
        const take = (line: HostLine) => lines.push(line);
        decoder.push(hostCommandLine(host, id, sent), take);
        decoder.push(hostLeaseLine(host, ms), take);
        const args = 'permille' in sent ? [String(sent.permille)] : 'on' in sent ? [sent.on ? '1' : '0'] : [];
        expect(lines).toEqual([
          { kind: 'command', host, id, name: sent.name, args },
          { kind: 'lease', host, ms },
        ]);
      }),
    );
  });
});

describe('given bodies near the form of a sample line', () => {
  const form = /^S [0-9A-F]{4} [0-9A-F]{8} [1-9]( (0|-?[1-9][0-9]{0,9}|[OSVUX]))+$/;
  /** The plain reading: by the grammar of PROTOCOL.md, parts 3 and 6. */
  const plain = (body: string): number[] | undefined => {
    if (!form.test(body)) return undefined;
    const values = body
      .split(' ')
      .slice(4)
      .map((text) =>
        'OSVUX'.includes(text) ? rawOfQuality(('OSVUX'.indexOf(text) + 1) as QualityCode) : Number(text),
      );
    return values.every((value) => value < -RAW_MAX || value <= RAW_MAX) &&
      values.every((value, i) => value >= -RAW_MAX || 'OSVUX'.includes(body.split(' ')[i + 4] ?? ''))
      ? values
      : undefined;
  };
  const token = fc.oneof(
    { weight: 8, arbitrary: fc.integer({ min: -RAW_MAX, max: RAW_MAX }).map(String) },
    { weight: 4, arbitrary: fc.integer({ min: -99_999, max: 999_999 }).map(String) },
    { weight: 2, arbitrary: fc.constantFrom('O', 'S', 'V', 'U', 'X') },
    { weight: 1, arbitrary: fc.string({ unit: fc.constantFrom(...'0123456789-OX a'), maxLength: 12 }) },
  );
  const body = fc
    .tuple(
      fc.constantFrom(
        'S 0007 00001000 1',
        'S 0007 00001000 1',
        'S FFFF FFFFFFFF 9',
        'S 0007 0000100g 1',
        'S 0007 00001000 0',
      ),
      fc.array(token, { maxLength: 60 }),
    )
    .map(([head, tokens]) => [head, ...tokens].join(' '));

  test('when the fast reader reads them, then it takes those of the grammar, with their values, and no others', () => {
    const line = new SampleLine();
    fc.assert(
      fc.property(body, fc.constantFrom('\n', '\r\n'), (text, end) => {
        const bytes = new Uint8Array(1024);
        const sent = bytesOf(withCrc(text) + end);
        bytes.set(sent, 3);
        const next = line.read(bytes, new DataView(bytes.buffer), 3);
        const values = sent.length <= 512 ? plain(text) : undefined;
        expect(next).toBe(values === undefined ? -1 : 3 + sent.length);
        if (values !== undefined) expect([...line.raw.subarray(0, line.count)]).toEqual(values);
      }),
      { numRuns: 4000 },
    );
  });
});
