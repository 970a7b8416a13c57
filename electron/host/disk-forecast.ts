/**
 * How long the disk lasts at the rate at which the session has grown over the
 * last minutes.
 */
const WINDOW_MS = 600_000;
/** Before this, growth is mostly the beginning of the session. */
const LEAST_MS = 60_000;
/** Of the file beside the session's own bytes: indexes, unused ends of pages, the log. */
const OVERHEAD = 1.05;

export class DiskForecast {
  /** Rising in time, at most one in 10 s. */
  #points: { readonly at_ms: number; readonly bytes: number }[] = [];

  /** After a commit: bytes of the session so far. */
  grown(at_ms: number, bytes: number): void {
    const last = this.#points.at(-1);
    if (last !== undefined && at_ms - last.at_ms < 10_000) return;
    this.#points.push({ at_ms, bytes });
    while (this.#points.length > 2 && at_ms - this.#points[0]!.at_ms > WINDOW_MS) this.#points.shift();
  }

  /** Hours until `freeBytes` are used up; null while the rate is not known, or nothing grows. */
  left_h(freeBytes: number): number | null {
    const first = this.#points[0];
    const last = this.#points.at(-1);
    if (first === undefined || last === undefined || last.at_ms - first.at_ms < LEAST_MS) return null;
    const bytesPerHour = ((last.bytes - first.bytes) * OVERHEAD * 3_600_000) / (last.at_ms - first.at_ms);
    return bytesPerHour > 0 && Number.isFinite(freeBytes) ? freeBytes / bytesPerHour : null;
  }
}
