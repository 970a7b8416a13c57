/**
 * The host's end of the line: bytes of a bench in, messages and counts out
 * (PROTOCOL.md). How reads split the bytes never changes the result.
 *
 * Cutting into lines is in `line-buffer.ts`, sample lines in `sample-line.ts`,
 * damage in `frame.ts`, all other kinds in `checked-line.ts`. Here is what
 * depends on the lines before: table, running number, time, version.
 */
import { type CheckedLine, checkedLine } from './checked-line.ts';
import { Continuity } from './continuity.ts';
import { bodyText, excerptOf, frameFault, textEnd, tooLongFault, zeroCounts } from './frame.ts';
import { LINE_BYTES_MAX, LineBuffer } from './line-buffer.ts';
import type { BenchTable, FaultKind, Identity, LineCounts, LineSink } from './messages.ts';
import { SampleLine } from './sample-line.ts';
import { TableCollector } from './table-collector.ts';

const LF = 0x0a;

export class LineDecoder {
  /** Live: the same object for the decoder's life. */
  readonly counts: LineCounts = zeroCounts();
  readonly #buffer = new LineBuffer();
  readonly #sample = new SampleLine();
  readonly #continuity = new Continuity();
  readonly #collector = new TableCollector();
  /** Columns by group; 0 where the table (or its absence) knows none. */
  readonly #columns = new Int32Array(10);
  #identity: Identity | null = null;
  #wrongVersion: string | null = null;
  /** Until the first LF we may have joined in the middle of a line: damage is then no damage. */
  #isJoining = true;

  /** The channel table in force; null until it is complete, and after a new boot or layout until it is again. */
  get table(): BenchTable | null {
    return this.#collector.table;
  }

  /** Bytes of an unfinished line that are held, less than 512. */
  get heldBytes(): number {
    return this.#buffer.held;
  }

  /**
   * The port was opened again: the unfinished line goes, and nothing is said
   * about what is missing in between. Table and counts stay.
   */
  rejoin(): void {
    this.#buffer.clear();
    this.#continuity.forget();
    this.#isJoining = true;
  }

  /** Takes the bytes of one read, of any length, and calls the sink for each line that they finish. */
  push(chunk: Uint8Array, sink: LineSink): void {
    const buffer = this.#buffer;
    this.counts.bytes += chunk.length;
    let at = 0;
    while (at < chunk.length) {
      at += buffer.fill(chunk, at);
      this.#takeLines(sink);
      if (buffer.isTooLong) {
        this.#damaged(tooLongFault(buffer.bytes, buffer.from), buffer.from, buffer.from + LINE_BYTES_MAX, sink);
        buffer.dropLine();
      }
    }
  }

  #takeLines(sink: LineSink): void {
    const buffer = this.#buffer;
    const { bytes, view, lastLf } = buffer;
    while (buffer.from <= lastLf) {
      const from = buffer.from;
      const next = this.#sample.read(bytes, view, from);
      if (next >= 0) {
        buffer.from = next;
        this.#isJoining = false;
        this.#takeSamples(from, next, sink);
      } else {
        const lf = bytes.indexOf(LF, from);
        buffer.from = lf + 1;
        this.#takeOther(from, lf, sink);
      }
    }
  }

  #takeSamples(from: number, next: number, sink: LineSink): void {
    const { seq, time_us, group, count, raw } = this.#sample;
    const columns = this.#columns[group]!;
    if (count !== columns) {
      this.#arrived(seq, time_us, sink);
      this.#fault(columns === 0 ? 'before-table' : 'field-count', from, next - 1, sink);
    } else if (this.#continuity.goesBack(time_us)) {
      this.#fault('time-back', from, next - 1, sink);
    } else {
      this.#arrived(seq, time_us, sink);
      this.counts.accepted++;
      sink.samples(group, time_us >>> 0, raw, count);
    }
  }

  /** Any line that is not a good `S` line. */
  #takeOther(from: number, lf: number, sink: LineSink): void {
    const { bytes } = this.#buffer;
    const isEmpty = textEnd(bytes, from, lf) === from;
    const damage = isEmpty ? undefined : frameFault(bytes, from, lf);
    if (damage !== undefined) {
      this.#damaged(damage, from, lf, sink);
      return;
    }
    this.#isJoining = false;
    if (isEmpty) return;
    const body = bodyText(bytes, from, lf);
    const fault =
      this.#wrongVersion !== null && !body.startsWith('I ')
        ? // No kind of a version that we do not know is known.
          body.startsWith('S ') || body.startsWith('E ')
          ? 'before-table'
          : 'unknown-kind'
        : this.#takeBody(body, sink);
    if (fault !== undefined) this.#fault(fault, from, lf, sink);
  }

  #takeBody(body: string, sink: LineSink): FaultKind | undefined {
    const line = checkedLine(body);
    if (line === undefined) return 'bad-form';
    const { seq, time_us32, content } = line;
    switch (content.kind) {
      case 'other-version':
        this.#takeOtherVersion(content.version, sink);
        return undefined;
      case 'I':
        return this.#takeIdentity(content.identity, line, sink);
      case 'unknown':
        this.#arrived(seq, time_us32, sink);
        return 'unknown-kind';
      case 'E':
        if (content.input >= (this.table?.inputs.length ?? 0)) {
          this.#arrived(seq, time_us32, sink);
          return 'before-table';
        }
        break;
      case 'G':
      case 'C':
      case 'D':
        if (!this.#collector.admits(content)) return 'bad-form';
        break;
      default:
    }
    if (this.#continuity.goesBack(time_us32)) return 'time-back';
    this.#arrived(seq, time_us32, sink);
    this.counts.accepted++;
    switch (content.kind) {
      case 'E':
        sink.input(content.input, content.state, time_us32);
        break;
      case 'T':
        sink.text(content.weight, content.text, time_us32);
        break;
      case 'A':
        sink.answer(content.answer, time_us32);
        break;
      default:
        if (this.#collector.takeRow(content)) this.#tableCompleted(sink);
    }
    return undefined;
  }

  #takeIdentity(identity: Identity, line: CheckedLine, sink: LineSink): FaultKind | undefined {
    const known = this.#identity;
    const continuity = this.#continuity;
    const isOtherBoot = known === null || known.boot !== identity.boot;
    const isNewBoot = isOtherBoot || known.layout !== identity.layout || this.#wrongVersion !== null;
    const goesBack = continuity.goesBack(line.time_us32);
    if (goesBack && !isOtherBoot) return 'time-back';
    // Lines taken since the (re)join, before any identity, are of this boot already, unless the numbers say otherwise.
    if (isOtherBoot && (continuity.isConfirmed || goesBack || line.seq === 0)) continuity.restart();
    continuity.confirm();
    this.#identity = identity;
    this.#wrongVersion = null;
    this.#arrived(line.seq, line.time_us32, sink);
    this.counts.accepted++;
    const isComplete = this.#collector.takeIdentity(identity);
    if (this.table === null) this.#columns.fill(0);
    sink.identity(identity, line.time_us32, isNewBoot);
    if (isComplete) this.#tableCompleted(sink);
    return undefined;
  }

  #takeOtherVersion(version: string, sink: LineSink): void {
    this.counts.accepted++;
    this.#continuity.forget();
    this.#collector.forget();
    this.#columns.fill(0);
    if (version === this.#wrongVersion) return;
    this.#wrongVersion = version;
    sink.wrongVersion(version);
  }

  #tableCompleted(sink: LineSink): void {
    const table = this.table;
    if (table === null) throw new Error('expected a complete table, got none');
    this.#columns.fill(0);
    for (const { group, columns } of table.groups) this.#columns[group] = columns;
    sink.table(table);
  }

  /**
   * A line has come whole and in good form. It was not lost on the way, so its
   * running number counts even where it says nothing to us.
   */
  #arrived(seq: number, time_us: number, sink: LineSink): void {
    if (this.#wrongVersion !== null || this.#continuity.goesBack(time_us)) return;
    const missing = this.#continuity.follow(seq, time_us);
    if (missing === 0) return;
    this.counts.missing += missing;
    sink.missing(missing);
  }

  #damaged(kind: FaultKind, from: number, end: number, sink: LineSink): void {
    const isDamage = !this.#isJoining;
    this.#isJoining = false;
    if (isDamage) this.#fault(kind, from, end, sink);
  }

  #fault(kind: FaultKind, from: number, lf: number, sink: LineSink): void {
    this.counts.faults[kind]++;
    const { bytes } = this.#buffer;
    sink.fault(kind, excerptOf(bytes, from, textEnd(bytes, from, lf)));
  }
}
