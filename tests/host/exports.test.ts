/** What the files say, read back by libraries that are not ours. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { asyncBufferFromFile, parquetMetadataAsync, parquetReadObjects } from 'hyparquet';
import Papa from 'papaparse';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeCsv } from '../../electron/host/export/csv.ts';
import { writeParquet } from '../../electron/host/export/parquet.ts';
import { type RowHead, readRows } from '../../electron/host/export/rows.ts';
import type { WriteSome } from '../../electron/host/export/whole-file.ts';
import type { MemoryStore } from '../../electron/host/store/memory-store.ts';
import { startBenchRig } from './bench-rig.ts';

let folder = '';
let store: MemoryStore;
let id = '';

interface Row {
  readonly t_us: number;
  readonly values: number[];
  readonly states: number[];
}

async function rowsOf(options: Parameters<typeof readRows>[2]): Promise<{ heads: readonly RowHead[]; rows: Row[] }> {
  let heads: readonly RowHead[] = [];
  const rows: Row[] = [];
  const done = await readRows(store, id, options, {
    heads: (given) => {
      heads = given;
    },
    row: (t_us, values, states) => rows.push({ t_us, values: [...values], states: [...states] }),
  });
  if (!done.ok) throw new Error(JSON.stringify(done.error));
  return { heads, rows };
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-export-'));
  // Half way the lead of CHT 1 breaks, so that not everything is good.
  const rig = startBenchRig('sensor-open', 4);
  rig.pass(62);
  store = rig.store;
  id = rig.acquisition.session!.id;
  await rig.close();
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('given a recorded minute with a sensor that opens', () => {
  test('when written as Parquet with every line, then another library reads back every value, unit and fact', async () => {
    const path = join(folder, 'all.parquet');
    const written = await writeParquet(store, id, path, { rate_Hz: 'all' });
    expect(written.ok).toBe(true);
    const { heads, rows } = await rowsOf({ rate_Hz: 'all' });
    expect(rows.length).toBeGreaterThan(6000);
    const file = await asyncBufferFromFile(path);
    const read = (await parquetReadObjects({ file })) as Record<string, unknown>[];
    expect(read).toHaveLength(rows.length);
    rows.forEach((row, r) => {
      const back = read[r]!;
      if (Number(back.session_time_us) !== Math.round(row.t_us)) throw new Error(`row ${r}: another time`);
      heads.forEach((head, i) => {
        const want = row.states[i] === 0 ? row.values[i]! : null;
        if (!Object.is(back[head.key] ?? null, want))
          throw new Error(`row ${r}, ${head.key}: ${String(back[head.key])}, not ${want}`);
      });
    });
    expect(read.at(-1)!.not_good).toContain('cht1:open');
    const metadata = await parquetMetadataAsync(file);
    const facts = Object.fromEntries((metadata.key_value_metadata ?? []).map((each) => [each.key, each.value]));
    expect(facts).toMatchObject({ session: id, provenance: 'SIMULATED', 'unit.rpm': 'rpm', 'unit.cht1': '°C' });
    expect(facts.rig).toContain('invented');
  });

  test('when written as CSV, then a parser reads back every value to the digits written', async () => {
    const path = join(folder, 'ten.csv');
    expect((await writeCsv(store, id, path)).ok).toBe(true);
    const { heads, rows } = await rowsOf({});
    const { data, errors } = Papa.parse<string[]>(readFileSync(path, 'utf8').trimEnd());
    expect(errors).toEqual([]);
    const [names, units, ...lines] = data as [string[], string[], ...string[][]];
    expect(names).toEqual(['session_time', 'utc', ...heads.map((head) => head.key), 'not_good']);
    expect(units.slice(2, -1)).toEqual(heads.map((head) => head.unit));
    expect(lines).toHaveLength(rows.length);
    rows.forEach((row, r) => {
      heads.forEach((head, i) => {
        const cell = lines[r]![i + 2]!;
        if (row.states[i] !== 0) {
          if (cell !== '') throw new Error(`row ${r}, ${head.key}: not good, and written as ${cell}`);
        } else if (Math.abs(Number(cell) - row.values[i]!) > 0.5000001 * 10 ** -head.decimals) {
          throw new Error(`row ${r}, ${head.key}: ${cell}, not ${row.values[i]}`);
        }
      });
    });
    expect(lines.at(-1)!.at(-1)).toContain('cht1:open');
  });

  test('when raw values of two channels and twenty seconds are asked for, then just these come, as sent', async () => {
    const { heads, rows } = await rowsOf({
      values: 'raw',
      channels: ['cht1', 'rpm'],
      from_us: 20_000_000,
      to_us: 40_000_000,
      rate_Hz: 5,
    });
    expect(heads.map(({ key, unit }) => [key, unit])).toEqual([
      ['cht1', 'Cel'],
      ['rpm', '/min'],
    ]);
    expect(rows.length).toBeGreaterThanOrEqual(99);
    expect(rows.length).toBeLessThanOrEqual(101);
    for (const { t_us, values, states } of rows) {
      expect(t_us).toBeGreaterThanOrEqual(20_000_000);
      expect(t_us).toBeLessThanOrEqual(40_000_000);
      // Whole rpm and tenths of a degree, as the bench's table has them.
      expect(values[1]).toBe(Math.round(values[1]!));
      if (states[0] === 0) expect(values[0]! * 10).toBeCloseTo(Math.round(values[0]! * 10), 9);
    }
    // The lead breaks at 30 s: state 1 is open.
    expect(rows[0]!.states[0]).toBe(0);
    expect(rows.at(-1)!.states[0]).toBe(1);
  });

  test('when raw values with every line are written as CSV, then a parser reads back each to the last bit', async () => {
    const path = join(folder, 'raw.csv');
    expect((await writeCsv(store, id, path, { values: 'raw', rate_Hz: 'all' })).ok).toBe(true);
    const { heads, rows } = await rowsOf({ values: 'raw', rate_Hz: 'all' });
    const { data, errors } = Papa.parse<string[]>(readFileSync(path, 'utf8').trimEnd());
    expect(errors).toEqual([]);
    expect(data).toHaveLength(rows.length + 2);
    rows.forEach((row, r) => {
      heads.forEach((head, i) => {
        const cell = data[r + 2]![i + 2]!;
        const back = cell === '' ? Number.NaN : Number(cell);
        if (!Object.is(back, row.values[i])) throw new Error(`row ${r}, ${head.key}: ${cell}, not ${row.values[i]}`);
      });
    });
  });

  test('when the rows fill several row groups, then each group is complete and the whole equals the source', async () => {
    const path = join(folder, 'groups.parquet');
    const options = { rate_Hz: 'all' as const, channels: ['rpm', 'cht1', 'brake_power'], rowsPerGroup: 1000 };
    expect((await writeParquet(store, id, path, options)).ok).toBe(true);
    const { rows } = await rowsOf({ rate_Hz: 'all', channels: options.channels });
    const file = await asyncBufferFromFile(path);
    const metadata = await parquetMetadataAsync(file);
    const sizes = metadata.row_groups.map((group) => Number(group.num_rows));
    expect(sizes.length).toBe(Math.ceil(rows.length / 1000));
    expect(sizes.slice(0, -1).every((size) => size === 1000)).toBe(true);
    const read = (await parquetReadObjects({ file })) as Record<string, unknown>[];
    expect(read.map((row) => row.rpm ?? null)).toEqual(rows.map((row) => (row.states[0] === 0 ? row.values[0] : null)));
    expect(read.map((row) => row.cht1 ?? null)).toEqual(
      rows.map((row) => (row.states[1] === 0 ? row.values[1] : null)),
    );
  });

  // A write that takes only a part says so by its count alone; what follows then fails.
  test.each([
    { name: 'CSV', write: writeCsv },
    { name: 'Parquet', write: writeParquet },
  ])(
    'when the disk fills in the middle of $name, then the error says so, and neither it nor a part is left',
    async ({ name, write }) => {
      let room = 50_000;
      const path = join(folder, `filled.${name}`);
      const filling: WriteSome = (file, bytes, from) => {
        if (room === 0) throw Object.assign(new Error('no space left on device'), { code: 'ENOSPC' });
        const taken = writeSync(file, bytes, from, Math.min(room, bytes.length - from));
        room -= taken;
        return taken;
      };
      const done = await write(store, id, path, { rate_Hz: 'all' }, { writeSome: filling });
      expect(done).toEqual({ ok: false, error: { kind: 'disk-full', path } });
      expect(room).toBe(0);
      expect(readdirSync(folder).filter((each) => each.startsWith('filled'))).toEqual([]);
    },
  );

  test('when each write takes only a part, then the file is whole all the same', async () => {
    const parts: WriteSome = (file, bytes, from) => writeSync(file, bytes, from, Math.min(999, bytes.length - from));
    const [plain, parted] = [join(folder, 'plain.csv'), join(folder, 'parted.csv')];
    await writeCsv(store, id, plain);
    await writeCsv(store, id, parted, {}, { writeSome: parts });
    expect(readFileSync(parted).equals(readFileSync(plain))).toBe(true);
  });

  test.each([
    { name: 'a channel that is not there', options: { channels: ['rpm', 'oil_press'] }, kind: 'unknown-channel' },
    { name: 'a session that is not there', session: 'nothing', kind: 'session-not-found' },
  ])('when $name is asked for, then it is refused and no file is left', async ({ options, session, kind }) => {
    const path = join(folder, 'refused.csv');
    const done = await writeCsv(store, session ?? id, path, options ?? {});
    expect(done).toMatchObject({ ok: false, error: { kind } });
    expect(existsSync(path)).toBe(false);
  });

  test('when cancelled half way, then it ends as cancelled, having told its progress, and nothing is left', async () => {
    const told: number[] = [];
    for (const write of [writeCsv, writeParquet]) {
      const path = join(folder, 'cancelled');
      const done = await write(
        store,
        id,
        path,
        { rate_Hz: 'all' },
        { onProgress: (part) => told.push(part), isCancelled: () => true },
      );
      expect(done).toMatchObject({ ok: false, error: { kind: 'cancelled' } });
    }
    expect(told[0]).toBeGreaterThan(0.1);
    expect(told[0]).toBeLessThan(0.9);
    expect(readdirSync(folder).filter((name) => name.includes('cancelled') || name.endsWith('.part'))).toEqual([]);
  });

  test('when the folder does not exist or the disk is full, then the error says which, and nothing is left', async () => {
    const done = await writeCsv(store, id, join(folder, 'no-such-folder', 'x.csv'));
    expect(done).toMatchObject({ ok: false, error: { kind: 'folder-missing' } });
    if (existsSync('/dev/full')) {
      const { symlinkSync } = await import('node:fs');
      // Every write to it fails with "no space left on device".
      symlinkSync('/dev/full', join(folder, 'full.csv.part'));
      const full = await writeCsv(store, id, join(folder, 'full.csv'), { rate_Hz: 'all' });
      expect(full).toMatchObject({ ok: false, error: { kind: 'disk-full' } });
      expect(readdirSync(folder).filter((name) => name.startsWith('full'))).toEqual([]);
    }
  });
});
