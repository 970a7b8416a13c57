import { describe, expect, test } from 'vitest';
import { HostLineDecoder } from '../../shared-core/line/host-lines.ts';
import { faultKinds, type HostLine } from '../../shared-core/line/messages.ts';
import { bytesOf, linesOf, withCrc } from './line-support.ts';

/** A bench that is past its first line. */
function read(text: string): { lines: HostLine[]; faults: string[] } {
  const decoder = new HostLineDecoder();
  const lines: HostLine[] = [];
  decoder.push(bytesOf(`\n${text}`), (line) => lines.push(line));
  return { lines, faults: faultKinds.flatMap((kind) => Array(decoder.counts.faults[kind]).fill(kind)) };
}

describe('given a host line', () => {
  test.each([
    ['garbage', 'Q C0DE 0001\tIDENTIFY~0000'],
    ['too-long', 'Q'.repeat(600)],
    ['no-crc', 'Q C0DE 0001 IDENTIFY'],
    ['bad-crc', 'Q C0DE 0001 IDENTIFY~0000'],
    ['bad-form', withCrc('Q C0DE 0001')],
    ['bad-form', withCrc('Q C0DE 01 IDENTIFY')],
    ['bad-form', withCrc('Q C0DE 0001  IDENTIFY')],
    ['bad-form', withCrc('L C0DE')],
    ['bad-form', withCrc('L C0DE 299')],
    ['bad-form', withCrc('L C0DE 5001')],
    ['bad-form', withCrc('L C0DE 0900')],
    ['bad-form', withCrc('L C0DE 900 1')],
    ['unknown-kind', withCrc('S 0007 00001000 1 5')],
  ])('when it is %s, then it is dropped, without an answer, and counted: %s', (kind, line) => {
    expect(read(`${line}\n`)).toEqual({ lines: [], faults: [kind] });
  });

  test('when its command is unknown or has odd arguments, then it is handed on, for the bench must answer it', () => {
    const { lines, faults } = read(`${withCrc('Q c0de 000a DANCE 1 -2 x')}\n`);
    expect(lines).toEqual([{ kind: 'command', host: 'c0de', id: '000a', name: 'DANCE', args: ['1', '-2', 'x'] }]);
    expect(faults).toEqual([]);
  });

  test.each([0, 300, 5000])('when it is a lease of %i ms, then it is handed on', (ms) => {
    expect(read(`${withCrc(`L C0DE ${ms}`)}\r\n`).lines).toEqual([{ kind: 'lease', host: 'C0DE', ms }]);
  });
});

test('given a bench that begins to listen in the middle of a line, then that line is not counted', () => {
  const decoder = new HostLineDecoder();
  const lines: HostLine[] = [];
  const take = (line: HostLine) => lines.push(line);
  decoder.push(bytesOf('ENTIFY~CE38\n'), take);
  decoder.push(linesOf('L C0DE 900'), take);
  expect(lines).toHaveLength(1);
  expect(decoder.counts.faults['bad-crc']).toBe(0);
  decoder.push(bytesOf('ENTIFY~CE38\n'), take);
  expect(decoder.counts.faults['bad-crc']).toBe(1);
});
