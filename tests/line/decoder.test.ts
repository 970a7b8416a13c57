/** Damage, length, running number, time. Joining, boots and versions are in `decoder-table.test.ts`. */
import { describe, expect, test } from 'vitest';
import { Bench, bytesOf, type Call, linesOf, withCrc } from './line-support.ts';

const S7 = 'S 0007 00001000 1 6123 31255';
const S8 = 'S 0008 00002000 1 6124 31256';
const good7: Call = ['samples', 1, 0x1000, [6123, 31_255]];
const good8: Call = ['samples', 1, 0x2000, [6124, 31_256]];

describe('given a line that breaks several rules, then the first of the table counts', () => {
  test.each([
    ['garbage', `S \x07${'1'.repeat(600)}`],
    ['garbage', `S 0007 00001000 1 6123\t31255`],
    ['garbage', 'S 0007\r 00001000 1 6123 31255~0000'],
    ['garbage', 'S 0007 \x80~12a4'],
    ['too-long', '1'.repeat(512)],
    ['no-crc', `S${'1'.repeat(510)}`],
    ['no-crc', 'S 01 x~12a4'],
    ['no-crc', '~123'],
    ['no-crc', `${withCrc(S7)} `],
    ['bad-crc', 'S 01 x~0000'],
    ['bad-crc', '~FFFE'],
    ['bad-form', withCrc('S 0007 00001000 3 01')],
    ['field-count', withCrc('S 0007 00000000 1 1')],
    ['field-count', withCrc('S 0007 00000000 1 1 2 3')],
    ['before-table', withCrc('S 0007 00000000 3 1')],
    ['before-table', withCrc('E 0007 00000000 1 1')],
    ['unknown-kind', withCrc('Z 0007 00000000 whatever')],
    ['time-back', withCrc('S 0007 00000001 1 1 2')],
    ['time-back', withCrc('E 0007 80000008 0 1')],
    ['time-back', withCrc('T 0007 80000007 N late')],
  ] as const)('%s', (kind, line) => {
    const bench = new Bench();
    const { accepted } = bench.decoder.counts;
    const calls = bench.pushText(`${line}\n`);
    expect(bench.faults).toEqual([[kind, 1]]);
    expect(bench.decoder.counts.accepted).toBe(accepted);
    expect(calls.map(([name]) => name)).toEqual(['fault']);
  });
});

describe('given the longest lines', () => {
  const words = (count: number) => `A 0007 00001000 C0DE 0001 ${'x'.repeat(count)}`;
  // 512 bytes with LF: body 506, `~` and CRC 5, LF 1.
  const longest = words(506 - words(0).length);

  test('when a line has 512 bytes with its LF, then it is taken', () => {
    expect(bytesOf(`${withCrc(longest)}\n`)).toHaveLength(512);
    expect(new Bench().push(longest).map(([name]) => name)).toEqual(['answer']);
  });

  test('when a sample line has 513 bytes, then it is too long, whatever it holds', () => {
    const bench = new Bench();
    const body = `S 0007 00001000 1 ${'1 '.repeat(244)}1`;
    expect(bytesOf(`${withCrc(body)}\n`)).toHaveLength(513);
    bench.push(body);
    expect(bench.faults).toEqual([['too-long', 1]]);
  });

  test('when CR makes it 513, then it is too long', () => {
    const bench = new Bench();
    bench.pushText(`${withCrc(longest)}\r\n`);
    expect(bench.faults).toEqual([['too-long', 1]]);
  });

  test('when a line never ends, then it is counted at once, once, and the next line is taken', () => {
    const bench = new Bench();
    expect(bench.pushText('x'.repeat(511))).toEqual([]);
    expect(bench.pushText('x')).toEqual([['fault', 'too-long', 'x'.repeat(80)]]);
    expect(bench.decoder.heldBytes).toBe(0);
    expect(bench.pushText('x'.repeat(100_000))).toEqual([]);
    expect(bench.pushText(`\n${withCrc(S7)}\n`)).toEqual([good7]);
  });
});

describe('given CR and empty lines', () => {
  test('when every line ends in CR LF and empty ones stand between, then nothing is counted', () => {
    const bench = new Bench();
    expect(bench.pushText(`\n\r\n${withCrc(S7)}\r\n\r\n\n${withCrc(S8)}\r\n`)).toEqual([good7, good8]);
    expect(bench.faults).toEqual([]);
  });

  test('when two CR stand before LF, then the first is garbage', () => {
    const bench = new Bench();
    bench.pushText(`${withCrc(S7)}\r\r\n\r\r\n`);
    expect(bench.faults).toEqual([['garbage', 2]]);
  });
});

describe('given garbage', () => {
  test('when it stands in a line, then that line is lost, shown with dots, and the next is taken', () => {
    const bench = new Bench();
    expect(bench.pushBytes(Uint8Array.from([0x53, 0x20, 0, 255, 0x7f, 0x0a, ...linesOf(S8)]))).toEqual([
      ['fault', 'garbage', 'S ...'],
      ['missing', 1],
      good8,
    ]);
  });
});

describe('given the running number', () => {
  test.each([
    ['S 0007 00001000 1 6123 31255', 0],
    ['S 0008 00001000 1 6123 31255', 1],
    ['S FFFF 00001000 1 6123 31255', 65_528],
    ['S 0006 00001000 1 6123 31255', 65_535],
  ])('when 0006 is followed by %s, then %i are missing', (body, missing) => {
    const bench = new Bench();
    expect(bench.push(body)).toEqual([...(missing ? [['missing', missing]] : []), good7]);
    expect(bench.decoder.counts.missing).toBe(missing);
  });

  test('when lines arrive that say nothing to us, then they are not missing', () => {
    const bench = new Bench();
    bench.push('Z 0007 00001000 new', 'S 0008 00001000 1 1', 'S 0009 00001000 7 1', S7.replace('0007', '000A'));
    expect(bench.decoder.counts.missing).toBe(0);
    expect(bench.faults).toEqual([
      ['field-count', 1],
      ['before-table', 1],
      ['unknown-kind', 1],
    ]);
  });

  test('when a line of unknown kind has a time that goes back, then its number is not believed', () => {
    const bench = new Bench();
    expect(bench.push('Z 0500 00000001 old', S7).slice(1)).toEqual([good7]);
  });

  test('when lines of bad form come, then they are missing like damaged ones', () => {
    const bench = new Bench();
    expect(bench.push('S 0007 00001000 1 01 1', S8).slice(1)).toEqual([['missing', 1], good8]);
  });
});

test('given time at the edge of half its range, then 2^31 − 1 µs on is forward and 2^31 is back', () => {
  expect(new Bench().push('S 0007 80000006 1 1 1').map(([name]) => name)).toEqual(['samples']);
  expect(new Bench().push('S 0007 80000007 1 1 1').map(([name]) => name)).toEqual(['fault']);
  expect(new Bench().push('S 0007 00000007 1 1 1').map(([name]) => name)).toEqual(['samples']);
  expect(new Bench().push('S 0007 00000006 1 1 1').map(([name]) => name)).toEqual(['fault']);
});

test('given a chunk far larger than the buffer, when it is pushed whole, then every line of it comes out', () => {
  const bench = new Bench();
  const bodies = Array.from({ length: 5000 }, (_, i) => {
    const seq = (i + 7).toString(16).toUpperCase().padStart(4, '0');
    return `S ${seq} ${(i + 100).toString(16).toUpperCase().padStart(8, '0')} 1 ${i} ${-i || 0}`;
  });
  const calls = bench.push(...bodies);
  expect(calls).toHaveLength(5000);
  expect(calls.at(-1)).toEqual(['samples', 1, 5099, [4999, -4999]]);
  expect(bench.decoder.counts.missing).toBe(0);
});

test('given hex digits in lower case where case is free, then they are told in upper case', () => {
  const bench = new Bench();
  expect(bench.push('A 0007 00001000 c0de 00ab')[0]?.[1]).toMatchObject({ host: 'C0DE', id: '00AB' });
});
