/**
 * The serial line of the model: both directions in order, with delay, loss,
 * flipped bits and garbage, each as an act sets it. Bytes in flight when a
 * host dies still arrive, as they would from the kernel's buffer.
 */
import { type RandomStream, randomStream } from '../../../simulator/physics/random.ts';

export interface LineState {
  readonly delay_ms: number;
  /** Share of chunks that never arrive. */
  readonly lossToBench: number;
  readonly lossToHost: number;
  /** Share of chunks with one to three bits flipped. */
  readonly damage: number;
}

export const cleanLine: LineState = { delay_ms: 0, lossToBench: 0, lossToHost: 0, damage: 0 };

interface InFlight {
  readonly due_ms: number;
  readonly bytes: Uint8Array;
}

export class ModelLine {
  state: LineState = cleanLine;
  /** The longest delay there has been: what was sent under it may be on its way still. */
  worstDelay_ms = 0;
  readonly #random: RandomStream;
  readonly #toBench: InFlight[] = [];
  readonly #toHost: InFlight[] = [];

  constructor(seed: number) {
    this.#random = randomStream(seed, 'model-line');
  }

  set(state: LineState): void {
    this.state = state;
    this.worstDelay_ms = Math.max(this.worstDelay_ms, state.delay_ms);
  }

  toBench(bytes: Uint8Array, now_ms: number): void {
    this.#send(this.#toBench, bytes, this.state.lossToBench, now_ms);
  }

  toHost(bytes: Uint8Array, now_ms: number): void {
    this.#send(this.#toHost, bytes, this.state.lossToHost, now_ms);
  }

  garbage(count: number, now_ms: number): void {
    const make = (): Uint8Array => Uint8Array.from({ length: count }, () => Math.floor(256 * this.#random.uniform()));
    this.#toBench.push({ due_ms: now_ms, bytes: make() });
    this.#toHost.push({ due_ms: now_ms, bytes: make() });
  }

  arrivedAtBench(now_ms: number): readonly Uint8Array[] {
    return due(this.#toBench, now_ms);
  }

  arrivedAtHost(now_ms: number): readonly Uint8Array[] {
    return due(this.#toHost, now_ms);
  }

  #send(queue: InFlight[], bytes: Uint8Array, loss: number, now_ms: number): void {
    if (this.#random.uniform() < loss) return;
    const sent = bytes.slice();
    if (this.#random.uniform() < this.state.damage) {
      // CRC-16 finds every change of up to three bits in a line of this length.
      const flips = 1 + Math.floor(3 * this.#random.uniform());
      for (let i = 0; i < flips; i++) {
        const bit = Math.floor(8 * sent.length * this.#random.uniform());
        sent[bit >> 3] = sent[bit >> 3]! ^ (1 << (bit & 7));
      }
    }
    queue.push({ due_ms: now_ms + this.state.delay_ms, bytes: sent });
  }
}

/** In order: what was sent later never comes earlier. */
function due(queue: InFlight[], now_ms: number): readonly Uint8Array[] {
  let count = 0;
  while (count < queue.length && queue[count]!.due_ms <= now_ms) count++;
  return queue.splice(0, count).map((each) => each.bytes);
}
