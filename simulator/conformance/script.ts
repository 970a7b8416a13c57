/**
 * How the kit talks to a bench: scripts that send, wait and judge, as
 * generators, so that whoever drives them owns the clock and the port.
 */
import type { Answer } from '../../shared-core/line/messages.ts';
import type { Findings } from './findings.ts';
import { hostLine } from './host-line.ts';
import type { HeardAnswer, LineWatch } from './line-watch.ts';

/** Waits until something holds (then `true` comes back), at most so long (then `false`). */
export interface Wait {
  readonly until: () => boolean;
  readonly most_ms: number;
}
export type Script = Generator<Wait, void, boolean>;

/** PROTOCOL.md, part 8: 200 ms; and some for the wire and the two operating systems. */
export const ANSWER_ms = 260;
/** PROTOCOL.md, part 8. */
export const knownReasons = [
  ...['UNKNOWN', 'ARGUMENT', 'NO-LEASE', 'LEASED', 'STOP-OPEN', 'CAGE-OPEN', 'SUPPLY-OFF'],
  ...['MOVING', 'UNSETTLED', 'BUSY', 'FAULT'],
];

export interface Asked {
  /** "A", a reason, or "no answer". */
  readonly said: string;
  readonly answer: Answer | undefined;
}

export class Talk {
  readonly watch: LineWatch;
  readonly findings: Findings;
  /** Our host number, and one of another host. */
  readonly host: string;
  readonly other: string;
  readonly sent: { readonly host: string; readonly id: string; readonly at_ms: number }[] = [];
  now_ms = 0;
  readonly #out: Uint8Array[] = [];
  #id = 1;

  constructor(watch: LineWatch, findings: Findings, host: string, other: string) {
    this.watch = watch;
    this.findings = findings;
    this.host = host;
    this.other = other;
  }

  take(): Uint8Array[] {
    return this.#out.splice(0);
  }

  send(bytes: Uint8Array): void {
    this.#out.push(bytes);
  }

  nextId(): string {
    return (this.#id++).toString(16).toUpperCase().padStart(4, '0');
  }

  /** A command line, noted as sent. */
  line(host: string, id: string, rest: string): Uint8Array {
    this.sent.push({ host, id, at_ms: this.now_ms });
    return hostLine(`Q ${host} ${id} ${rest}`);
  }

  lease(host: string, ms: number): void {
    this.send(hostLine(`L ${host} ${ms}`));
  }

  /** Answers to a command heard so far, from an index of `watch.answers` on. */
  answersTo(host: string, id: string, from = 0): readonly HeardAnswer[] {
    return this.watch.answers
      .slice(from)
      .filter(({ answer }) => answer.host.toUpperCase() === host && answer.id.toUpperCase() === id);
  }

  /** Sends under a new id, waits for the answer, judges how it came; returns what was said. */
  *ask(rest: string, host = this.host, id = this.nextId()): Generator<Wait, Asked, boolean> {
    const from = this.watch.answers.length;
    const at_ms = this.now_ms;
    this.send(this.line(host, id, rest));
    yield { until: () => this.answersTo(host, id, from).length > 0, most_ms: 1000 };
    const first = this.answersTo(host, id, from)[0];
    const took_ms = first ? first.at_ms - at_ms : Number.POSITIVE_INFINITY;
    const how = first ? `after ${Math.round(took_ms)} ms` : 'not within 1 s';
    this.findings.note('answer-time', took_ms <= ANSWER_ms, `${rest}: answered ${how}`);
    if (first?.answer.kind === 'refused') {
      const { reason } = first.answer;
      this.findings.note('reasons', knownReasons.includes(reason), `${rest}: refused ${reason}`);
    }
    const said = !first ? 'no answer' : first.answer.kind === 'accepted' ? 'A' : first.answer.reason;
    return { said, answer: first?.answer };
  }

  *wait(ms: number): Generator<Wait, void, boolean> {
    yield { until: () => false, most_ms: ms };
  }
}
