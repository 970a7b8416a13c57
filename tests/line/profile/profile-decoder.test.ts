import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { JournalInput } from '../../../shared-core/journal.ts';
import { Intake } from '../../../shared-core/line/intake.ts';
import type { LineProfile, ProfileColumn } from '../../../shared-core/line/profile/line-profile.ts';
import { ProfileDecoder } from '../../../shared-core/line/profile/profile-decoder.ts';
import { lineProfileSchema } from '../../../shared-core/line/profile/profile-schema.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';
import { bytesOf, decoded, listener, withChecksum } from './profile-support.ts';

function column(key: string, field: number, change: Partial<ProfileColumn> = {}): ProfileColumn {
  return {
    at: { field },
    key,
    quantity: 'other',
    unit: '1',
    scale: 1,
    offset: 0,
    decimals: 0,
    low: -1000,
    high: 20_000,
    suffix: '',
    missing: [],
    ...change,
  };
}

const profile: LineProfile = {
  name: 'bench-2',
  layout: { kind: 'delimited', delimiter: ',', fields: 4 },
  decimal: '.',
  header: 'ms,rpm,thrust,°C',
  comment: '#',
  prefix: '',
  tag: null,
  checksum: null,
  time: { kind: 'column', at: { field: 0 }, unit: 'ms', wrap: 65_536 },
  sequence: null,
  rate_mHz: 10_000,
  columns: [
    column('rpm', 1, { quantity: 'shaft-speed', unit: '/min' }),
    column('thrust', 2, { quantity: 'thrust', unit: 'N', decimals: 2 }),
    column('cht1', 3, {
      quantity: 'head-temperature',
      unit: 'Cel',
      decimals: 1,
      low: -40,
      high: 400,
      missing: [
        { text: '', state: 'stale' },
        { text: 'OPEN', state: 'open' },
      ],
    }),
  ],
};

const lines = [
  'ms,rpm,thrust,°C',
  '# ready',
  '65400,6100,312.55,187.4',
  '65500,6101,-0.45,OPEN',
  '64,6102,313,187.6',
  '',
  '164,6103,3l3.01,187.7',
  '264,6104,313.02',
  '364,6105,313.03,',
];
const text = `rest of a line,1\r\n${lines.join('\r\n')}\r\n`;

describe('given a bench read by its profile', () => {
  const heard = decoded(profile, bytesOf(text));

  test('then identity and table come first, and the profile is a good one', () => {
    expect(lineProfileSchema.safeParse(profile).success).toBe(true);
    expect(heard.boots).toEqual(['0000']);
    expect(heard.tables).toHaveLength(1);
    expect(heard.tables[0]).toMatchObject({
      identity: { version: '1.0', bench: 'bench-2', groups: 1, channels: 3, inputs: 0 },
      groups: [{ group: 1, rate_mHz: 10_000, columns: 3 }],
      channels: [{ key: 'rpm' }, { key: 'thrust', decimals: 2, low: -100_000 }, { key: 'cht1', low: -400, high: 4000 }],
    });
  });

  test('then values are exact, states are states, and the time goes on over the wrap', () => {
    expect(heard.rows).toEqual([
      ['6100', '312.55', '187.4'],
      ['6101', '-0.45', 'open'],
      ['6102', '313.00', '187.6'],
      ['6105', '313.03', 'stale'],
    ]);
    expect(heard.times_us32).toEqual([65_400_000, 65_500_000, 65_600_000, 65_900_000]);
  });

  test('then what does not fit is counted and shown, header and comment are not', () => {
    expect(heard.faults).toEqual([
      { kind: 'bad-form', excerpt: '164,6103,3l3.01,187.7' },
      { kind: 'field-count', excerpt: '264,6104,313.02' },
    ]);
    expect(heard.decoder.counts).toMatchObject({ accepted: 6, missing: 0, bytes: bytesOf(text).length });
  });
});

describe('given any splitting of the reads', () => {
  const checked: LineProfile = {
    ...profile,
    prefix: '$',
    checksum: { kind: 'xor8', mark: '*', coversMark: false, coversPrefix: false },
  };
  const checkedText = lines.map((line) => `$${withChecksum('xor8', line)}\n`).join('');
  const damaged = `${checkedText}${'x'.repeat(511)}\n${'y'.repeat(512)}\n${'z'.repeat(700)}\n\x00\n${checkedText.replace('6101', '6111')}é\n`;
  const whole = decoded(checked, bytesOf(damaged));

  test('when every length of read is tried, then the same is heard', () => {
    const { decoder: _, ...said } = whole;
    expect(said.faults.map((each) => each.kind)).toContain('too-long');
    for (let split = 1; split < 40; split++) {
      const { decoder, ...heard } = decoded(checked, bytesOf(damaged), split);
      expect(heard).toEqual(said);
      expect(decoder.counts).toEqual(whole.decoder.counts);
    }
  });

  test('when random bytes come in random pieces, then the same is heard', () => {
    const piece = fc.oneof(
      fc.constantFrom(...lines, ...lines.map((line) => `$${withChecksum('xor8', line)}`)),
      fc.string({ maxLength: 30 }),
    );
    fc.assert(
      fc.property(
        fc.array(piece, { maxLength: 20 }),
        fc.array(fc.integer({ min: 1, max: 60 }), { minLength: 1 }),
        (pieces, cuts) => {
          const bytes = bytesOf(pieces.join('\n'));
          const { decoder, ...atOnce } = decoded(profile, bytes);
          const cutDecoder = new ProfileDecoder(profile);
          const { sink, heard } = listener();
          for (let at = 0, i = 0; at < bytes.length; i++) {
            const end = at + cuts[i % cuts.length]!;
            cutDecoder.push(bytes.subarray(at, end), sink, 0);
            at = end;
          }
          expect(heard).toEqual(atOnce);
          expect(cutDecoder.counts).toEqual(decoder.counts);
        },
      ),
      { seed: 20261125, numRuns: 300 },
    );
  });
});

describe('given the clock of a foreign bench', () => {
  const two = (time: LineProfile['time']): LineProfile => ({
    ...profile,
    layout: { kind: 'delimited', delimiter: ';', fields: 2 },
    header: null,
    time,
    columns: [column('rpm', 1)],
  });
  const at = (time: LineProfile['time'], times: readonly string[], arrived_us = 0) =>
    decoded(two(time), bytesOf(`\n${times.map((each) => `${each};1\n`).join('')}`), 1, arrived_us);
  const ms = { kind: 'column', at: { field: 0 }, unit: 'ms', wrap: null } as const;

  test.each([
    { unit: 'us', times: ['7', '4294967295'], is: [7] },
    { unit: 's', times: ['0.5', '1.25'], is: [500_000, 1_250_000] },
    {
      unit: 'clock',
      times: ['23:59:59.5', '00:00:00.25'],
      is: [(86_399.5 * 1e6) % 2 ** 32, (86_400.25 * 1e6) % 2 ** 32],
    },
  ] as const)('when it counts in $unit, then times are those', ({ unit, times, is }) => {
    expect(at({ ...ms, unit }, times).times_us32).toEqual(is);
  });

  test('when one line goes back, then it alone is dropped', () => {
    const heard = at(ms, ['1000', '1100', '900', '1200']);
    expect(heard.times_us32).toEqual([1_000_000, 1_100_000, 1_200_000]);
    expect(heard.faults.map((each) => each.kind)).toEqual(['time-back']);
  });

  test('when a digit is damaged forwards, then that line is dropped, not those after it', () => {
    const heard = at(ms, ['1000', '1100', '91200', '1300']);
    expect(heard.times_us32).toEqual([1_000_000, 1_100_000, 1_300_000]);
    expect(heard.faults.map((each) => each.kind)).toEqual(['time-back']);
  });

  test('when it goes back and stays there, then the bench was restarted: a new boot with the third line', () => {
    const heard = at(ms, ['9000', '9100', '0', '100', '200', '300']);
    expect(heard.boots).toEqual(['0000', '0001']);
    expect(heard.times_us32).toEqual([9_000_000, 9_100_000, 200_000, 300_000]);
    expect(heard.faults).toHaveLength(2);
  });

  test.each(['', '-5', 'soon', '12:60:00', '24:00:00', 'NaN'])(
    'when the time is "%s", then the line is bad form',
    (each) => {
      expect(at(ms, ['1000', each]).faults.map((fault) => fault.kind)).toEqual(['bad-form']);
      expect(at({ ...ms, unit: 'clock' }, ['01:00:00', each]).faults.map((fault) => fault.kind)).toEqual(['bad-form']);
    },
  );

  test('when there is none, then the time is that of arrival, to the 32 bits', () => {
    const arrival = { kind: 'arrival' } as const;
    expect(at(arrival, ['x', 'y'], 5.5e9).times_us32).toEqual([5.5e9 % 2 ** 32, 5.5e9 % 2 ** 32]);
  });

  test('when the port was opened anew, then any time is a good one, and an unfinished line is gone', () => {
    const decoder = new ProfileDecoder(two(ms));
    const { sink, heard } = listener();
    decoder.push(bytesOf('\n9000;1\n9100;'), sink, 0);
    decoder.rejoin();
    decoder.push(bytesOf(';1\n5;2\n6;3\n'), sink, 0);
    expect(heard.rows).toEqual([['1'], ['2'], ['3']]);
    expect(heard.faults).toEqual([]);
    expect(heard.boots).toEqual(['0000', '0001']);
  });
});

describe('given a column that counts the lines', () => {
  const counted: LineProfile = {
    ...profile,
    layout: { kind: 'delimited', delimiter: ',', fields: 2 },
    header: null,
    time: { kind: 'arrival' },
    sequence: { at: { field: 0 }, modulus: 100 },
    columns: [column('rpm', 1)],
  };
  test.each([
    { counts: [5, 6, 9], missing: 2 },
    { counts: [98, 99, 0, 1], missing: 0 },
    { counts: [98, 3], missing: 4 },
    { counts: [50, 0, 1], missing: 49 },
    { counts: [10, 5, 6], missing: 0 },
  ])('when it counts $counts, then $missing are missing', ({ counts, missing }) => {
    const heard = decoded(counted, bytesOf(`\n${counts.map((each) => `${each},1\n`).join('')}`));
    expect(heard.missing).toBe(missing);
    expect(heard.decoder.counts.missing).toBe(missing);
  });
});

describe('given scale, offset and suffix', () => {
  const scaled: LineProfile = {
    ...profile,
    layout: { kind: 'pairs', delimiter: ',', assign: '=', keys: ['t', 'p'] },
    header: null,
    time: { kind: 'arrival' },
    columns: [
      column('air_temp', 0, { at: { key: 't' }, scale: 0.01, offset: -40, decimals: 2, suffix: ' C' }),
      column('air_press', 0, { at: { key: 'p' }, scale: 10, decimals: 1 }),
    ],
  };
  test('then value × scale + offset is kept, and a suffix that is missing is a fault', () => {
    const heard = decoded(scaled, bytesOf('\nt=5712 C,p=94.13\np=94.1,t=5713 C\nt=5714,p=94\nt=1 C\nt=1 C,p=2,q=3\n'));
    expect(heard.rows).toEqual([
      ['17.12', '941.3'],
      ['17.13', '941.0'],
    ]);
    expect(heard.faults.map((each) => each.kind)).toEqual(['bad-form', 'field-count', 'field-count']);
  });
});

describe('given the intake with a profile', () => {
  const events: JournalInput[] = [];
  const pipeline = new Pipeline(lapwing120, { onValues: () => {}, onOutput: () => {} });
  const intake = new Intake(
    {
      frame: (ord, t_us, group, raw, columns) => pipeline.frame(ord, t_us, group, raw, columns),
      tick: (ord, t_us) => pipeline.tick(ord, t_us),
      event: (ord, t_us, body) => {
        events.push(body);
        pipeline.event(ord, t_us, body);
      },
    },
    { decoder: new ProfileDecoder(profile) },
  );
  intake.opened(0);
  intake.bytes(bytesOf(text), 1_000_000);

  test('then the pipeline has its channels and values without knowing', () => {
    const value = (key: string) => {
      const { channels, value: values } = pipeline.values;
      return values[channels.findIndex((each) => each.key === key)];
    };
    expect(value('rpm')).toBe(6105);
    expect(value('thrust')).toBeCloseTo(313.03, 9);
    expect(value('cht1')).toBeNaN();
    expect(events.map((each) => each.kind)).toEqual(
      expect.arrayContaining(['link', 'identity', 'table', 'clock', 'counts']),
    );
    expect(intake.counts.faults['bad-form']).toBe(1);
    expect(intake.lastFault).toEqual({ kind: 'field-count', excerpt: '264,6104,313.02' });
  });

  test('then silence is noticed as with any bench', () => {
    intake.idle(1_200_000);
    intake.idle(1_400_000);
    intake.idle(1_600_000);
    expect(intake.isSilent).toBe(true);
  });
});

describe('given a profile that contradicts itself, then it is refused and says where', () => {
  test.each([
    {
      name: 'a field past the end',
      change: { columns: [column('rpm', 4)] },
      says: 'columns.0.at: there are only 4 fields',
    },
    {
      name: 'a key twice',
      change: { columns: [column('rpm', 1), column('rpm', 2)] },
      says: 'columns.1.key: "rpm" is used twice',
    },
    {
      name: 'low above high',
      change: { columns: [column('rpm', 1, { low: 5, high: 5 })] },
      says: 'columns.0.low: must be below high',
    },
    { name: 'scale 0', change: { columns: [column('rpm', 1, { scale: 0 })] }, says: 'columns.0.scale: must not be 0' },
    {
      name: 'a range past 32 bits',
      change: { columns: [column('rpm', 1, { decimals: 6 })] },
      says: 'columns.0.decimals: the range',
    },
    { name: 'a decimal comma between commas', change: { decimal: ',' }, says: 'decimal: must not be the delimiter' },
    {
      name: 'characters in delimited lines',
      change: { columns: [column('rpm', 1, { at: { from: 0, width: 3 } })] },
      says: 'only fixed lines',
    },
    { name: 'no columns', change: { columns: [] }, says: 'columns' },
    {
      name: 'a tag in key=value',
      change: {
        tag: 'A',
        layout: { kind: 'pairs', delimiter: ';', assign: '=', keys: ['a'] },
        columns: [column('a', 0, { at: { key: 'b' } })],
        time: { kind: 'arrival' },
      },
      says: 'not among the keys',
    },
    { name: 'a name with spaces', change: { name: 'my bench' }, says: 'name: a word is' },
  ])('$name', ({ change, says }) => {
    const read = lineProfileSchema.safeParse({ ...profile, ...change });
    expect(read.success).toBe(false);
    const said = read.error?.issues.map((each) => `${each.path.join('.')}: ${each.message}`).join('\n');
    expect(said).toContain(says);
  });
});
