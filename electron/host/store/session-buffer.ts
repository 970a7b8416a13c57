/**
 * What a session holds in memory between two commits: frames in their open
 * blocks, sealed blocks, events. Nothing leaves it before it is durable, so a
 * commit that fails can be tried again, and again, without loss or doubling.
 */
import { crc32 } from 'node:zlib';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import { type Block, BlockBuilder, MOST_WHOLE } from './block-file.ts';
import { encodeJson } from './event-json.ts';

/** An event as stored. */
export interface EventRow {
  /** 0, 1, 2 … within the session. */
  readonly number: number;
  readonly ord: number;
  readonly t_us: number;
  readonly side: 'in' | 'out';
  readonly kind: string;
  /** Body as JSON (event-json.ts). */
  readonly body: string;
  /** Over the row and the checksum of the event before it. */
  readonly checksum: number;
}

/** Ticks are stored as frames without columns of a group that no bench has. */
export const TICK_GROUP = 0;
const NO_VALUES = new Int32Array(0);

export class SessionBuffer {
  readonly #builders = new Map<number, BlockBuilder>();
  readonly #blocks: Block[] = [];
  readonly #events: EventRow[] = [];
  #blockCount = 0;
  #blockChain = 0;
  #eventCount = 0;
  #eventChain = 0;
  #lastOrd = -1;
  #oldest_us: number | null = null;
  #newest_us = 0;

  /** @throws RangeError where time or ord are no such numbers: the caller's mistake, which could never be stored. */
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#stamp(ord, t_us);
    let builder = this.#builders.get(group);
    if (builder === undefined || !builder.takes(t_us, columns)) {
      if (builder !== undefined) this.#seal(builder);
      if (builder?.columns !== columns) {
        builder = new BlockBuilder(group, columns);
        this.#builders.set(group, builder);
      }
    }
    builder.add(ord, t_us, raw);
  }

  tick(ord: number, t_us: number): void {
    this.frame(ord, t_us, TICK_GROUP, NO_VALUES, 0);
  }

  event(event: JournalEvent): void {
    this.#stamp(event.ord, event.t_us);
    const row = {
      number: this.#eventCount++,
      ord: event.ord,
      t_us: event.t_us,
      side: event.side,
      kind: event.body.kind,
      body: encodeJson(event.body),
    };
    this.#eventChain = eventChecksum(row, this.#eventChain);
    this.#events.push({ ...row, checksum: this.#eventChain });
  }

  /** Seals all open blocks and shows what is to be written, and where counts and chains stand after it. */
  pending(): PendingRows {
    for (const builder of this.#builders.values()) this.#seal(builder);
    return {
      blocks: this.#blocks,
      events: this.#events,
      lastOrd: this.#lastOrd,
      blockCount: this.#blockCount,
      blockChain: this.#blockChain,
      eventCount: this.#eventCount,
      eventChain: this.#eventChain,
    };
  }

  /** All that `pending` showed is durable: lets go of it. Nothing may have been added in between. */
  settle(): void {
    this.#blocks.length = 0;
    this.#events.length = 0;
    this.#oldest_us = null;
  }

  /** Seconds of data that are not yet durable. */
  get held_s(): number {
    return this.#oldest_us === null ? 0 : Math.max(0, this.#newest_us - this.#oldest_us) / 1e6;
  }

  #seal(builder: BlockBuilder): void {
    if (builder.frames === 0) return;
    const block = builder.seal(this.#blockCount++, this.#blockChain);
    this.#blockChain = block.checksum;
    this.#blocks.push(block);
  }

  #stamp(ord: number, t_us: number): void {
    if (!Number.isFinite(t_us) || !(Number.isInteger(ord) && ord >= 0 && ord < MOST_WHOLE)) {
      throw new RangeError(`expected a whole ord and a finite time, got ${ord} at ${t_us}`);
    }
    this.#oldest_us ??= t_us;
    this.#newest_us = t_us;
    this.#lastOrd = Math.max(this.#lastOrd, ord);
  }
}

export interface PendingRows {
  readonly blocks: readonly Block[];
  readonly events: readonly EventRow[];
  readonly lastOrd: number;
  readonly blockCount: number;
  readonly blockChain: number;
  readonly eventCount: number;
  readonly eventChain: number;
}

export function eventChecksum(row: Omit<EventRow, 'checksum'>, previous: number): number {
  return crc32(`${row.number} ${row.ord} ${row.t_us} ${row.side} ${row.kind} ${row.body}`, previous);
}
