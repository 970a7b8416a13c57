/**
 * Where bytes come from and go to: a serial port or the simulator. Owns
 * nothing of what the bytes mean.
 */
export interface SourceStatus {
  readonly state: 'opening' | 'open' | 'waiting' | 'closed';
  /** One plain sentence, and what to do if anything. */
  readonly sentence: string;
  readonly remedy: string;
  readonly attempts: number;
  readonly nextAttemptIn_ms: number | null;
}

export interface ByteSourceEvents {
  /** Bytes as they came. `arrived_us` is the host's monotonic clock in µs. The chunk is the receiver's to keep. */
  onBytes(chunk: Uint8Array, arrived_us: number): void;
  onStatus(status: SourceStatus): void;
}

export interface ByteSource {
  readonly kind: 'port' | 'simulator';
  readonly name: string;
  start(events: ByteSourceEvents): void;
  /** Bytes to the bench. Returns false where there is nobody to write to. */
  write(bytes: Uint8Array): boolean;
  /** Ends within a second, whatever the operating system does. */
  close(): Promise<void>;
}
