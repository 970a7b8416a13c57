/**
 * What the bench's outputs really did, on its own clock, for tests of hosts:
 * lines of text beside the serial line, never on it.
 *
 *   heard 12345 Q C0DE 0007 STARTER 1
 *   output 12595 starter 0
 *
 * Times are simulated milliseconds since the start.
 */
import { HostLineDecoder } from '../../shared-core/line/host-lines.ts';
import type { SimulatedTruth } from '../truth.ts';

export class OutputsLog {
  readonly #say: (line: string) => void;
  readonly #host = new HostLineDecoder();
  readonly #last = new Map<string, string>();

  constructor(say: (line: string) => void) {
    this.#say = say;
  }

  /** Bytes from the host, as they come to the bench. */
  heard(bytes: Uint8Array, time_ms: number): void {
    this.#host.push(bytes, (line) => {
      const words =
        line.kind === 'lease' ? ['L', line.host, line.ms] : ['Q', line.host, line.id, line.name, ...line.args];
      this.#say(`heard ${time_ms} ${words.join(' ')}`);
    });
  }

  /** After each step of the bench: says what has changed. */
  look(truth: SimulatedTruth, time_ms: number): void {
    const now = {
      lease: truth.leaseHost ?? '-',
      ignition: Number(truth.isIgnitionOn),
      starter: Number(truth.isStarterEngaged),
      throttle: truth.throttleDemand_permille,
    };
    for (const [output, state] of Object.entries(now)) {
      if (this.#last.get(output) === String(state)) continue;
      this.#last.set(output, String(state));
      this.#say(`output ${time_ms} ${output} ${state}`);
    }
  }
}
