/**
 * The last lines as they came, each with what became of it, for a page that
 * asks. While none asks, bytes pass through untouched. While one does, they
 * are handed on line by line, and the decoder's own counts say what it made of
 * each: nothing is decoded twice, and how bytes are split changes no result.
 */
import type { HeardLine } from '../../shared-core/bridge/contract.ts';
import { faultKinds, type LineCounts } from '../../shared-core/line/messages.ts';

const KEPT = 200;
const CHARACTERS_MAX = 512;
/** A page that looks asks four times a second; one that has gone asks no more. */
const ASKED_LASTS_MS = 5000;
const LF = 0x0a;

interface Counted {
  readonly accepted: number;
  readonly missing: number;
  readonly faults: readonly number[];
}

export class LineTap {
  readonly #lines: HeardLine[] = [];
  #next = 1;
  #asked_ms = Number.NEGATIVE_INFINITY;
  /** Of the line under way; null until its beginning is seen. */
  #text: string | null = null;
  #before: Counted | null = null;

  /** Lines from number `since` on, as far as they are still kept. */
  take(since: number, now_ms: number): { readonly lines: readonly HeardLine[]; readonly next: number } {
    if (!this.isAsked(now_ms)) {
      this.#lines.length = 0;
      this.#text = null;
    }
    this.#asked_ms = now_ms;
    return { lines: this.#lines.filter((each) => each.n >= since), next: this.#next };
  }

  isAsked(now_ms: number): boolean {
    return now_ms - this.#asked_ms <= ASKED_LASTS_MS;
  }

  /** Hands the chunk on in pieces that end with a line, and notes what the counts say of each. */
  pass(chunk: Uint8Array, counts: LineCounts, at_epochMs: number, handOn: (piece: Uint8Array) => void): void {
    let from = 0;
    while (from < chunk.length) {
      const lf = chunk.indexOf(LF, from);
      const end = lf < 0 ? chunk.length : lf + 1;
      const piece = chunk.subarray(from, end);
      this.#before ??= counted(counts);
      if (this.#text !== null) this.#text += textOf(piece).slice(0, CHARACTERS_MAX - this.#text.length);
      handOn(piece);
      if (lf >= 0) {
        this.#lineEnded(counts, at_epochMs);
        this.#text = '';
      }
      from = end;
    }
  }

  #lineEnded(counts: LineCounts, at_epochMs: number): void {
    const before = this.#before!;
    this.#before = null;
    // It had begun before anybody asked.
    if (this.#text === null) return;
    const fault = faultKinds.find((kind, i) => counts.faults[kind] > before.faults[i]!);
    const outcome = fault ?? (counts.accepted > before.accepted ? 'used' : 'passed');
    const missing = counts.missing - before.missing;
    this.#lines.push({ n: this.#next++, at_epochMs, text: this.#text, outcome, missing });
    if (this.#lines.length > KEPT) this.#lines.shift();
  }
}

function counted({ accepted, missing, faults }: LineCounts): Counted {
  return { accepted, missing, faults: faultKinds.map((kind) => faults[kind]) };
}

/** Line ends left away; what cannot be printed shows as a dot. */
function textOf(piece: Uint8Array): string {
  let text = '';
  for (const byte of piece) {
    if (byte === LF || byte === 0x0d) continue;
    text += byte === 9 || (byte >= 0x20 && byte < 0x7f) || byte >= 0xa0 ? String.fromCharCode(byte) : '\u00b7';
  }
  return text;
}
