/**
 * One open page (a renderer behind a carrier): sends it layouts, snapshots
 * and display batches within its credits, and passes its requests on.
 */
import type { Result } from '../../shared-core/base/result.ts';
import type {
  BridgeError,
  DisplayBatch,
  HostCarrier,
  HostMessage,
  Layout,
  RendererMessage,
  Snapshot,
  StreamName,
} from '../../shared-core/bridge/contract.ts';
import { mergeBatches } from '../../shared-core/bridge/merge-batch.ts';
import { parseRendererMessage } from '../../shared-core/bridge/schema.ts';

export type RequestMessage = Extract<RendererMessage, { type: 'request' }>;

export interface PageEvents {
  onRequest(request: RequestMessage): Promise<Result<unknown, BridgeError>>;
  onGone(): void;
  log(line: string): void;
}

interface StreamState {
  credits: number;
  waiting: DisplayBatch | null;
  layoutSent: number;
}

/** A page cannot hoard credits: that would only let batches queue in the carrier. */
const MOST_CREDITS = 40;

export class Page {
  readonly #carrier: HostCarrier;
  readonly #events: PageEvents;
  readonly #streams: Record<StreamName, StreamState> = {
    live: { credits: 0, waiting: null, layoutSent: -1 },
    replay: { credits: 0, waiting: null, layoutSent: -1 },
  };
  #isOpen = true;

  constructor(carrier: HostCarrier, hello: HostMessage, events: PageEvents) {
    this.#carrier = carrier;
    this.#events = events;
    carrier.onMessage((message) => this.#received(message));
    carrier.onClose(() => {
      if (!this.#isOpen) return;
      this.#isOpen = false;
      events.onGone();
    });
    carrier.post(hello);
  }

  layout(layout: Layout): void {
    this.#streams[layout.stream].layoutSent = layout.layoutVersion;
    this.#carrier.post({ type: 'layout', layout });
  }

  /** The layout goes first where the page has not seen it. */
  snapshot(snapshot: Snapshot, layout: () => Layout): void {
    if (this.#streams[snapshot.stream].layoutSent !== snapshot.layoutVersion) this.layout(layout());
    this.#carrier.post({ type: 'snapshot', snapshot });
  }

  display(batch: DisplayBatch): void {
    const stream = this.#streams[batch.stream];
    stream.waiting = stream.waiting === null ? batch : mergeBatches(stream.waiting, batch);
    this.#sendWaiting(batch.stream);
  }

  /** A new replay may number its layouts like the one before. */
  forgetLayout(stream: StreamName): void {
    this.#streams[stream].layoutSent = -1;
    this.#streams[stream].waiting = null;
  }

  close(): void {
    this.#isOpen = false;
    this.#carrier.close();
  }

  #sendWaiting(name: StreamName): void {
    const stream = this.#streams[name];
    if (stream.waiting === null || stream.credits <= 0) return;
    if (stream.layoutSent !== stream.waiting.layoutVersion) return;
    stream.credits -= 1;
    this.#carrier.post({ type: 'display', batch: stream.waiting });
    stream.waiting = null;
  }

  #received(raw: unknown): void {
    const parsed = parseRendererMessage(raw);
    if (!parsed.ok) {
      this.#events.log(`a page sent a message that does not fit the contract, dropped: ${parsed.error}`);
      this.#refuse(raw, parsed.error);
      return;
    }
    const message = parsed.value;
    if (message.type === 'credit') {
      const stream = this.#streams[message.stream];
      stream.credits = Math.min(MOST_CREDITS, stream.credits + message.count);
      this.#sendWaiting(message.stream);
      return;
    }
    this.#events.onRequest(message).then(
      (result) => this.#carrier.post({ type: 'reply', id: message.id, result }),
      (thrown: unknown) => {
        // A broken promise inside the host: said in full in the log, in short to the page.
        this.#events.log(
          `request ${message.method} failed: ${thrown instanceof Error ? thrown.stack : String(thrown)}`,
        );
        this.#carrier.post({
          type: 'reply',
          id: message.id,
          result: {
            ok: false,
            error: {
              kind: 'internal',
              sentence: `The host could not do "${message.method}": ${thrown instanceof Error ? thrown.message : String(thrown)}.`,
              remedy: 'Recording goes on. Try again; if it stays so, keep the log and report it.',
            },
          },
        });
      },
    );
  }

  /** A malformed request is answered where its id can be read, so that the page does not wait for ever. */
  #refuse(raw: unknown, why: string): void {
    const id = (raw as { id?: unknown } | null)?.id;
    if (typeof id !== 'number') return;
    const error: BridgeError = { kind: 'invalid', sentence: `Not understood: ${why}.`, remedy: 'Nothing was done.' };
    this.#carrier.post({ type: 'reply', id, result: { ok: false, error } });
  }
}
