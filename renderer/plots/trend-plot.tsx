/**
 * Stacked trends on one time axis: bands, end-of-line labels, one cursor
 * through all bands, flags on the axis. It draws the frame it is given; where
 * the frame comes from (ring of a stream, `view` of a recording) is the
 * caller's matter.
 */
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from 'react';
import { useSettings } from '../app/settings.ts';
import { formatClock } from '../ui/format.ts';
import type { Range } from './axis.ts';
import { BandLabels } from './band-labels.tsx';
import { rangeOf, type TrendFrame } from './band-range.ts';
import type { TrendBand } from './bands.ts';
import { type PlotGeometry, readInks, StackedChart } from './echarts.ts';
import { FlagMark } from './flag-mark.tsx';
import type { TrendFlag } from './flags.ts';
import { LiveLines } from './live-lines.ts';
import { PinSpan, type TrendPin } from './pins.tsx';

export type { TrendFrame, TrendPin };

/**
 * Frames that come by themselves, each drawn at once: `draw` is called with the next one until the answer is called.
 * The frame and its columns may be reused for the next.
 */
export type FrameSource = (draw: (frame: TrendFrame) => void) => () => void;

export interface TrendPlotProps {
  readonly bands: readonly TrendBand[];
  readonly frame: TrendFrame | null;
  /** In place of `frame`: the lines follow every frame, axes and labels five times a second. */
  readonly follow?: FrameSource | null;
  readonly flags: readonly TrendFlag[];
  /** Width of the drawing in px, told when it changes: as many columns are worth computing. */
  readonly onPixels?: (pixels: number) => void;
  /** A click, Enter or a flag: the session time that was picked. */
  readonly onPick?: (t_us: number) => void;
  /** A drag or the arrow keys: move the window by so much, negative for back. */
  readonly onPan?: (by_us: number) => void;
  /** Wheel, + and −: the window shall be `factor` times as long and keep `around_us` in its place. */
  readonly onZoom?: (factor: number, around_us: number) => void;
  /** A place held by the caller, such as the replay's present time. */
  readonly marker_us?: number | null;
  /** Lettered cursors that stay, such as A and B of a measurement; the stretch between the first two is shaded. */
  readonly pins?: readonly TrendPin[];
  readonly label: string;
  readonly 'data-testid'?: string;
}

const noPins: readonly TrendPin[] = [];

const LEFT = 54;
const RIGHT = 124;
const TOP = 8;
const GAP = 12;
const AXIS = 24;
const FLAGS = 24;
/** Numbers that change faster cannot be read; the axes go with them. */
const LABELS_EVERY_MS = 200;

export function TrendPlot({
  bands: wantedBands,
  frame: heldFrame,
  follow = null,
  flags,
  onPixels,
  onPick,
  onPan,
  onZoom,
  marker_us = null,
  pins = noPins,
  label,
  ...rest
}: TrendPlotProps) {
  const host = useRef<HTMLDivElement>(null);
  const canvasHost = useRef<HTMLDivElement>(null);
  const linesHost = useRef<HTMLDivElement>(null);
  const chart = useRef<StackedChart | null>(null);
  const lines = useRef<LiveLines | null>(null);
  const ranges = useRef(new Map<string, Range>());
  const drag = useRef<{ readonly x: number; isMoved: boolean; last: number } | null>(null);
  const [size, setSize] = useState<{ readonly width: number; readonly height: number } | null>(null);
  const [cursor, setCursor] = useState<number | null>(null);
  const theme = useSettings((s) => s.theme);
  const [followed, setFollowed] = useState<{ readonly source: FrameSource; readonly frame: TrendFrame } | null>(null);
  const frame = follow === null ? heldFrame : followed?.source === follow ? followed.frame : null;

  const bands = wantedBands.slice(0, bandsThatFit(size?.height ?? 400));
  const geometry: PlotGeometry = {
    left: LEFT,
    right: RIGHT,
    top: TOP,
    bandGap: GAP,
    bandHeight: Math.max(
      24,
      ((size?.height ?? 400) - TOP - AXIS - FLAGS - GAP * (bands.length - 1)) / Math.max(1, bands.length),
    ),
  };
  const plotWidth = Math.max(1, (size?.width ?? 0) - LEFT - RIGHT);

  useLayoutEffect(() => {
    const element = host.current;
    if (!element) return;
    const measure = (): void => setSize({ width: element.clientWidth, height: element.clientHeight });
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);

  useEffect(() => {
    if (!canvasHost.current || !linesHost.current) return;
    const axes = new StackedChart(canvasHost.current);
    const made = new LiveLines(linesHost.current);
    chart.current = axes;
    lines.current = made;
    return () => {
      axes.dispose();
      made.dispose();
      chart.current = null;
      lines.current = null;
    };
  }, []);

  useEffect(() => {
    if (size) onPixels?.(Math.max(50, size.width - LEFT - RIGHT));
  }, [size, onPixels]);

  const shapeKey = `${bands.map((b) => `${b.id}:${b.channels.map((c) => c.key).join()}:${b.limits.map((l) => l.value).join()}`).join('|')}/${size?.width}x${size?.height}/${theme}`;
  // Labels and lines of one frame must stand on one scale, so it is settled before either is drawn.
  // biome-ignore lint/correctness/useExhaustiveDependencies: `shapeKey` stands for the bands.
  const used = useMemo(
    () => (frame ? bands.map((band) => rangeOf(band, frame, ranges.current)) : []),
    [frame, shapeKey],
  );
  const mostTicks = Math.max(2, Math.floor(plotWidth / 90));
  const drawNow = (): void => {
    if (!frame) return;
    chart.current?.draw(frame.from_us, frame.to_us, used, mostTicks);
    lines.current?.draw(frame.from_us, frame.to_us, frame.series, used);
  };
  // biome-ignore lint/correctness/useExhaustiveDependencies: `shapeKey` stands for bands, size and theme.
  useEffect(() => {
    if (!host.current || !size || size.width === 0) return;
    const inks = readInks(host.current);
    chart.current?.resize();
    chart.current?.shape(bands, geometry, inks);
    lines.current?.shape(bands, geometry, inks);
    drawNow();
  }, [shapeKey]);

  // biome-ignore lint/correctness/useExhaustiveDependencies: a frame is a new object for every change.
  useEffect(() => {
    // What is followed has been drawn when it came.
    if (follow === null) drawNow();
  }, [frame]);

  // biome-ignore lint/correctness/useExhaustiveDependencies: `shapeKey` stands for bands, size and theme.
  useEffect(() => {
    if (follow === null || !size || size.width === 0) return;
    let toldAt_ms = -Infinity;
    let told: readonly Range[] = [];
    return follow((next) => {
      const scale = bands.map((band) => rangeOf(band, next, ranges.current));
      lines.current?.draw(next.from_us, next.to_us, next.series, scale);
      const now_ms = performance.now();
      // A new scale is for lines, axes and labels alike, at once.
      if (now_ms - toldAt_ms < LABELS_EVERY_MS && scale.every((range, i) => range === told[i])) return;
      toldAt_ms = now_ms;
      told = scale;
      chart.current?.draw(next.from_us, next.to_us, scale, mostTicks);
      setFollowed({ source: follow, frame: next });
    });
  }, [follow, shapeKey]);

  const span_us = frame ? frame.to_us - frame.from_us : 1;
  const timeOf = (x: number): number => (frame ? frame.from_us + ((x - LEFT) / plotWidth) * span_us : 0);
  const xOf = (t_us: number): number => (frame ? LEFT + ((t_us - frame.from_us) / span_us) * plotWidth : 0);
  const isInside = (t_us: number): boolean => frame !== null && t_us >= frame.from_us && t_us <= frame.to_us;
  const localX = (e: { readonly clientX: number }): number =>
    e.clientX - (host.current?.getBoundingClientRect().left ?? 0);

  const shownCursor = cursor !== null && isInside(cursor) ? cursor : null;
  const onKey = (e: React.KeyboardEvent): void => {
    if (!frame) return;
    const step = e.shiftKey ? span_us / 10 : span_us / 100;
    if (e.key === 'ArrowLeft' || e.key === 'ArrowRight') {
      const by = e.key === 'ArrowLeft' ? -step : step;
      const next = (shownCursor ?? frame.to_us) + by;
      if (next < frame.from_us || next > frame.to_us) onPan?.(by * 5);
      setCursor(Math.max(frame.from_us, Math.min(frame.to_us, next)));
    } else if (e.key === 'PageUp') onPan?.(-span_us / 2);
    else if (e.key === 'PageDown') onPan?.(span_us / 2);
    else if (e.key === 'Escape' && shownCursor !== null) setCursor(null);
    else if (e.key === 'Enter' && shownCursor !== null) onPick?.(shownCursor);
    else if (e.key === '+' || e.key === '-')
      onZoom?.(e.key === '+' ? 0.5 : 2, shownCursor ?? (frame.from_us + frame.to_us) / 2);
    else return;
    e.preventDefault();
    e.stopPropagation();
  };

  return (
    <div
      {...rest}
      ref={host}
      className="trend-plot"
      role="application"
      aria-label={`${label}. Left and right arrows move the cursor, Page Up and Page Down move the window.`}
      // biome-ignore lint/a11y/noNoninteractiveTabindex: the cursor is moved by keys.
      tabIndex={0}
      onKeyDown={onKey}
      onPointerMove={(e) => {
        const x = localX(e);
        if (drag.current && onPan && e.buttons === 1) {
          const by_px = x - drag.current.last;
          if (drag.current.isMoved || Math.abs(x - drag.current.x) > 4) {
            drag.current.isMoved = true;
            drag.current.last = x;
            onPan((-by_px / plotWidth) * span_us);
            return;
          }
        }
        setCursor(x >= LEFT && x <= LEFT + plotWidth ? timeOf(x) : null);
      }}
      onPointerLeave={() => setCursor(null)}
      onPointerDown={(e) => {
        if (e.button === 0 && e.target === e.currentTarget) {
          drag.current = { x: localX(e), isMoved: false, last: localX(e) };
          e.currentTarget.setPointerCapture(e.pointerId);
        }
      }}
      onPointerUp={(e) => {
        const was = drag.current;
        drag.current = null;
        const x = localX(e);
        if (was && !was.isMoved && x >= LEFT && x <= LEFT + plotWidth) onPick?.(timeOf(x));
      }}
      onWheel={onZoom ? (e) => onZoom(e.deltaY > 0 ? 1.25 : 0.8, timeOf(localX(e))) : undefined}
    >
      <div ref={canvasHost} className="trend-canvas" aria-hidden="true" />
      <div ref={linesHost} className="trend-canvas" aria-hidden="true" />
      {size &&
        bands.map((band, i) => (
          <BandLabels
            key={band.id}
            band={band}
            frame={frame}
            range={used[i] ?? null}
            top={TOP + i * (geometry.bandHeight + GAP)}
            height={geometry.bandHeight}
            left={LEFT}
            right={RIGHT}
            at_us={shownCursor}
            reach_us={(span_us / plotWidth) * 4 + 1.2e6}
          />
        ))}
      {bands.length < wantedBands.length && (
        <span className="trend-fit">
          {bands.length} of {wantedBands.length} bands fit
        </span>
      )}
      {shownCursor !== null && (
        <div className="trend-cursor" style={{ left: xOf(shownCursor) }}>
          <span>{cursorClock(shownCursor, span_us)}</span>
        </div>
      )}
      {marker_us !== null && isInside(marker_us) && <div className="trend-marker" style={{ left: xOf(marker_us) }} />}
      <PinSpan pins={pins} frame={frame} xOf={xOf} />
      {pins
        .filter((pin) => isInside(pin.t_us))
        .map((pin) => (
          <div key={pin.letter} className="trend-pin" style={{ left: xOf(pin.t_us) }}>
            <span>{pin.letter}</span>
          </div>
        ))}
      {flags
        .filter((f) => isInside(f.t_us))
        .map((f) => (
          <FlagMark key={f.id} flag={f} left={xOf(f.t_us)} onPick={onPick} />
        ))}
    </div>
  );
}

/** A band lower than this cannot be read: better fewer, and said so. */
const LEAST_BAND = 56;

function bandsThatFit(height: number): number {
  return Math.max(1, Math.floor((height - TOP - AXIS - FLAGS + GAP) / (LEAST_BAND + GAP)));
}

function cursorClock(t_us: number, span_us: number): string {
  const clock = formatClock(t_us / 1e6);
  return span_us <= 120e6 ? `${clock}.${Math.floor((t_us / 1e5) % 10)}` : clock;
}
