/** What the tests of the line have in common: lines made without our encoder, and a sink that writes down. */
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { type FaultKind, faultKinds, type LineSink } from '../../shared-core/line/messages.ts';

/** Bit by bit, as printed in PROTOCOL.md, part 2: shares nothing with the tables under test. */
export function bitwiseCrc16(bytes: Uint8Array): number {
  let crc = 0xffff;
  for (const byte of bytes) {
    crc ^= byte << 8;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? ((crc << 1) ^ 0x1021) & 0xffff : (crc << 1) & 0xffff;
  }
  return crc;
}

export function bytesOf(text: string): Uint8Array {
  return Uint8Array.from(text, (character) => character.charCodeAt(0));
}

export function textOf(bytes: Uint8Array): string {
  return String.fromCharCode(...bytes);
}

export function hex(value: number, digits: number): string {
  return value.toString(16).toUpperCase().padStart(digits, '0');
}

/** A body with its CRC, without LF. */
export function withCrc(body: string): string {
  return `${body}~${hex(bitwiseCrc16(bytesOf(body)), 4)}`;
}

/** Bodies as the bytes of lines. */
export function linesOf(...bodies: string[]): Uint8Array {
  return bytesOf(bodies.map((body) => `${withCrc(body)}\n`).join(''));
}

/** One call of a sink: its name, then its arguments. */
export type Call = readonly [name: keyof LineSink, ...args: unknown[]];

/** Writes down every call; sample arrays are copied. */
export class RecordingSink implements LineSink {
  calls: Call[] = [];
  samples(group: number, time_us32: number, raw: Int32Array, columns: number): void {
    this.calls.push(['samples', group, time_us32, [...raw.subarray(0, columns)]]);
  }
  identity(...args: unknown[]): void {
    this.calls.push(['identity', ...args]);
  }
  table(...args: unknown[]): void {
    this.calls.push(['table', ...args]);
  }
  input(...args: unknown[]): void {
    this.calls.push(['input', ...args]);
  }
  answer(...args: unknown[]): void {
    this.calls.push(['answer', ...args]);
  }
  text(...args: unknown[]): void {
    this.calls.push(['text', ...args]);
  }
  fault(...args: unknown[]): void {
    this.calls.push(['fault', ...args]);
  }
  missing(...args: unknown[]): void {
    this.calls.push(['missing', ...args]);
  }
  wrongVersion(...args: unknown[]): void {
    this.calls.push(['wrongVersion', ...args]);
  }
  /** The calls since the last taking. */
  take(): Call[] {
    const calls = this.calls;
    this.calls = [];
    return calls;
  }
}

/** Bodies of a bench with two groups (2 columns, 1 column) and one input, from running number 0000 on. */
export const tableBodies: readonly string[] = [
  'I 0000 00000001 1.0 bench 1.2 0A01 5A10 2 3 1',
  'G 0001 00000002 5A10 1 100000 2',
  'G 0002 00000003 5A10 2 10000 1',
  'C 0003 00000004 5A10 0 1 0 rpm shaft-speed /min 0 0 9000',
  'C 0004 00000005 5A10 1 1 1 thrust thrust N 2 -5000 80000',
  'C 0005 00000006 5A10 2 2 0 cht1 head-temperature Cel 1 -400 4000',
  'D 0006 00000007 5A10 0 stop open closed',
];

/** A decoder that knows the table of `tableBodies`; the next running number is 0007. */
export class Bench {
  readonly decoder = new LineDecoder();
  readonly sink = new RecordingSink();
  constructor(bodies: readonly string[] = tableBodies) {
    this.decoder.push(linesOf(...bodies), this.sink);
    this.sink.take();
  }
  push(...bodies: string[]): Call[] {
    return this.pushBytes(linesOf(...bodies));
  }
  pushText(text: string): Call[] {
    return this.pushBytes(bytesOf(text));
  }
  pushBytes(bytes: Uint8Array): Call[] {
    this.decoder.push(bytes, this.sink);
    return this.sink.take();
  }
  get faults(): [FaultKind, number][] {
    const { faults } = this.decoder.counts;
    return faultKinds.map((kind): [FaultKind, number] => [kind, faults[kind]]).filter(([, count]) => count > 0);
  }
}

/** Numerical Recipes' linear congruential generator: 0 to below 1, the same on every machine. */
export function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}
