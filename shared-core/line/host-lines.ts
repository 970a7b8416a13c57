/**
 * The bench's reading of what a host sends (PROTOCOL.md, parts 8 and 9). A
 * line that is damaged or badly formed is dropped without an answer; whether a
 * command exists and its arguments are in range is the bench's to answer.
 */
import { fieldsOf, hex4Of, isKind, isWord, numberOf } from './fields.ts';
import { bodyText, frameFault, textEnd, tooLongFault, zeroCounts } from './frame.ts';
import { LEASE_MS_MAX, LEASE_MS_MIN } from './host-encoder.ts';
import { LineBuffer } from './line-buffer.ts';
import type { FaultKind, HostLine, LineCounts } from './messages.ts';

const LF = 0x0a;

export class HostLineDecoder {
  /** As on the host's side; `missing` stays 0, for host lines carry no running number. */
  readonly counts: LineCounts = zeroCounts();
  readonly #buffer = new LineBuffer();
  #isJoining = true;

  /** Takes the bytes of one read, of any length, and hands on each good line that they finish. */
  push(chunk: Uint8Array, onLine: (line: HostLine) => void): void {
    const buffer = this.#buffer;
    this.counts.bytes += chunk.length;
    let at = 0;
    while (at < chunk.length) {
      at += buffer.fill(chunk, at);
      const { bytes, lastLf } = buffer;
      while (buffer.from <= lastLf) {
        const from = buffer.from;
        const lf = bytes.indexOf(LF, from);
        buffer.from = lf + 1;
        this.#takeLine(from, lf, onLine);
      }
      if (buffer.isTooLong) {
        this.#damaged(tooLongFault(buffer.bytes, buffer.from));
        buffer.dropLine();
      }
    }
  }

  #takeLine(from: number, lf: number, onLine: (line: HostLine) => void): void {
    const { bytes } = this.#buffer;
    const isEmpty = textEnd(bytes, from, lf) === from;
    const damage = isEmpty ? undefined : frameFault(bytes, from, lf);
    if (damage !== undefined) {
      this.#damaged(damage);
      return;
    }
    this.#isJoining = false;
    if (isEmpty) return;
    const line = hostLineOf(bodyText(bytes, from, lf));
    if (typeof line === 'string') {
      this.counts.faults[line]++;
    } else {
      this.counts.accepted++;
      onLine(line);
    }
  }

  #damaged(kind: FaultKind): void {
    if (!this.#isJoining) this.counts.faults[kind]++;
    this.#isJoining = false;
  }
}

function hostLineOf(body: string): HostLine | 'bad-form' | 'unknown-kind' {
  const fields = fieldsOf(body);
  const kind = fields?.[0];
  if (fields === undefined || !isKind(kind)) return 'bad-form';
  if (kind !== 'Q' && kind !== 'L') return 'unknown-kind';
  const host = fields[1];
  if (host === undefined || hex4Of(host) === undefined) return 'bad-form';
  if (kind === 'L') {
    const ms = numberOf(fields[2], 0, LEASE_MS_MAX);
    const isGood = fields.length === 3 && (ms === 0 || ms >= LEASE_MS_MIN);
    return isGood ? { kind: 'lease', host, ms } : 'bad-form';
  }
  const id = fields[2];
  const name = fields[3];
  if (id === undefined || hex4Of(id) === undefined || !isWord(name)) return 'bad-form';
  // The digits stay as they came: the answer repeats them, and the host compares.
  return { kind: 'command', host, id, name, args: fields.slice(4) };
}
