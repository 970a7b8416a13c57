/**
 * What the intake needs of whoever turns bytes into messages: our own line
 * protocol (`decoder.ts`) or the profile of a foreign one
 * (`profile/profile-decoder.ts`).
 */
import type { LineCounts, LineSink } from './messages.ts';

export interface BenchDecoder {
  /** Live: the same object for the decoder's life. */
  readonly counts: LineCounts;
  /** The port was opened again, or was silent so long that nothing follows on what came before. */
  rejoin(): void;
  /**
   * Takes the bytes of one read, of any length, and calls the sink for each
   * line that they finish.
   * @param arrived_us host's monotonic clock; only benches without a clock of their own need it
   */
  push(chunk: Uint8Array, sink: LineSink, arrived_us: number): void;
}
