/** What the host knows of the bench: joining late, the channel table, reopened ports, boots, layouts, versions. */
import { describe, expect, test } from 'vitest';
import { Bench, type Call, tableBodies, withCrc } from './line-support.ts';

const S7 = 'S 0007 00001000 1 6123 31255';
const S8 = 'S 0008 00002000 1 6124 31256';
const good7: Call = ['samples', 1, 0x1000, [6123, 31_255]];
const good8: Call = ['samples', 1, 0x2000, [6124, 31_256]];

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

  test('when rows of another layout come in between, then they do not disturb the collection', () => {
    const bench = new Bench(tableBodies.slice(0, 5));
    const calls = bench.push(
      'D 0005 00000006 7777 0 stop a b',
      ...tableBodies.slice(5).map((body) => body.replace(' 000', ' 010')),
    );
    expect(calls.filter(([name]) => name === 'table')).toHaveLength(1);
  });

  test('when a row from before the identity has a number past those announced, then the table is not complete', () => {
    const [identity = '', ...rows] = tableBodies;
    const bench = new Bench([]);
    bench.push(...rows.with(4, 'C 0005 00000006 5A10 3 2 0 cht1 head-temperature Cel 1 -400 4000'));
    bench.push(identity.replace('0000 00000001', '0007 00000008'));
    expect(bench.decoder.table).toBeNull();
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

  test('when the first identity was lost and time does not go back, then only the lines since the boot are missing', () => {
    const bench = new Bench();
    bench.push(identity.replace('0000 00000001', '0003 00001000'));
    expect(bench.decoder.counts.missing).toBe(3);
  });

  test('when bytes of the old boot are still read after reopening, then 0000 of the new one follows on nothing', () => {
    const bench = new Bench();
    bench.decoder.rejoin();
    bench.push('T 0500 00000010 N still there', identity.replace('00000001', '00000020'));
    expect(bench.decoder.counts.missing).toBe(0);
  });

  test('when time goes back and the boot is the known one, then it is no reboot', () => {
    const bench = new Bench();
    bench.push('I 0007 00000001 1.0 bench 1.2 0A01 5A10 2 3 1');
    expect(bench.faults).toEqual([['time-back', 1]]);
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

  test('when lines of another major version come, then nothing is said of missing ones, for the number may mean anything', () => {
    const bench = new Bench();
    bench.push(other, 'S 0020 00002000 1 1 1', 'S 0030 00002000 1 1 1', 'E 0001 00000000 0 1');
    expect(bench.decoder.counts.missing).toBe(0);
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
