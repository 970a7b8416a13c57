/**
 * The newest stretch of a stream as frames, each drawn in the browser's frame
 * that follows the step which brought it: what came on the line is on the
 * screen with the next refresh, and a page that is not seen draws nothing.
 */
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { streamStore } from '../app/stream-store.ts';
import type { TrendBand } from '../plots/bands.ts';
import { type Columns, decimateRing, makeColumns } from '../plots/decimate.ts';
import type { FrameSource, TrendFrame } from '../plots/trend-plot.tsx';

/**
 * Windows that move a pixel within this time are drawn with every step. A limit near the steps' own rhythm would fall
 * into step with it, and hold each one back by up to its whole length.
 */
const EVERY_STEP_MS = 66;

export function followRing(
  stream: StreamName,
  bands: readonly TrendBand[],
  span_s: number,
  pixels: number,
): FrameSource {
  // Columns are made once per width: at this rate, garbage would be the main work.
  const columns = new Map(bands.flatMap((b) => b.channels.map((c) => [c.key, makeColumns(pixels + 2)] as const)));
  const pixel_ms = (span_s * 1000) / pixels;
  // A longer window is drawn twice for each pixel that it moves, and once a second at least.
  const least_ms = pixel_ms < EVERY_STEP_MS ? 0 : Math.min(1000, pixel_ms / 2);
  return (draw) => {
    let drawn = -1;
    let drawnAt_ms = -Infinity;
    let handle = 0;
    const look = (now_ms: number): void => {
      handle = requestAnimationFrame(look);
      const { ring } = streamStore(stream).getState();
      if (!ring || ring.count === 0 || ring.version === drawn || now_ms - drawnAt_ms < least_ms) return;
      drawn = ring.version;
      drawnAt_ms = now_ms;
      draw(ringFrame(stream, bands, columns, ring.newest_us - span_s * 1e6, ring.newest_us, pixels) as TrendFrame);
    };
    look(performance.now());
    return () => cancelAnimationFrame(handle);
  };
}

/** What the ring holds of a stretch, decimated into `columns`; null while it holds nothing. */
export function ringFrame(
  stream: StreamName,
  bands: readonly TrendBand[],
  columns: ReadonlyMap<string, Columns>,
  from_us: number,
  to_us: number,
  pixels: number,
): TrendFrame | null {
  const { ring } = streamStore(stream).getState();
  if (!ring || ring.count === 0) return null;
  for (const band of bands) {
    for (const channel of band.channels) {
      const its = columns.get(channel.key);
      if (its && channel.ordinal < ring.channels) decimateRing(ring, channel.ordinal, from_us, to_us, pixels, its);
    }
  }
  return { from_us, to_us, series: columns };
}
