/** Every example line of PROTOCOL.md, taken from the document itself. */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { quality, rawOfQuality } from '../../shared-core/channels/quality.ts';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { HostLineDecoder } from '../../shared-core/line/host-lines.ts';
import { type FaultKind, faultKinds, type HostLine } from '../../shared-core/line/messages.ts';
import { bytesOf, RecordingSink, withCrc } from './line-support.ts';

const document = readFileSync(new URL('../../shared-core/line/PROTOCOL.md', import.meta.url), 'utf8');

function blocks(language: string): string[][] {
  const found = document.matchAll(new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\`$`, 'gm'));
  return [...found].map((block) => (block[1] ?? '').trimEnd().split('\n'));
}

const bench = blocks('bench');
const host = blocks('host');
const faults = blocks('faults').flat();
const [boot = [], samples = [], wrap = [], rest = []] = bench;

function primed(): { decoder: LineDecoder; sink: RecordingSink } {
  const decoder = new LineDecoder();
  const sink = new RecordingSink();
  decoder.push(bytesOf(`${boot.join('\n')}\n`), sink);
  return { decoder, sink };
}

function faultsOf(decoder: LineDecoder): [FaultKind, number][] {
  return faultKinds
    .map((kind): [FaultKind, number] => [kind, decoder.counts.faults[kind]])
    .filter(([, count]) => count > 0);
}

test('given the document, then it holds the blocks that these tests are about', () => {
  expect(bench.map((lines) => lines.length)).toEqual([11, 3, 2, 5]);
  expect(host.map((lines) => lines.length)).toEqual([8]);
  expect(faults).toHaveLength(11);
});

test.each([...bench.flat(), ...host.flat()])('given the example %s, then its CRC is right', (line) => {
  expect(line).toBe(withCrc(line.slice(0, line.indexOf('~'))));
});

describe('given the lines of a bench at boot', () => {
  const { decoder, sink } = primed();

  test('then all are accepted and nothing is counted', () => {
    expect(decoder.counts).toMatchObject({ accepted: boot.length, missing: 0 });
    expect(faultsOf(decoder)).toEqual([]);
  });

  test('then identity, table and both inputs are as they stand there', () => {
    const identity = { version: '1.0', bench: 'lapwing-bench', firmware: '0.9.2', boot: '0017', layout: '5A10' };
    expect(sink.calls[0]).toEqual(['identity', { ...identity, groups: 2, channels: 4, inputs: 2 }, 1000, true]);
    expect(sink.calls.slice(2)).toEqual([
      ['input', 0, 1, 0xe74],
      ['input', 1, 0, 0xfa0],
    ]);
    expect(decoder.table?.groups).toEqual([
      { group: 1, rate_mHz: 100_000, columns: 2 },
      { group: 2, rate_mHz: 10_000, columns: 2 },
    ]);
    const place = { channel: 1, group: 1, column: 1, key: 'thrust', quantity: 'thrust', unit: 'N' };
    expect(decoder.table?.channels[1]).toEqual({ ...place, decimals: 2, low: -5000, high: 80_000 });
    expect(decoder.table?.channels.map((row) => row.key)).toEqual(['rpm', 'thrust', 'cht1', 'cht2']);
    expect(decoder.table?.inputs[0]).toEqual({ input: 0, key: 'stop', word0: 'open', word1: 'closed' });
  });
});

test('given the table, when the sample lines come, then they hold what the document says of them', () => {
  const { decoder, sink } = primed();
  sink.take();
  decoder.push(bytesOf(`${samples.join('\n')}\n`), sink);
  expect(sink.take()).toEqual([
    ['samples', 1, 10_000, [6123, 31_255]],
    ['samples', 2, 10_000, [1874, rawOfQuality(quality.open)]],
    ['samples', 1, 20_000, [0, -45]],
  ]);
});

test('given the table, when number and time wrap much later, then nothing is missing and 7,936 µs have passed', () => {
  const { decoder, sink } = primed();
  decoder.rejoin();
  sink.take();
  decoder.push(bytesOf(`${wrap.join('\n')}\n`), sink);
  const [first, second, ...others] = sink.take();
  expect(first?.[0]).toBe('samples');
  expect(second?.slice(0, 2)).toEqual(['samples', 1]);
  expect(second?.[3]).toEqual([6101, rawOfQuality(quality.stale)]);
  expect(others).toEqual([]);
  expect((Number(second?.[2]) - Number(first?.[2])) >>> 0).toBe(7936);
});

test('given the table, when text and answers come, then they read as they were meant', () => {
  const { decoder, sink } = primed();
  decoder.push(bytesOf(`${samples.join('\n')}\n`), sink);
  sink.take();
  decoder.push(bytesOf(`${rest.join('\n')}\n`), sink);
  const one = { host: 'C0DE' };
  expect(sink.take()).toEqual([
    ['text', 'W', 'fuel filter changed 3% ago', 0x4e84],
    ['answer', { ...one, kind: 'accepted', id: '0001', fields: [] }, 0x4ee8],
    ['answer', { ...one, kind: 'accepted', id: '0002', fields: ['-1204'] }, 0x4f4c],
    ['answer', { ...one, kind: 'refused', id: '0003', reason: 'NO-LEASE', words: [] }, 0x4fb0],
    ['answer', { ...one, kind: 'refused', id: '0004', reason: 'FAULT', words: ['servo', 'driver', 'hot'] }, 0x5014],
  ]);
  expect(decoder.counts.missing).toBe(0);
});

test('given the lines from the host, when a bench reads them, then it has every command and lease', () => {
  const decoder = new HostLineDecoder();
  const lines: HostLine[] = [];
  decoder.push(bytesOf(`${host.flat().join('\n')}\n`), (line) => lines.push(line));
  const command = { kind: 'command', host: 'C0DE' };
  expect(lines).toEqual([
    { ...command, id: '0001', name: 'IDENTIFY', args: [] },
    { ...command, id: '0002', name: 'TARE-THRUST', args: [] },
    { kind: 'lease', host: 'C0DE', ms: 900 },
    { ...command, id: '0003', name: 'IGNITION', args: ['1'] },
    { ...command, id: '0004', name: 'THROTTLE', args: ['350'] },
    { ...command, id: '0005', name: 'STARTER', args: ['1'] },
    { ...command, id: '0006', name: 'STARTER', args: ['1'] },
    { kind: 'lease', host: 'C0DE', ms: 0 },
  ]);
  expect(decoder.counts.accepted).toBe(host.flat().length);
});

describe('given the table', () => {
  test.each(faults)('when the line of "%s" comes, then it raises that count and no other', (example) => {
    const [, kind = '', line = ''] = example.match(/^(\S+)\s+(.*)$/) ?? [];
    const { decoder, sink } = primed();
    const { accepted } = decoder.counts;
    sink.take();
    decoder.push(bytesOf(`${line}\n`), sink);
    expect(faultsOf(decoder)).toEqual([[kind, 1]]);
    expect(decoder.counts.accepted).toBe(accepted);
    expect(sink.take().filter(([name]) => name !== 'missing')).toEqual([['fault', kind, line]]);
  });
});
