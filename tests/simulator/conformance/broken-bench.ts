/**
 * A simulated bench with one deliberate fault of protocol: its lines and the
 * host's pass through here and are changed on the way. Running numbers are
 * written anew, so that a line left out is not a second fault.
 */
import { crc16 } from '../../../shared-core/line/crc16.ts';
import { SimulatedBench } from '../../../simulator/simulated-bench.ts';

export interface BenchLine {
  readonly kind: string;
  time_us: number;
  /** All behind the time. */
  rest: string;
}

/** What a broken bench does otherwise. Each hook left out does nothing. */
export interface Breakage {
  /** Changes a line, or leaves it out with `null`. Called in order, with how many lines came before. */
  readonly line?: (line: BenchLine, index: number, now_ms: number) => BenchLine | null;
  /** Changes the running number of a line. */
  readonly seq?: (seq: number, line: BenchLine) => number;
  /** Changes the finished text, CRC included, without LF. */
  readonly text?: (text: string, line: BenchLine, index: number) => string;
  /** How often a line is sent, and how much later. */
  readonly copies?: (line: BenchLine) => number;
  readonly late_ms?: (line: BenchLine) => number;
  /** Bytes from the host on their way in; returns lines without LF, and may add own ones. */
  readonly fromHost?: (line: string, now_ms: number) => readonly string[];
  /** Lines that the breakage itself gives to the bench, every millisecond. */
  readonly everyMs?: (now_ms: number) => readonly string[];
}

export class BrokenBench {
  readonly bench: SimulatedBench;
  readonly #breakage: Breakage;
  #fromBench = '';
  #fromHost = '';
  #seq = 0;
  #index = 0;
  #now_ms = 0;
  #time_us = 0;
  readonly #late: { readonly at_ms: number; readonly line: BenchLine }[] = [];
  #out = '';

  constructor(breakage: Breakage, seed = 5) {
    this.bench = new SimulatedBench({ seed, scenario: 'standing' });
    this.#breakage = breakage;
  }

  advanceMs(ms: number): void {
    for (let i = 0; i < ms; i++) {
      this.#now_ms++;
      for (const line of this.#breakage.everyMs?.(this.#now_ms) ?? []) this.bench.write(framed(line));
      this.bench.advance(0.001);
      this.#fromBench += text(this.bench.takeBytes());
      const lines = this.#fromBench.split('\n');
      this.#fromBench = lines.pop() ?? '';
      for (const line of lines) this.#take(line);
      while (this.#late[0] && this.#late[0].at_ms <= this.#now_ms)
        this.#send({ ...this.#late.shift()!.line, time_us: this.#time_us });
    }
  }

  takeBytes(): Uint8Array {
    const out = this.#out;
    this.#out = '';
    return bytesOf(out);
  }

  write(chunk: Uint8Array): void {
    if (!this.#breakage.fromHost) {
      this.bench.write(chunk);
      return;
    }
    this.#fromHost += text(chunk);
    const lines = this.#fromHost.split('\n');
    this.#fromHost = lines.pop() ?? '';
    for (const line of lines) {
      for (const out of this.#breakage.fromHost(line, this.#now_ms)) this.bench.write(bytesOf(`${out}\n`));
    }
  }

  #take(raw: string): void {
    const [kind = '', , time = '', ...rest] = raw.slice(0, raw.lastIndexOf('~')).split(' ');
    const parsed: BenchLine = { kind, time_us: Number.parseInt(time, 16), rest: rest.join(' ') };
    const line = this.#breakage.line ? this.#breakage.line(parsed, this.#index++, this.#now_ms) : parsed;
    if (line === null) return;
    const late_ms = this.#breakage.late_ms?.(line) ?? 0;
    for (let copy = this.#breakage.copies?.(line) ?? 1; copy > 0; copy--) {
      if (late_ms > 0) this.#late.push({ at_ms: this.#now_ms + late_ms, line });
      else this.#send(line);
    }
  }

  #send(line: BenchLine): void {
    const seq = this.#breakage.seq?.(this.#seq, line) ?? this.#seq;
    this.#seq = (this.#seq + 1) & 0xffff;
    this.#time_us = line.time_us;
    const body = `${line.kind} ${hex(seq, 4)} ${hex(line.time_us, 8)} ${line.rest}`;
    const whole = text(framed(body)).slice(0, -1);
    this.#out += `${this.#breakage.text?.(whole, line, this.#index) ?? whole}\n`;
  }
}

/** Body, CRC and LF. */
export function framed(body: string): Uint8Array {
  const bytes = bytesOf(body);
  return bytesOf(`${body}~${hex(crc16(bytes, 0, bytes.length), 4)}\n`);
}

function bytesOf(content: string): Uint8Array {
  return Uint8Array.from(content, (letter) => letter.charCodeAt(0));
}

function text(bytes: Uint8Array): string {
  let out = '';
  for (const byte of bytes) out += String.fromCharCode(byte);
  return out;
}

function hex(value: number, digits: number): string {
  return value.toString(16).toUpperCase().padStart(digits, '0');
}
