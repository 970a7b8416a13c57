/** Five styles of line set up from captured bytes alone, and captures of which nothing can be made. */
import { describe, expect, test } from 'vitest';
import { type Proposal, proposeProfile } from '../../../shared-core/line/profile/propose.ts';
import { withCrc } from '../line-support.ts';
import { bytesOf, decoded, samples, withChecksum } from './profile-support.ts';

type Found = Extract<Proposal, { kind: 'profile' }>;

function proposal(text: string | Uint8Array, listened_s?: number): Found {
  const got = proposeProfile(
    typeof text === 'string' ? bytesOf(text) : text,
    listened_s === undefined ? {} : { listened_s },
  );
  if (got.kind !== 'profile') throw new Error(JSON.stringify(got));
  return got;
}

const comma = (text: string) => text.replace('.', ',');
const wanted = samples.map(([, ...values]) => values.map((each) => (each === '' ? 'stale' : each)));
/** A capture begins anywhere: here in the middle of a line. */
const cutFirst = (text: string) => text.slice(3);

const styles = [
  {
    name: 'comma with header',
    text: `time_ms,RPM,Thrust (N),CHT1 [°C],CHT2 [°C],Fuel flow (L/h)\r\n${samples.map((each) => `${each.join(',')}\r\n`).join('')}`,
    dropped: 0,
    layout: { kind: 'delimited', delimiter: ',', fields: 6 },
    decimal: '.',
    time: { kind: 'column', at: { field: 0 }, unit: 'ms', wrap: 2 ** 32 },
    header: true,
    keys: ['rpm', 'thrust', 'cht1', 'cht2', 'fuel_flow'],
    quantities: ['shaft-speed', 'thrust', 'head-temperature', 'head-temperature', 'fuel-flow'],
  },
  {
    name: 'semicolon with decimal comma',
    text: `Zeit ms; Drehzahl; Schub N; CHT1 C; CHT2 C; Fuel L/h\n${samples.map((each) => `${each.map(comma).join('; ')}\n`).join('')}`.replace(
      'Zeit ms',
      'Time ms',
    ),
    dropped: 0,
    layout: { kind: 'delimited', delimiter: ';', fields: 6 },
    decimal: ',',
    time: { kind: 'column', at: { field: 0 }, unit: 'ms', wrap: 2 ** 32 },
    header: true,
    keys: ['rpm', 'thrust', 'cht1', 'cht2', 'fuel_flow'],
    quantities: ['shaft-speed', 'thrust', 'head-temperature', 'head-temperature', 'fuel-flow'],
  },
  {
    name: 'tab, without header, begun in the middle of a line',
    text: cutFirst(samples.map((each) => `${each.join('\t')}\n`).join('')),
    dropped: 1,
    layout: { kind: 'delimited', delimiter: '\t', fields: 6 },
    decimal: '.',
    time: { kind: 'column', at: { field: 0 }, unit: 'ms', wrap: 2 ** 32 },
    header: false,
    listened_s: 0.6,
    keys: ['c', 'c2', 'c3', 'c4', 'c5'],
    quantities: ['other', 'other', 'other', 'other', 'other'],
  },
  {
    name: 'key=value',
    text: cutFirst(
      samples
        .map(
          ([ms, rpm, thrust, cht1, cht2, flow]) =>
            `t_ms=${ms} RPM=${rpm} THRUST=${thrust}N CHT1=${cht1} CHT2=${cht2 || 'OPEN'} FUEL_FLOW=${flow}\n`,
        )
        .join(''),
    ),
    dropped: 1,
    layout: {
      kind: 'pairs',
      delimiter: ' ',
      assign: '=',
      keys: ['t_ms', 'RPM', 'THRUST', 'CHT1', 'CHT2', 'FUEL_FLOW'],
    },
    decimal: '.',
    time: { kind: 'column', at: { key: 't_ms' }, unit: 'ms', wrap: 2 ** 32 },
    header: false,
    missing: 'open',
    keys: ['rpm', 'thrust', 'cht1', 'cht2', 'fuel_flow'],
    quantities: ['shaft-speed', 'thrust', 'head-temperature', 'head-temperature', 'fuel-flow'],
  },
  {
    name: 'NMEA style with checksum',
    text: samples.map((each) => `$${withChecksum('xor8', `RIG,${each.join(',')}`)}\r\n`).join(''),
    dropped: 0,
    layout: { kind: 'delimited', delimiter: ',', fields: 7 },
    decimal: '.',
    time: { kind: 'column', at: { field: 1 }, unit: 'ms', wrap: 2 ** 32 },
    header: false,
    listened_s: 0.6,
    checksum: { kind: 'xor8', mark: '*', coversMark: false, coversPrefix: false },
    keys: ['c', 'c2', 'c3', 'c4', 'c5'],
    quantities: ['other', 'other', 'other', 'other', 'other'],
  },
] as const;

describe.each(styles)('given a bench that prints $name', (style) => {
  const got = proposal(style.text, 'listened_s' in style ? style.listened_s : undefined);
  const { profile } = got;

  test('then layout, decimal sign, time, checksum and header are found', () => {
    expect(profile.layout).toEqual(style.layout);
    expect(profile.decimal).toBe(style.decimal);
    expect(profile.time).toEqual(style.time);
    expect(profile.checksum).toEqual('checksum' in style ? style.checksum : null);
    expect(profile.header !== null).toBe(style.header);
    expect(profile.rate_mHz).toBe(20_000);
  });

  test('then keys and quantities are those that the names say, and each column has reasons and examples', () => {
    expect(profile.columns.map((each) => each.key)).toEqual(style.keys);
    expect(profile.columns.map((each) => each.quantity)).toEqual(style.quantities);
    for (const column of got.columns) {
      expect(column.why).toMatch(/\.$/);
      expect(column.examples.length).toBeGreaterThan(0);
    }
    expect(got.reasons.every((each) => each.endsWith('.'))).toBe(true);
    expect(got.confidence).toBeGreaterThan(0.7);
  });

  test('then every value is read exactly, and every time', () => {
    const heard = decoded(profile, bytesOf(style.text));
    const missing = 'missing' in style ? style.missing : 'stale';
    const rows = wanted.map((row) => row.map((each) => (each === 'stale' ? missing : each)));
    expect(heard.rows).toEqual(rows.slice(style.dropped));
    expect(heard.times_us32).toEqual(samples.slice(style.dropped).map(([ms]) => Number(ms) * 1000));
    expect(heard.faults).toEqual([]);
    expect(got.linesMisfit).toBe(0);
  });
});

describe('given other forms of the same', () => {
  test('when columns are fixed and one is blank, then it is read by its place', () => {
    const text = samples.map((each) => `${each.map((part) => part.padStart(9)).join('')}\n`).join('');
    const { profile } = proposal(`\n${text}`, 0.6);
    expect(profile.layout).toEqual({ kind: 'fixed', length: 54 });
    expect(decoded(profile, bytesOf(`\n${text}`)).rows).toEqual(wanted);
  });

  test('when the time is a clock, then it is read and its rate is known', () => {
    const text = `Clock;RPM\n${samples.map(([, rpm], i) => `12:59:59.${50 + i};${rpm}\n`).join('')}`;
    const { profile } = proposal(text);
    expect(profile.time).toMatchObject({ unit: 'clock' });
    expect(profile.rate_mHz).toBe(100_000);
  });

  test('when a column counts the lines, then missing ones are found by it', () => {
    const lines = samples.map(([, rpm], i) => `${i + 4},${rpm}\n`);
    const text = `seq,rpm\n${lines.slice(0, 6).join('')}${lines.slice(8).join('')}`;
    const { profile } = proposal(text);
    expect(profile.sequence).toEqual({ at: { field: 0 }, modulus: 2 ** 32 });
    expect(decoded(profile, bytesOf(text)).missing).toBe(2);
  });

  test('when several kinds of line come, then the most common is read and the others counted as unknown', () => {
    const text = samples
      .map(([ms, rpm], i) => `ENG,${ms},${rpm}\n${i % 2 === 0 ? `AIR,${i},941.2,17.1\n` : ''}`)
      .join('');
    const got = proposal(`x\n${text}`, 0.6);
    expect(got.profile.tag).toBe('ENG');
    const heard = decoded(got.profile, bytesOf(`x\n${text}`));
    expect(heard.rows.flat()).toEqual(samples.map(([, rpm]) => rpm));
    expect(heard.decoder.counts.faults['unknown-kind']).toBe(6);
  });

  test('when nothing tells the time, then the host takes it, and it says so', () => {
    const got = proposal(`rpm,thrust\n${samples.map(([, rpm, thrust]) => `${rpm},${thrust}\n`).join('')}`, 1.2);
    expect(got.profile.time).toEqual({ kind: 'arrival' });
    expect(got.profile.rate_mHz).toBeCloseTo(10_833, -2);
    expect(got.reasons.join(' ')).toContain('the host takes the time');
  });

  test('when commas part whole numbers only, then it warns that they may be decimal commas', () => {
    const got = proposal(samples.map((_, i) => `${i * 3 + 5},${i}\n`).join(''));
    expect(got.reasons.join(' ')).toContain('decimal comma');
    expect(got.confidence).toBeLessThan(0.75);
  });

  test('when comments stand between, then they are known as such', () => {
    const text = `# bench 2, no load\n${samples
      .map((each) => `${each.join(';')}\n# ok\n`)
      .slice(0, 1)
      .join('')}${samples
      .slice(1)
      .map((each) => `${each.join(';')}\n`)
      .join('')}`;
    const got = proposal(text, 0.6);
    expect(got.profile.comment).toBe('#');
    expect(got.linesMisfit).toBe(0);
  });

  test.each(['crc8', 'crc16-ccitt', 'crc16-xmodem', 'crc16-modbus', 'crc16-arc', 'crc32', 'sum8'] as const)(
    'when lines end in %s, then it is found',
    (kind) => {
      const text = samples.map((each) => `${withChecksum(kind, each.join(';'), ';')}\n`).join('');
      const { profile } = proposal(text, 0.6);
      expect(profile.checksum).toMatchObject({ kind, mark: ';' });
      expect(decoded(profile, bytesOf(text)).rows).toEqual(wanted);
    },
  );
});

test('given a bench that speaks our own line, then no profile is proposed', () => {
  const lines = ['I 0000 000003E8 1.0 lapwing-bench 0.9.2 0017 5A10 2 4 2', 'G 0001 00000514 5A10 1 100000 2'];
  expect(proposeProfile(bytesOf(lines.map((body) => `${withCrc(body)}\n`).join(''))).kind).toBe('native');
});

const good = samples.map((each) => `${each.join(',')}\n`);
const nmea = samples.map((each) => `$${withChecksum('xor8', `RIG,${each.join(',')}`)}\n`);

describe('given a capture of which nothing can be made, then it is refused with the reason', () => {
  const noise = Uint8Array.from({ length: 600 }, (_, i) => (i * 7919 + ((i * i) % 251)) & 0xff);
  test.each([
    { name: 'nothing', bytes: new Uint8Array(0), says: 'Nothing was heard' },
    { name: 'noise of a wrong rate', bytes: noise, says: 'no text' },
    { name: 'no end of line', bytes: bytesOf('1,2,3,4,5,6,7,8'), says: 'no LF' },
    { name: 'CR alone', bytes: bytesOf(good.join('').replaceAll('\n', '\r')), says: 'CR alone' },
    { name: 'two lines', bytes: bytesOf(good.slice(0, 3).join('')), says: 'Only 2 whole lines' },
    {
      name: 'words only',
      bytes: bytesOf('ready to go\nplease wait\nall is well\nmotor off\nbye\n'),
      says: 'no layout in common',
    },
    { name: 'lines too long', bytes: bytesOf(`${'123456,'.repeat(80)}1\n`.repeat(6)), says: 'longer than 512 bytes' },
    {
      name: 'an unknown checksum',
      bytes: bytesOf(nmea.map((line) => line.replace(/\*..\n/, '*5Z\n').replace('5Z', '00')).join('')),
      says: 'looks like a checksum',
    },
    {
      name: 'a different number of fields in each line',
      bytes: bytesOf(
        Array.from({ length: 12 }, (_, i) => `${Array.from({ length: (i % 6) + 2 }, (_, k) => k).join(',')}\n`).join(
          '',
        ),
      ),
      says: 'no layout in common',
    },
    { name: 'text in all columns', bytes: bytesOf('aa,bb\nca,db\nea,fb\nga,hb\nia,jb\n'), says: 'no layout in common' },
    {
      name: 'values that do not hold still in form',
      bytes: bytesOf(samples.map((_, i) => `${i % 2 ? '1.5' : 'on fire'},${i % 2 ? 'hot' : '3'}\n`).join('')),
      says: '',
    },
  ])('$name', ({ bytes, says }) => {
    const got = proposeProfile(bytes);
    expect(got.kind).toBe('refused');
    if (got.kind !== 'refused') return;
    expect(got.reason).toContain(says);
    expect(got.reason).toMatch(/\.$/);
    expect(got.remedy.length).toBeGreaterThan(5);
  });
});

describe('given a good bench with damage on the line, then the damage is counted with its reason, and nothing else is lost', () => {
  test.each([
    {
      name: 'a flipped digit under a checksum',
      lines: nmea,
      spoil: (line: string) => line.replace('6', '7'),
      kind: 'bad-crc',
    },
    { name: 'a checksum cut off', lines: nmea, spoil: (line: string) => line.replace(/\*..\n/, '\n'), kind: 'no-crc' },
    { name: 'a field lost', lines: good, spoil: (line: string) => line.replace(/,[^,]*\n/, '\n'), kind: 'field-count' },
    { name: 'a field too many', lines: good, spoil: (line: string) => `1,${line}`, kind: 'field-count' },
    { name: 'letters in a number', lines: good, spoil: (line: string) => line.replace(',6', ',b'), kind: 'bad-form' },
    { name: 'two decimal points', lines: good, spoil: (line: string) => line.replace('.', '..'), kind: 'bad-form' },
    { name: 'a control character', lines: good, spoil: (line: string) => line.replace(',', '\x01'), kind: 'garbage' },
    { name: 'a byte above ASCII', lines: good, spoil: (line: string) => line.replace(',', 'é'), kind: 'garbage' },
    { name: 'time that goes back', lines: good, spoil: (line: string) => line.replace('81', '71'), kind: 'time-back' },
    {
      name: 'two lines run together',
      lines: good,
      spoil: (line: string) => line.replace('\n', line),
      kind: 'field-count',
    },
    {
      name: 'a line that never ends',
      lines: good,
      spoil: (line: string) => `${'9'.repeat(600)}${line}`,
      kind: 'too-long',
    },
  ])('$name: $kind', ({ lines, spoil, kind }) => {
    const text = ['\n', ...lines.slice(0, 7), spoil(lines[7]!), ...lines.slice(8)].join('');
    const got = proposal(text, 0.6);
    expect(got.linesMisfit).toBe(1);
    expect(got.misfits[0]!.fault).toBe(kind);
    const heard = decoded(got.profile, bytesOf(text));
    expect(heard.faults.map((each) => each.kind)).toEqual([kind]);
    expect(heard.rows).toEqual(wanted.filter((_, i) => i !== 7));
  });
});
