/**
 * Foreign lines by their profile, into the same messages as our own: identity
 * and channel table first, then samples as scaled integers. Intake, pipeline
 * and recorder see no difference. The same faults are counted; a line that
 * does not fit is dropped whole, counted and shown, never guessed.
 *
 * Time is in `profile-clock.ts`, cutting in `split-line.ts`, digits in
 * `number-field.ts`.
 */
import { quality, rawOfQuality } from '../../channels/quality.ts';
import { crc16 } from '../crc16.ts';
import type { BenchDecoder } from '../decoder-contract.ts';
import { zeroCounts } from '../frame.ts';
import { LINE_BYTES_MAX, LineBuffer } from '../line-buffer.ts';
import type { BenchTable, ChannelRow, FaultKind, Identity, LineCounts, LineSink } from '../messages.ts';
import { encodedText } from '../text-coding.ts';
import type { LineProfile, ProfileColumn } from './line-profile.ts';
import { excerptOfText, hasControl, isPlain, lineText } from './line-text.ts';
import { scaledInteger } from './number-field.ts';
import { ProfileClock } from './profile-clock.ts';
import { type Fields, splitLine } from './split-line.ts';

const LF = 0x0a;
/** All columns of a foreign line are one rate group. */
const GROUP = 1;

export class ProfileDecoder implements BenchDecoder {
  readonly counts: LineCounts = zeroCounts();
  readonly profile: LineProfile;
  readonly #buffer = new LineBuffer();
  readonly #clock: ProfileClock;
  readonly #raw: Int32Array;
  readonly #layout: string;
  #boot = 0;
  #isIntroduced = false;
  #sequence = NaN;
  /** Until the first LF the line may have lost its head: without a checksum nobody could tell. */
  #isJoining = true;

  constructor(profile: LineProfile) {
    this.profile = profile;
    this.#clock = new ProfileClock(profile.time, profile.decimal);
    this.#raw = new Int32Array(profile.columns.length);
    this.#layout = layoutOf(profile);
  }

  get table(): BenchTable {
    return tableOf(this.profile, this.#identity());
  }

  rejoin(): void {
    this.#buffer.clear();
    this.#clock.rejoin();
    this.#sequence = NaN;
    this.#isJoining = true;
  }

  push(chunk: Uint8Array, sink: LineSink, arrived_us: number): void {
    const buffer = this.#buffer;
    this.counts.bytes += chunk.length;
    let at = 0;
    while (at < chunk.length) {
      at += buffer.fill(chunk, at);
      while (buffer.from <= buffer.lastLf) {
        const from = buffer.from;
        const lf = buffer.bytes.indexOf(LF, from);
        buffer.from = lf + 1;
        if (lf + 1 - from > LINE_BYTES_MAX) this.#takeTooLong(from, sink);
        else this.#take(lineText(buffer.bytes, from, lf), sink, arrived_us);
      }
      if (buffer.isTooLong) {
        this.#takeTooLong(buffer.from, sink);
        buffer.dropLine();
      }
    }
  }

  /** Only the first 512 bytes are looked at, so that it is the same fault however the line came. */
  #takeTooLong(from: number, sink: LineSink): void {
    const isFirst = this.#isJoining;
    this.#isJoining = false;
    const text = lineText(this.#buffer.bytes, from, from + LINE_BYTES_MAX);
    if (!isFirst) this.#fault(hasControl(text) ? 'garbage' : 'too-long', text, sink);
  }

  #take(text: string, sink: LineSink, arrived_us: number): void {
    const { profile } = this;
    const isFirst = this.#isJoining;
    this.#isJoining = false;
    if (text.trim() === '') return;
    const isHeader = text.trimEnd() === profile.header?.trimEnd();
    if (!hasControl(text) && (isHeader || (profile.comment !== '' && text.startsWith(profile.comment)))) {
      this.counts.accepted++;
      return;
    }
    const isGarbage = !isPlain(text);
    const split = isGarbage ? undefined : splitLine(profile, text);
    if (isFirst && (profile.checksum === null || split === undefined || !split.ok)) return;
    const fault =
      split === undefined ? 'garbage' : split.ok ? this.#takeFields(split.fields, sink, arrived_us) : split.fault;
    if (fault !== undefined) this.#fault(fault, text, sink);
  }

  #takeFields(fields: Fields, sink: LineSink, arrived_us: number): FaultKind | undefined {
    const { columns, sequence } = this.profile;
    const count = sequence === null ? NaN : wholeNumber(fields.at(sequence.at));
    if (sequence !== null && !(count >= 0)) return 'bad-form';
    for (let i = 0; i < columns.length; i++) {
      const raw = this.#rawOf(columns[i]!, fields);
      if (Number.isNaN(raw)) return 'bad-form';
      this.#raw[i] = raw;
    }
    const time = this.#clock.read((place) => fields.at(place), arrived_us);
    if (time.kind !== 'time') return time.kind;
    if (time.isNewClock) {
      this.#boot = (this.#boot + 1) & 0xffff;
      this.#sequence = NaN;
    }
    if (sequence !== null) this.#follow(count, sequence.modulus, sink);
    this.counts.accepted++;
    if (time.isNewClock || !this.#isIntroduced) {
      const identity = this.#identity();
      sink.identity(identity, time.time_us32, true);
      if (!this.#isIntroduced) sink.table(tableOf(this.profile, identity));
      this.#isIntroduced = true;
    }
    sink.samples(GROUP, time.time_us32, this.#raw, columns.length);
    return undefined;
  }

  /** NaN if what stands there is neither a number nor a mark. */
  #rawOf(column: ProfileColumn, fields: Fields): number {
    const text = fields.at(column.at);
    for (const { text: mark, state } of column.missing) {
      if (text === mark) return rawOfQuality(quality[state]);
    }
    if (!text.endsWith(column.suffix)) return NaN;
    const digits = column.suffix === '' ? text : text.slice(0, -column.suffix.length).trimEnd();
    return scaledInteger(digits, this.profile.decimal, column);
  }

  #follow(count: number, modulus: number, sink: LineSink): void {
    const missing = Number.isNaN(this.#sequence) ? 0 : (count - this.#sequence - 1 + modulus) % modulus;
    this.#sequence = count;
    // More than half a turn is a counter that was set back, not a loss.
    if (missing === 0 || missing > modulus / 2) return;
    this.counts.missing += missing;
    sink.missing(missing);
  }

  #identity(): Identity {
    return {
      version: '1.0',
      bench: this.profile.name,
      firmware: 'by-profile',
      boot: this.#boot.toString(16).toUpperCase().padStart(4, '0'),
      layout: this.#layout,
      groups: 1,
      channels: this.profile.columns.length,
      inputs: 0,
    };
  }

  #fault(kind: FaultKind, text: string, sink: LineSink): void {
    this.counts.faults[kind]++;
    sink.fault(kind, excerptOfText(text));
  }
}

function tableOf(profile: LineProfile, identity: Identity): BenchTable {
  const channels = profile.columns.map((column, i): ChannelRow => {
    const steps = 10 ** column.decimals;
    return {
      channel: i,
      group: GROUP,
      column: i,
      key: column.key,
      quantity: column.quantity,
      unit: column.unit,
      decimals: column.decimals,
      low: Math.round(column.low * steps),
      high: Math.round(column.high * steps),
    };
  });
  const groups = [{ group: GROUP, rate_mHz: profile.rate_mHz, columns: channels.length }];
  return { identity, groups, channels, inputs: [] };
}

/** Differs whenever the profile does, as `layout` must (PROTOCOL.md, part 5). */
function layoutOf(profile: LineProfile): string {
  const text = encodedText(JSON.stringify(profile));
  const bytes = Uint8Array.from(text, (character) => character.charCodeAt(0));
  return crc16(bytes, 0, bytes.length).toString(16).toUpperCase().padStart(4, '0');
}

function wholeNumber(text: string): number {
  return /^\d{1,15}$/.test(text) ? Number(text) : NaN;
}
