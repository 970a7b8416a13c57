/**
 * Listens to a bench and judges line by line (PROTOCOL.md, parts 2 to 7 and
 * 11), strictly and by itself: it does not use the host's decoder, which
 * forgives. What was heard is kept for the scripts that ask.
 */
import { stateLetters } from '../../shared-core/channels/quality.ts';
import { type CheckedLine, checkedLine, MAJOR_VERSION } from '../../shared-core/line/checked-line.ts';
import { crc16 } from '../../shared-core/line/crc16.ts';
import { fieldsOf, isKind, numberOf, seqOf, timeOf } from '../../shared-core/line/fields.ts';
import { excerptOf } from '../../shared-core/line/frame.ts';
import { LINE_BYTES_MAX } from '../../shared-core/line/line-buffer.ts';
import type { Answer, InputState } from '../../shared-core/line/messages.ts';
import type { CheckId } from './checks.ts';
import type { Findings } from './findings.ts';
import { Periods } from './periods.ts';
import { TableWatch } from './table-watch.ts';

const LF = 0x0a;
const CR = 0x0d;
const HALF_TURN_us = 2 ** 31;
const TURN_us = 2 ** 32;
const KNOWN_KINDS = 'IGCDSETAR';
/** A line must come every 2 s; some is allowed for a bench that rounds. */
const ALIVE_us = 2.05e6;
const stateForm = new RegExp(`^[${Object.keys(stateLetters).join('')}]$`);

const formOf: Readonly<Record<string, CheckId>> = {
  I: 'form-identity',
  G: 'form-table',
  C: 'form-table',
  D: 'form-table',
  S: 'form-samples',
  E: 'form-event',
  T: 'form-text',
  A: 'form-answer',
  R: 'form-answer',
};

export interface HeardAnswer {
  readonly answer: Answer;
  readonly at_ms: number;
}

export interface HeardEvent {
  readonly key: string;
  readonly state: InputState;
  /** Bench time, unwrapped. */
  readonly bench_us: number;
  readonly at_ms: number;
}

export class LineWatch {
  readonly table: TableWatch;
  readonly periods: Periods;
  readonly answers: HeardAnswer[] = [];
  readonly events: HeardEvent[] = [];
  /** Host time of each identity line, and of each table row with its name. */
  readonly identities_ms: number[] = [];
  readonly rows: { readonly name: string; readonly at_ms: number }[] = [];
  /** Last value by key, in the bench's unit; NaN for a state. */
  readonly values = new Map<string, number>();
  firmware = '';
  lines = 0;
  readonly #findings: Findings;
  #waiting: number[] = [];
  #isJoining = true;
  #seq = Number.NaN;
  #time32_us = Number.NaN;
  #bench_us = 0;
  #boot = '';
  #first: { readonly bench_us: number; readonly at_ms: number } | null = null;
  #last: { readonly bench_us: number; readonly at_ms: number } | null = null;
  #at_ms = 0;
  #isTooLong = false;

  constructor(findings: Findings) {
    this.#findings = findings;
    this.table = new TableWatch(findings);
    this.periods = new Periods(findings);
  }

  push(chunk: Uint8Array, at_ms: number): void {
    this.#at_ms = at_ms;
    for (const byte of chunk) {
      if (byte !== LF) {
        this.#waiting.push(byte);
        // Enough to say that it is too long; the rest only has to end.
        if (this.#waiting.length > 4 * LINE_BYTES_MAX) this.#waiting.length = 2 * LINE_BYTES_MAX;
        continue;
      }
      const line = Uint8Array.from(this.#waiting);
      this.#waiting = [];
      if (this.#isJoining) this.#isJoining = false;
      else this.#line(line);
    }
  }

  /** Judges what only a whole stretch of listening shows. */
  finish(): void {
    this.table.finish();
    this.periods.finish(this.#bench_us, this.table.table);
    const { note } = this;
    if (this.#first && this.#last && this.#last.at_ms - this.#first.at_ms > 5000) {
      const bench_ms = (this.#last.bench_us - this.#first.bench_us) / 1000;
      const host_ms = this.#last.at_ms - this.#first.at_ms;
      const off = bench_ms / host_ms - 1;
      note(
        'clock',
        Math.abs(off) < 0.01,
        `bench time ran ${(100 * off).toFixed(1)} % off in ${Math.round(host_ms / 1000)} s`,
      );
    }
  }

  readonly note = (check: CheckId, isHeld: boolean, detail: string): void => {
    this.#findings.note(check, isHeld, detail);
  };

  #line(bytes: Uint8Array): void {
    const end = bytes.at(-1) === CR ? bytes.length - 1 : bytes.length;
    if (end === 0) return;
    this.lines++;
    const said = (): string => `line ${this.lines}: ${excerptOf(bytes, 0, end)}`;
    this.#isTooLong = bytes.length + 1 > LINE_BYTES_MAX;
    this.note('line-length', !this.#isTooLong, `${said()} … of ${bytes.length + 1} bytes`);
    const isPrintable = bytes.subarray(0, end).every((byte) => byte >= 0x20 && byte <= 0x7e);
    this.note('bytes', isPrintable, said());
    const text = String.fromCharCode(...bytes.subarray(0, end));
    const isFramed = /^[^~]*~[0-9A-F]{4}$/.test(text);
    this.note('crc-form', isFramed, said());
    if (this.#isTooLong || !isPrintable) return;
    if (!isFramed) {
      // Read on where only the case of the digits is wrong: one fault, one finding.
      if (!/^[^~]*~[0-9A-Fa-f]{4}$/.test(text)) return;
    }
    const isRight = Number.parseInt(text.slice(-4), 16) === crc16(bytes, 0, end - 5);
    this.note('crc', isRight, said());
    if (isRight) this.#body(text.slice(0, -5), said);
  }

  #body(body: string, said: () => string): void {
    const fields = fieldsOf(body);
    this.note('fields', fields !== undefined, said());
    const loose = fields ?? body.split(' ').filter((field) => field !== '');
    const kind = loose[0];
    this.note('kind', isKind(kind), said());
    if (!isKind(kind)) return;
    this.note('kind-known', KNOWN_KINDS.includes(kind), said());
    const seq = seqOf(loose[1]);
    const time32_us = timeOf(loose[2]);
    this.note('head', !Number.isNaN(seq) && !Number.isNaN(time32_us), said());
    if (Number.isNaN(seq) || Number.isNaN(time32_us)) return;
    const line = kind === 'S' ? undefined : checkedLine(loose.join(' '));
    this.#follow(seq, time32_us, line, said);
    if (kind === 'S') this.#samples(loose, said);
    else if (KNOWN_KINDS.includes(kind)) {
      this.note(formOf[kind]!, line !== undefined, said());
      if (line) this.#content(line, said);
    }
  }

  /** Running number and time, also over a reboot. */
  #follow(seq: number, time32_us: number, line: CheckedLine | undefined, said: () => string): void {
    const boot = line?.content.kind === 'I' ? line.content.identity.boot : this.#boot;
    if (this.#boot !== '' && boot !== this.#boot) {
      this.note('boot-restarts', seq === 0, said());
      this.periods.restart();
      this.#bench_us = time32_us;
      this.#first = null;
    } else if (!Number.isNaN(this.#seq)) {
      this.note('seq', seq === ((this.#seq + 1) & 0xffff), `${said()} after ${hex4(this.#seq)}`);
      const passed_us = (time32_us - this.#time32_us + TURN_us) % TURN_us;
      this.note(
        'time',
        passed_us < HALF_TURN_us,
        `${said()} comes ${Math.round((TURN_us - passed_us) / 1000)} ms before the line before it`,
      );
      const isForward = passed_us < HALF_TURN_us;
      if (isForward) {
        this.note('alive', passed_us <= ALIVE_us, `${said()} after ${(passed_us / 1e6).toFixed(2)} s of silence`);
      }
      // Back too, so that one line out of order does not push all later ones on.
      this.#bench_us += isForward ? passed_us : passed_us - TURN_us;
    } else this.#bench_us = time32_us;
    this.#boot = boot;
    this.#seq = seq;
    this.#time32_us = time32_us;
    const here = { bench_us: this.#bench_us, at_ms: this.#at_ms };
    this.#first ??= here;
    this.#last = here;
    this.periods.heard(this.#bench_us);
  }

  #content({ content }: CheckedLine, said: () => string): void {
    const at_ms = this.#at_ms;
    switch (content.kind) {
      case 'other-version':
        this.note('version', false, `it announces version ${content.version}; this kit reads ${MAJOR_VERSION}.x`);
        break;
      case 'I':
        this.note('version', true, '');
        this.firmware = content.identity.firmware;
        this.identities_ms.push(at_ms);
        this.periods.of('identity-every', 'identity', this.#bench_us);
        this.table.identity(content.identity);
        break;
      case 'G':
      case 'C':
      case 'D': {
        const name = this.table.row(content, said);
        this.rows.push({ name, at_ms });
        this.periods.of('table-every', name, this.#bench_us);
        break;
      }
      case 'E': {
        const input = this.table.table?.inputs[content.input];
        if (this.table.table) this.note('form-event', input !== undefined, `${said()}: the table has no such input`);
        if (!input) break;
        this.events.push({ key: input.key, state: content.state, bench_us: this.#bench_us, at_ms });
        this.periods.of('event-every', `input ${input.key}`, this.#bench_us);
        break;
      }
      case 'A':
        this.answers.push({ answer: content.answer, at_ms });
        break;
      default:
    }
  }

  #samples(fields: readonly string[], said: () => string): void {
    const group = numberOf(fields[3], 1, 9);
    const values = fields.slice(4);
    const isGood =
      !Number.isNaN(group) &&
      values.length > 0 &&
      values.every((value) => stateForm.test(value) || !Number.isNaN(numberOf(value)));
    this.note('form-samples', isGood, said());
    const { table } = this.table;
    const row = table?.groups.find((each) => each.group === group);
    if (!table || !isGood) return;
    this.note(
      'sample-columns',
      row?.columns === values.length,
      `${said()}: ${row ? `the group has ${row.columns}` : 'no such group'}`,
    );
    if (row?.columns !== values.length) return;
    this.periods.sample(group, this.#bench_us);
    for (const channel of table.channels) {
      if (channel.group !== group) continue;
      const raw = numberOf(values[channel.column]);
      this.values.set(channel.key, raw / 10 ** channel.decimals);
      if (Number.isNaN(raw)) continue;
      this.note('sample-range', raw >= channel.low && raw <= channel.high, `${said()}: ${channel.key} ${raw}`);
    }
  }
}

function hex4(value: number): string {
  return value.toString(16).toUpperCase().padStart(4, '0');
}
