/**
 * The bench's end of the line: what a bench has to say, as lines with running
 * number, time and CRC (PROTOCOL.md, parts 3 to 11). Says nothing about when
 * lines are due; that is the bench's own business. The host's lines are in
 * `host-encoder.ts`, and named here so that all writing has one door.
 *
 * Arguments are checked strictly: a bench that would break the protocol throws
 * a RangeError here and puts nothing on the line.
 */
import { qualityOfRaw, RAW_MAX, stateLetters } from '../channels/quality.ts';
import { ByteWriter } from './byte-writer.ts';
import { CHANNELS_MAX, COLUMNS_MAX } from './checked-line.ts';
import { hex4Of, isField, isKey, isVersion, isWord } from './fields.ts';
import type { ChannelRow, GroupRow, Identity, InputRow, InputState, TextWeight } from './messages.ts';
import { encodedText } from './text-coding.ts';

export { hostCommandLine, hostLeaseLine } from './host-encoder.ts';

const TIME_MODULUS = 2 ** 32;
const letterOfQuality = new Map(Object.entries(stateLetters).map(([letter, code]) => [code, letter]));

/**
 * Times are bench microseconds since boot, whole and not negative; they are
 * taken modulo 2^32 here. `layout`, `boot`, `host` and `id` are 4 hex digits.
 */
export class BenchLineEncoder {
  readonly #writer = new ByteWriter();
  #seq: number;

  /** `firstSeq` is 0 for a bench that has just booted. */
  constructor(firstSeq = 0) {
    this.#seq = checkedInteger('firstSeq', firstSeq, 0, 0xffff);
  }

  /** Running number of the next line. */
  get nextSeq(): number {
    return this.#seq;
  }

  /** Bytes that wait to be taken. */
  get length(): number {
    return this.#writer.length;
  }

  /** All lines since the last call. */
  take(): Uint8Array {
    return this.#writer.take();
  }

  identity(identity: Identity, time_us: number): void {
    const { version, bench, firmware, boot, layout } = identity;
    if (!isVersion(version)) throw new RangeError(`expected a version such as 1.0, got ${version}`);
    this.#begin('I', time_us);
    this.#writer.text(version);
    this.#writer.text(checkedWord('bench', bench));
    this.#writer.text(checkedWord('firmware', firmware));
    this.#writer.text(checkedHex4('boot', boot));
    this.#writer.text(checkedHex4('layout', layout));
    this.#writer.integer(checkedInteger('groups', identity.groups, 0, 9));
    this.#writer.integer(checkedInteger('channels', identity.channels, 0, CHANNELS_MAX));
    this.#writer.integer(checkedInteger('inputs', identity.inputs, 0, RAW_MAX));
    this.#end();
  }

  group(layout: string, row: GroupRow, time_us: number): void {
    this.#begin('G', time_us);
    this.#writer.text(checkedHex4('layout', layout));
    this.#writer.integer(checkedInteger('group', row.group, 1, 9));
    this.#writer.integer(checkedInteger('rate_mHz', row.rate_mHz, 0, RAW_MAX));
    this.#writer.integer(checkedInteger('columns', row.columns, 1, COLUMNS_MAX));
    this.#end();
  }

  channel(layout: string, row: ChannelRow, time_us: number): void {
    if (!(row.low < row.high)) throw new RangeError(`expected low < high, got ${row.low} and ${row.high}`);
    this.#begin('C', time_us);
    this.#writer.text(checkedHex4('layout', layout));
    this.#writer.integer(checkedInteger('channel', row.channel, 0, CHANNELS_MAX - 1));
    this.#writer.integer(checkedInteger('group', row.group, 1, 9));
    this.#writer.integer(checkedInteger('column', row.column, 0, COLUMNS_MAX - 1));
    this.#writer.text(checkedKey(row.key));
    this.#writer.text(checkedWord('quantity', row.quantity));
    this.#writer.text(checkedWord('unit', row.unit));
    this.#writer.integer(checkedInteger('decimals', row.decimals, 0, 6));
    this.#writer.integer(checkedInteger('low', row.low, -RAW_MAX, RAW_MAX));
    this.#writer.integer(checkedInteger('high', row.high, -RAW_MAX, RAW_MAX));
    this.#end();
  }

  input(layout: string, row: InputRow, time_us: number): void {
    this.#begin('D', time_us);
    this.#writer.text(checkedHex4('layout', layout));
    this.#writer.integer(checkedInteger('input', row.input, 0, RAW_MAX));
    this.#writer.text(checkedKey(row.key));
    this.#writer.text(checkedWord('word0', row.word0));
    this.#writer.text(checkedWord('word1', row.word1));
    this.#end();
  }

  /** `raw[0 … columns−1]` holds scaled integers or state codes (quality.ts); "absent" is no state of the wire. */
  samples(group: number, time_us: number, raw: Int32Array, columns: number): void {
    checkedInteger('group', group, 1, 9);
    checkedInteger('columns', columns, 1, Math.min(COLUMNS_MAX, raw.length));
    this.#begin('S', time_us);
    this.#writer.integer(group);
    for (let column = 0; column < columns; column++) {
      const value = raw[column]!;
      if (value >= -RAW_MAX && value <= RAW_MAX) this.#writer.integer(value);
      else this.#writer.text(stateLetter(value));
    }
    this.#end();
  }

  event(input: number, state: InputState, time_us: number): void {
    if (state !== 0 && state !== 1 && state !== 'X') throw new RangeError(`expected 0, 1 or X, got ${state}`);
    this.#begin('E', time_us);
    this.#writer.integer(checkedInteger('input', input, 0, RAW_MAX));
    this.#writer.text(String(state));
    this.#end();
  }

  /** `text` is anything but empty, and short enough for a line once it is encoded. */
  text(weight: TextWeight, text: string, time_us: number): void {
    if (text === '') throw new RangeError('expected a text, got an empty one');
    if (weight !== 'N' && weight !== 'W' && weight !== 'F') throw new RangeError(`expected N, W or F, got ${weight}`);
    this.#begin('T', time_us);
    this.#writer.text(weight);
    this.#writer.text(encodedText(text));
    this.#end();
  }

  accepted(host: string, id: string, fields: readonly string[], time_us: number): void {
    this.#begin('A', time_us);
    this.#writer.text(checkedHex4('host', host));
    this.#writer.text(checkedHex4('id', id));
    for (const field of fields) this.#writer.text(checkedField(field));
    this.#end();
  }

  refused(host: string, id: string, reason: string, words: readonly string[], time_us: number): void {
    this.#begin('R', time_us);
    this.#writer.text(checkedHex4('host', host));
    this.#writer.text(checkedHex4('id', id));
    this.#writer.text(checkedWord('reason', reason));
    for (const word of words) this.#writer.text(checkedField(word));
    this.#end();
  }

  #begin(kind: string, time_us: number): void {
    checkedInteger('time_us', time_us, 0, Number.MAX_SAFE_INTEGER);
    this.#writer.begin(kind);
    this.#writer.hex(this.#seq, 4);
    this.#writer.hex(time_us % TIME_MODULUS, 8);
  }

  #end(): void {
    this.#writer.end();
    this.#seq = (this.#seq + 1) & 0xffff;
  }
}

function stateLetter(raw: number): string {
  const letter = letterOfQuality.get(qualityOfRaw(raw));
  if (letter === undefined || raw > RAW_MAX) throw new RangeError(`expected a value or a state, got ${raw}`);
  return letter;
}

function checkedInteger(name: string, value: number, least: number, most: number): number {
  if (Number.isInteger(value) && value >= least && value <= most) return value;
  throw new RangeError(`expected ${name} as an integer from ${least} to ${most}, got ${value}`);
}

function checkedHex4(name: string, text: string): string {
  if (hex4Of(text) !== undefined) return text;
  throw new RangeError(`expected ${name} as 4 hex digits, got ${text}`);
}

function checkedWord(name: string, text: string): string {
  if (isWord(text)) return text;
  throw new RangeError(`expected ${name} as a word of at most 24 characters, got ${text}`);
}

function checkedKey(text: string): string {
  if (isKey(text)) return text;
  throw new RangeError(`expected a key of at most 16 characters, got ${text}`);
}

function checkedField(text: string): string {
  if (isField(text)) return text;
  throw new RangeError(`expected printable ASCII without spaces, got ${text}`);
}
