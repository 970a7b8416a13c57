/** What depends on the lines before: damage, joining, running number, time, table, versions. */
import { describe, expect, test } from 'vitest';
import { Bench, bytesOf, type Call, linesOf, tableBodies, withCrc } from './line-support.ts';

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

describe('given a host that joins', () => {
  test('when it begins in the middle of a line, then that line is dropped and not counted', () => {
    const bench = new Bench([]);
    bench.pushText(`3 31255~1B3B\n`);
    bench.push(...tableBodies);
    expect(bench.faults).toEqual([]);
    expect(bench.decoder.counts).toMatchObject({ accepted: 7, missing: 0 });
  });

  test('when it begins in the middle of noise without end, then that is not counted either, but the next damage is', () => {
    const bench = new Bench([]);
    expect(bench.pushText(`${'\x01'.repeat(2000)}\n`)).toEqual([]);
    expect(bench.pushText('noise\n')).toEqual([['fault', 'no-crc', 'noise']]);
  });

  test('when the first line is whole, then it is used', () => {
    expect(new Bench([]).push(...tableBodies.slice(0, 1)).map(([name]) => name)).toEqual(['identity']);
  });

  test('when samples come before the table, then they are counted as such and nothing is missing', () => {
    const bench = new Bench([]);
    bench.push('S 0100 00001000 1 5 5', 'S 0101 00001001 1 5 5', 'T 0102 00001002 N joined');
    expect(bench.faults).toEqual([['before-table', 2]]);
    expect(bench.decoder.counts.missing).toBe(0);
  });

  test('when the rows come before the identity, then the table is complete with it', () => {
    const bench = new Bench([]);
    const [identity = '', ...rows] = tableBodies;
    const calls = bench.push(...rows, identity.replace('0000 00000001', '0007 00000008'));
    expect(calls.map(([name]) => name)).toEqual(['identity', 'table']);
  });

  test('when rows come in any order and more than once, then the table is told once, in order of numbers', () => {
    const bench = new Bench([]);
    const bodies = [...tableBodies.slice(3).reverse(), ...tableBodies.slice(0, 3), ...tableBodies.slice(1)];
    const calls = bench.push(
      ...bodies.map((body, i) => body.replace(/^(.) \S+ \S+/, `$1 000${i.toString(16).toUpperCase()} 00000100`)),
    );
    expect(calls.filter(([name]) => name === 'table')).toHaveLength(1);
    expect(bench.decoder.table?.channels.map((row) => row.key)).toEqual(['rpm', 'thrust', 'cht1']);
  });

  test.each([
    ['a column is named twice', 4, 'C 0004 00000005 5A10 1 1 0 thrust thrust N 2 -5000 80000'],
    ['a column is past its group', 4, 'C 0004 00000005 5A10 1 1 2 thrust thrust N 2 -5000 80000'],
    ['a group is not there', 4, 'C 0004 00000005 5A10 1 3 1 thrust thrust N 2 -5000 80000'],
    ['a group has a column more', 1, 'G 0001 00000002 5A10 1 100000 3'],
    ['a row has another layout', 6, 'D 0006 00000007 5A11 0 stop open closed'],
  ])('when %s, then the table is not complete', (_, index, body) => {
    const bench = new Bench(tableBodies.with(index, body));
    expect(bench.decoder.table).toBeNull();
    bench.push(S7);
    expect(bench.faults).toEqual([['before-table', 1]]);
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

  test('when lines of bad form come, then they are missing like damaged ones', () => {
    const bench = new Bench();
    expect(bench.push('S 0007 00001000 1 01 1', S8).slice(1)).toEqual([['missing', 1], good8]);
  });
});

describe('given a reopened port', () => {
  test('when lines come after a gap, then nothing is missing, time may be anything, and the table still holds', () => {
    const bench = new Bench();
    bench.push('S 0007 70001000 1 6123 31255');
    bench.pushText('S 0008 half a li');
    bench.decoder.rejoin();
    expect(bench.decoder.heldBytes).toBe(0);
    expect(bench.pushText(`ne~0000\n${withCrc(S8.replace('0008', '1234'))}\n`)).toEqual([good8]);
    expect(bench.faults).toEqual([]);
  });

  test('when the bench has rebooted meanwhile, then lines before its identity make nothing missing', () => {
    const bench = new Bench();
    bench.decoder.rejoin();
    bench.push('T 0123 00005000 N up', 'I 0124 00005001 1.0 bench 1.2 0A02 5A10 2 3 1');
    expect(bench.decoder.counts.missing).toBe(0);
    expect(bench.decoder.table).toBeNull();
  });
});

describe('given a reboot', () => {
  const identity = 'I 0000 00000001 1.0 bench 1.2 0A02 5A10 2 3 1';

  test('when the identity has a new boot, then number and time begin anew and the table is collected anew', () => {
    const bench = new Bench();
    bench.push('S 0007 70000000 1 6123 31255');
    const calls = bench.push(identity, 'S 0001 00000002 1 1 1');
    expect(calls.map(([name]) => name)).toEqual(['identity', 'fault']);
    expect(calls[0]?.[3]).toBe(true);
    expect(bench.faults).toEqual([['before-table', 1]]);
    const rows = tableBodies.slice(1).map((body, i) => body.replace(/^(.) \S+ \S+/, `$1 000${i + 2} 00001000`));
    expect(bench.push(...rows).map(([name]) => name)).toEqual(['table']);
    expect(bench.decoder.counts.missing).toBe(0);
  });

  test('when the first identity was lost, then time goes back until the next, and all lines before it are missing', () => {
    const bench = new Bench();
    bench.push('S 0007 70000000 1 6123 31255');
    bench.push(
      'G 0001 00000002 5A10 1 100000 2',
      'S 0002 00000003 1 1 1',
      identity.replace('0000 00000001', '0003 00000004'),
    );
    expect(bench.faults).toEqual([['time-back', 2]]);
    expect(bench.decoder.counts.missing).toBe(3);
  });

  test('when the identity is the known one, then it is no new boot', () => {
    const bench = new Bench();
    const calls = bench.push('I 0007 00001000 1.0 bench 1.2 0A01 5A10 2 3 1');
    expect(calls).toHaveLength(1);
    expect(calls[0]?.[3]).toBe(false);
    expect(bench.decoder.table).not.toBeNull();
  });
});

test('given a new layout, when its identity comes, then the table goes but the running number goes on', () => {
  const bench = new Bench();
  const calls = bench.push('I 0007 00001000 1.0 bench 1.2 0A01 5A11 2 3 1', S8);
  expect(calls.map(([name]) => name)).toEqual(['identity', 'fault']);
  expect(calls[0]?.[3]).toBe(true);
  expect(bench.decoder.counts.missing).toBe(0);
  expect(bench.faults).toEqual([['before-table', 1]]);
});

describe('given versions', () => {
  const other = 'I 0007 00001000 2.0 anything';

  test('when another major version comes, then it is told once and nothing is read until it changes', () => {
    const bench = new Bench();
    expect(bench.push(other, other)).toEqual([['wrongVersion', '2.0']]);
    expect(bench.push(S8, 'E 0009 00002000 0 1', 'T 000A 00002000 N hello').map(([name]) => name)).toEqual([
      'fault',
      'fault',
      'fault',
    ]);
    expect(bench.faults).toEqual([
      ['before-table', 2],
      ['unknown-kind', 1],
    ]);
    expect(bench.push(other.replace('2.0', '3.1'))).toEqual([['wrongVersion', '3.1']]);
    const back = bench.push(...tableBodies, S7);
    expect(back[0]?.[0]).toBe('identity');
    expect(back[0]?.[3]).toBe(true);
    expect(back.at(-1)).toEqual(good7);
    expect(bench.push(other)).toEqual([['wrongVersion', '2.0']]);
  });

  test('when a newer minor version adds fields and kinds, then the lines are read', () => {
    const bench = new Bench([]);
    const bodies = tableBodies.map((body) => `${body.replace(' 1.0 ', ' 1.7 ')} more 12`);
    const calls = bench.push(
      ...bodies,
      S7,
      'E 0008 00002000 0 1 more',
      'R 0009 00002000 C0DE 0001 BUSY more',
      'N 000A 00002000',
    );
    expect(calls.map(([name]) => name)).toEqual(['identity', 'table', 'samples', 'input', 'answer', 'fault']);
    expect(bench.faults).toEqual([['unknown-kind', 1]]);
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
