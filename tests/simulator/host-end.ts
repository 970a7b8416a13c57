/**
 * The host's end of a simulated bench, for tests: decodes all that arrives
 * with the real decoder and keeps it in plain lists.
 */
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { hostCommandLine, hostLeaseLine } from '../../shared-core/line/host-encoder.ts';
import type {
  Answer,
  BenchCommand,
  BenchTable,
  Identity,
  InputState,
  LineSink,
} from '../../shared-core/line/messages.ts';
import type { SimulatedBench } from '../../simulator/simulated-bench.ts';

export interface SeenInput {
  readonly key: string;
  readonly state: InputState;
  readonly time_us: number;
}

export class HostEnd {
  readonly bench: SimulatedBench;
  readonly decoder = new LineDecoder();
  table: BenchTable | null = null;
  readonly identities: Identity[] = [];
  readonly answers: Answer[] = [];
  readonly inputs: SeenInput[] = [];
  readonly texts: string[] = [];
  wrongVersion: string | null = null;
  missing = 0;
  sampleLines = 0;
  /** Raw code of each channel's last sample. */
  readonly last = new Map<string, number>();
  readonly #host: string;
  #id = 0;
  readonly #sink: LineSink;

  constructor(bench: SimulatedBench, host = 'C0DE') {
    this.bench = bench;
    this.#host = host;
    this.#sink = {
      samples: (group, _time_us, raw, columns) => {
        this.sampleLines++;
        for (const row of this.table?.channels ?? []) {
          if (row.group === group && row.column < columns) this.last.set(row.key, raw[row.column] ?? Number.NaN);
        }
      },
      identity: (identity) => void this.identities.push(identity),
      table: (table) => {
        this.table = table;
      },
      input: (input, state, time_us) => {
        this.inputs.push({ key: this.table?.inputs[input]?.key ?? '?', state, time_us });
      },
      answer: (answer) => void this.answers.push(answer),
      text: (_weight, text) => void this.texts.push(text),
      fault: () => undefined,
      missing: (count) => {
        this.missing += count;
      },
      wrongVersion: (version) => {
        this.wrongVersion = version;
      },
    };
  }

  /** Advances and reads, in pieces of 10 ms. */
  run(seconds: number, whileRunning?: () => void): void {
    for (let i = 0; i < Math.round(seconds * 100); i++) {
      this.bench.advance(0.01);
      this.read();
      whileRunning?.();
    }
  }

  read(): void {
    this.decoder.push(this.bench.takeBytes(), this.#sink);
  }

  /** Value of a channel in the bench's unit; NaN for a sensor state. */
  value(key: string): number {
    const row = this.table?.channels.find((each) => each.key === key);
    const raw = this.last.get(key);
    if (!row || raw === undefined) throw new Error(`no sample of ${key} has come`);
    return raw < -2_147_483_000 ? Number.NaN : raw / 10 ** row.decimals;
  }

  state(key: string): InputState | undefined {
    return this.inputs.findLast((each) => each.key === key)?.state;
  }

  lease(ms: number): void {
    this.bench.write(hostLeaseLine(this.#host, ms));
  }

  /** Sends under a new id, and returns the bench's answer in short: "ok", or the reason of refusal. */
  send(command: BenchCommand): string {
    return this.sendAs((this.#id++).toString(16).toUpperCase().padStart(4, '0'), command);
  }

  sendAs(id: string, command: BenchCommand): string {
    this.bench.write(hostCommandLine(this.#host, id, command));
    this.read();
    const answer = this.answers.findLast((each) => each.id === id);
    if (!answer) return 'unanswered';
    return answer.kind === 'accepted' ? 'ok' : answer.reason;
  }

  /** Damaged lines, of every kind. */
  get damaged(): number {
    return Object.values(this.decoder.counts.faults).reduce((sum, count) => sum + count, 0);
  }
}
