/** The form of every kind of line: what is read, and what is bad form. */
import { describe, expect, test } from 'vitest';
import { quality, rawOfQuality } from '../../shared-core/channels/quality.ts';
import { Bench, withCrc } from './line-support.ts';

describe('given the table, when a value is at an edge of its form', () => {
  test.each([
    ['0', 0],
    ['-1', -1],
    ['1234', 1234],
    ['12345', 12_345],
    ['123456', 123_456],
    ['1234567', 1_234_567],
    ['99999999', 99_999_999],
    ['123456789', 123_456_789],
    ['2147483000', 2_147_483_000],
    ['-2147483000', -2_147_483_000],
    ['O', rawOfQuality(quality.open)],
    ['S', rawOfQuality(quality.short)],
    ['V', rawOfQuality(quality.over)],
    ['U', rawOfQuality(quality.under)],
    ['X', rawOfQuality(quality.stale)],
  ])('%s is read', (value, raw) => {
    expect(new Bench().push(`S 0007 00001000 1 ${value} 5`)).toEqual([['samples', 1, 0x1000, [raw, 5]]]);
    expect(new Bench().push(`S 0007 00001000 1 5 ${value}`)).toEqual([['samples', 1, 0x1000, [5, raw]]]);
  });

  test.each([
    '',
    '-',
    '-0',
    '00',
    '01',
    '0123',
    '01234',
    '-01',
    '+1',
    '--1',
    '1-',
    '1.5',
    '1e3',
    '12a',
    '12345a',
    'o',
    'A',
    'OO',
    'O1',
    '1O',
    '-O',
    'NaN',
    '2147483001',
    '-2147483001',
    '2147483648',
    '9999999999',
    '12345678901',
    '99999999999999999999',
  ])('"%s" is bad form', (value) => {
    for (const body of [`S 0007 00001000 1 ${value} 5`, `S 0007 00001000 1 5 ${value}`]) {
      const bench = new Bench();
      expect(bench.push(body)).toEqual([['fault', 'bad-form', withCrc(body)]]);
      expect(bench.faults).toEqual([['bad-form', 1]]);
    }
  });

  test.each([
    'S 0007 00001000 1',
    'S 0007 00001000 0 5 5',
    'S 0007 00001000 10 5 5',
    'S 0007 00001000 a 5 5',
    'S 0007 0000100 1 5 5',
    'S 0007 00001000  1 5 5',
    'S 0007 00001000 1 5  5',
    'S 0007 00001000 1 5 5 ',
    ' S 0007 00001000 1 5 5',
    'S 007 00001000 1 5 5',
    'S 000a 00001000 1 5 5',
    'S 0007 0000100a 1 5 5',
    'S 0007 00001000 1 5 ~ 5',
    'SS 0007 00001000 1 5 5',
    'S',
    '',
    'Z 7 00001000',
    'Z 0007',
    '1 0007 00001000',
    'E 0007 00001000 0 2',
    'E 0007 00001000 0',
    'E 0007 00001000 -1 0',
    'T 0007 00001000 Q what',
    'T 0007 00001000 N',
    'T 0007 00001000 N 3% more',
    'T 0007 00001000 N 3%2',
    'A 0007 00001000 C0D 0001',
    'A 0007 00001000 C0DE',
    'R 0007 00001000 C0DE 0001',
    'R 0007 00001000 C0DE 0001 NO!',
    'I 0007 00001000 1 bench 1.2 0A01 5A10 2 3 1',
    'I 0007 00001000 1.0 bench 1.2 0A01 5A10 2 3',
    'I 0007 00001000 1.0 be(nch 1.2 0A01 5A10 2 3 1',
    'I 0007 00001000 1.0 bench-of-more-than-24-chars 1.2 0A01 5A10 2 3 1',
    'I 0007 00001000 1.0 bench 1.2 A01 5A10 2 3 1',
    'I 0007 00001000 1.0 bench 1.2 0A01 5A10 10 3 1',
    'G 0007 00001000 5A10 1 100000 65',
    'G 0007 00001000 5A10 1 100000 0',
    'G 0007 00001000 5A10 10 100000 2',
    'C 0007 00001000 5A10 0 1 0 Rpm shaft-speed /min 0 0 9000',
    'C 0007 00001000 5A10 0 1 0 rpm4567890123456x shaft-speed /min 0 0 9000',
    'C 0007 00001000 5A10 0 1 0 rpm shaft-speed /min 7 0 9000',
    'C 0007 00001000 5A10 0 1 0 rpm shaft-speed /min 0 9000 9000',
    'C 0007 00001000 5A10 0 1 64 rpm shaft-speed /min 0 0 9000',
    'C 0007 00001000 5A10 3 1 0 more shaft-speed /min 0 0 9000',
    'C 0007 00001000 5A10 2 1 0 rpm shaft-speed /min 0 0 9000',
    'D 0007 00001000 5A10 1 more open closed',
    'D 0007 00001000 5A10 0 stop open',
  ])('the body "%s" is bad form', (body) => {
    const bench = new Bench();
    expect(bench.push(body)).toEqual([['fault', 'bad-form', withCrc(body)]]);
    expect(bench.faults).toEqual([['bad-form', 1]]);
  });
});
