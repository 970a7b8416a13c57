/** The last minute of one channel as a small line on a plain canvas. Redrawn with the beat. */
import { useEffect, useRef } from 'react';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { useSettings } from '../app/settings.ts';
import { streamStore } from '../app/stream-store.ts';
import { type Columns, decimateRing, makeColumns } from './decimate.ts';

const SPAN_US = 60e6;
/** A quiet line a second is enough for a trend of a minute; numbers beside it are quicker. */
const REDRAW_MS = 1000;

export interface MiniTrendProps {
  readonly stream: StreamName;
  readonly ordinal: number;
  readonly label: string;
}

export function MiniTrend({ stream, ordinal, label }: MiniTrendProps) {
  const ref = useRef<HTMLCanvasElement>(null);
  const theme = useSettings((s) => s.theme);

  // biome-ignore lint/correctness/useExhaustiveDependencies: the theme changes the ink that is read inside.
  useEffect(() => {
    const canvas = ref.current;
    const context = canvas?.getContext('2d');
    if (!canvas || !context) return;
    const ink = getComputedStyle(canvas).color;
    let columns: Columns | null = null;
    let drawnAt_ms = -Infinity;
    const draw = (): void => {
      const now_ms = performance.now();
      if (now_ms - drawnAt_ms < REDRAW_MS) return;
      drawnAt_ms = now_ms;
      const width = canvas.clientWidth;
      const height = canvas.clientHeight;
      if (width === 0) return;
      const ratio = window.devicePixelRatio || 1;
      if (canvas.width !== Math.round(width * ratio)) canvas.width = Math.round(width * ratio);
      if (canvas.height !== Math.round(height * ratio)) canvas.height = Math.round(height * ratio);
      context.setTransform(ratio, 0, 0, ratio, 0, 0);
      context.clearRect(0, 0, width, height);
      const { ring } = streamStore(stream).getState();
      if (!ring || ring.count === 0 || ordinal >= ring.channels) return;
      columns ??= makeColumns(width + 2);
      const to_us = ring.newest_us;
      decimateRing(ring, ordinal, to_us - SPAN_US, to_us, width, columns);
      drawColumns(context, columns, to_us - SPAN_US, to_us, width, height, ink);
    };
    draw();
    return streamStore(stream).subscribe((state, before) => {
      if (state.beat !== before.beat) draw();
    });
  }, [stream, ordinal, theme]);

  return <canvas ref={ref} className="mini-trend" role="img" aria-label={`${label}, last 60 seconds`} />;
}

function drawColumns(
  context: CanvasRenderingContext2D,
  columns: Columns,
  from_us: number,
  to_us: number,
  width: number,
  height: number,
  ink: string,
): void {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < columns.count; i++) {
    const min = columns.min[i]!;
    if (Number.isNaN(min)) continue;
    low = Math.min(low, min);
    high = Math.max(high, columns.max[i]!);
  }
  if (!(high >= low)) return;
  // A flat line lies in the middle instead of filling the height with its noise.
  const least = Math.max(Math.abs(high) * 0.02, 1e-6);
  const middle = (high + low) / 2;
  const half = Math.max((high - low) / 2, least);
  const y = (v: number) => height / 2 - ((v - middle) / half) * (height / 2 - 1.5);
  context.strokeStyle = ink;
  context.lineWidth = 1;
  context.lineJoin = 'round';
  context.beginPath();
  let isOpen = false;
  for (let i = 0; i < columns.count; i++) {
    const min = columns.min[i]!;
    if (Number.isNaN(min)) {
      isOpen = false;
      continue;
    }
    const x = ((columns.t_us[i]! - from_us) / (to_us - from_us)) * width;
    if (isOpen) context.lineTo(x, y(min));
    else context.moveTo(x, y(min));
    if (columns.max[i]! !== min) context.lineTo(x, y(columns.max[i]!));
    isOpen = true;
  }
  context.stroke();
}
