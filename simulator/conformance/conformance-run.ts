/**
 * A whole run of the conformance kit against one bench: listens, asks for
 * identity, and drives outputs where that is wished. No clock and no port:
 * bytes and times go in, bytes to send come out.
 */
import { checkIds, checks } from './checks.ts';
import { type Finding, Findings } from './findings.ts';
import { identifyScript } from './identify-script.ts';
import { LineWatch } from './line-watch.ts';
import { outputsScript } from './outputs-script.ts';
import { type Script, Talk, type Wait } from './script.ts';

export interface ConformanceOptions {
  /** Listens for so long before it says anything, s; at least 6 to see a table come again. */
  readonly listen_s: number;
  readonly withOutputs: boolean;
  /** 4 upper-case hex digits each; drawn anew by the caller. */
  readonly host: string;
  readonly other: string;
}

export class ConformanceRun {
  readonly findings = new Findings();
  readonly watch = new LineWatch(this.findings);
  /** What it is about just now, for the person who waits. */
  stage: 'listening' | 'asking' | 'driving outputs' | 'done' = 'listening';
  readonly #talk: Talk;
  readonly #script: Script;
  #wait: Wait | null = null;
  #waitFrom_ms = 0;

  constructor(options: ConformanceOptions) {
    this.#talk = new Talk(this.watch, this.findings, options.host, options.other);
    this.#script = this.#whole(options);
  }

  get isDone(): boolean {
    return this.stage === 'done';
  }

  bytes(chunk: Uint8Array, at_ms: number): void {
    this.watch.push(chunk, at_ms);
  }

  /** To be called often; returns what is to be sent now. */
  tick(now_ms: number): Uint8Array[] {
    this.#talk.now_ms = now_ms;
    while (!this.isDone) {
      if (this.#wait) {
        const isMet = this.#wait.until();
        if (!isMet && now_ms - this.#waitFrom_ms < this.#wait.most_ms) break;
        this.#step(isMet, now_ms);
      } else this.#step(false, now_ms);
    }
    return this.#talk.take();
  }

  list(): readonly Finding[] {
    return this.findings.list();
  }

  #step(isMet: boolean, now_ms: number): void {
    const next = this.#script.next(isMet);
    this.#waitFrom_ms = now_ms;
    this.#wait = next.done ? null : next.value;
    if (next.done) this.stage = 'done';
  }

  *#whole(options: ConformanceOptions): Script {
    yield { until: () => false, most_ms: 1000 * options.listen_s };
    if (this.watch.lines === 0) {
      for (const id of checkIds) this.findings.notAsked(id, 'not one line was heard: check path and baud rate');
      return;
    }
    this.stage = 'asking';
    let hears = false;
    yield* identifyScript(this.#talk, (does) => {
      hears = does;
    });
    const silent = 'the bench does not answer: judged as one that only sends';
    for (const id of checkIds) {
      if (checks[id].needs === 'identify' && !hears) this.findings.notAsked(id, silent);
      if (checks[id].needs === 'outputs') {
        this.findings.notAsked(id, hears ? 'outputs were not asked for (--with-outputs)' : silent);
      }
    }
    if (options.withOutputs && hears) {
      this.stage = 'driving outputs';
      yield* outputsScript(this.#talk);
    }
    this.watch.finish();
  }
}
