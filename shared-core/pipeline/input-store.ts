/**
 * Present states of the discrete inputs. A bench repeats each at least every
 * 2 s (PROTOCOL.md, part 4), so one that has not come for longer than
 * `INPUT_STALE_us` is not known.
 */
import type { BenchTable, InputState } from '../line/messages.ts';
import type { DiscreteInput } from '../pipeline-contract.ts';
import type { FoldMemory } from './fold-memory.ts';

/** Two repeats missed. */
export const INPUT_STALE_us = 5_000_000;

export class InputStore {
  #list: readonly DiscreteInput[];
  /** Session time of the last line about each; where none came, of the table. */
  readonly heardAt_us: Float64Array;
  /** All silence of the link so far, set by the pipeline, and what it was at each input's last line. */
  silence_us: number;
  readonly silenceAt_us: Float64Array;
  /** 1 where the state is what the bench said, 0 where it is only not known. */
  readonly isReported: Uint8Array;

  constructor(table: BenchTable | null, begin_us: number, silence_us: number) {
    const rows = table?.inputs ?? [];
    this.#list = rows.map((row) => ({
      key: row.key,
      words: [row.word0, row.word1],
      state: 'X',
      changedAt_us: begin_us,
    }));
    this.heardAt_us = new Float64Array(rows.length).fill(begin_us);
    this.silence_us = silence_us;
    this.silenceAt_us = new Float64Array(rows.length).fill(silence_us);
    this.isReported = new Uint8Array(rows.length);
  }

  get list(): readonly DiscreteInput[] {
    return this.#list;
  }

  indexOf(key: string): number {
    return this.#list.findIndex((input) => input.key === key);
  }

  state(index: number): InputState {
    return this.#list[index]?.state ?? 'X';
  }

  take(index: number, state: InputState, t_us: number): void {
    const known = this.#list[index];
    if (known === undefined) return;
    this.heardAt_us[index] = t_us;
    this.silenceAt_us[index] = this.silence_us;
    this.isReported[index] = 1;
    if (known.state !== state) this.#change(index, state, t_us);
  }

  /** States that were not repeated are no longer known. */
  ageOut(t_us: number): void {
    for (let i = 0; i < this.isReported.length; i++) {
      if (this.isReported[i] === 0 || t_us - this.heardAt_us[i]! <= INPUT_STALE_us) continue;
      this.isReported[i] = 0;
      if (this.#list[i]!.state !== 'X') this.#change(i, 'X', t_us);
    }
  }

  remember(memory: FoldMemory): void {
    memory.part('inputs');
    this.#list = memory.data(this.#list);
    memory.array(this.heardAt_us);
    this.silence_us = memory.number(this.silence_us);
    memory.array(this.silenceAt_us);
    memory.array(this.isReported);
  }

  #change(index: number, state: InputState, t_us: number): void {
    this.#list = this.#list.map((input, i) => (i === index ? { ...input, state, changedAt_us: t_us } : input));
  }
}
