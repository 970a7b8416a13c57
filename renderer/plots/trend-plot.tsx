/**
 * Stacked trends on one time axis: bands, end-of-line labels, one cursor
 * through all bands, flags on the axis. It draws the frame it is given; where
 * the frame comes from (ring of a stream, `view` of a recording) is the
 * caller's matter.
 */
import { useEffect, useLayoutEffect, useRef, useState } from 'react';
import type { ChannelKey } from '../../shared-core/channels/channel.ts';
import { useSettings } from '../app/settings.ts';
import { formatClock, formatNumber } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { type Range, spreadLabels, valueRange } from './axis.ts';
import type { TrendBand } from './bands.ts';
import { type Columns, extent, lastValue, valueAt } from './decimate.ts';
import { dashes, type PlotGeometry, readInks, StackedChart } from './echarts.ts';
import type { TrendFlag } from './flags.ts';

/** What to draw: session times and one set of columns per channel key. A new object for every change. */
export interface TrendFrame {
  readonly from_us: number;
  readonly to_us: number;
  readonly series: ReadonlyMap<ChannelKey, Columns>;
}

export interface TrendPin {
  readonly letter: string;
  readonly t_us: number;
}

export interface TrendPlotProps {
  readonly bands: readonly TrendBand[];
  readonly frame: TrendFrame | null;
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
const LABEL_HEIGHT = 15;

export function TrendPlot({
  bands: wantedBands,
  frame,
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
  const chart = useRef<StackedChart | null>(null);
  const ranges = useRef(new Map<string, Range>());
  const drag = useRef<{ readonly x: number; isMoved: boolean; last: number } | null>(null);
  const [size, setSize] = useState<{ readonly width: number; readonly height: number } | null>(null);
  const [cursor, setCursor] = useState<number | null>(null);
  const theme = useSettings((s) => s.theme);

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
    if (!canvasHost.current) return;
    const made = new StackedChart(canvasHost.current);
    chart.current = made;
    return () => {
      made.dispose();
      chart.current = null;
    };
  }, []);

  useEffect(() => {
    if (size) onPixels?.(Math.max(50, size.width - LEFT - RIGHT));
  }, [size, onPixels]);

  const shapeKey = `${bands.map((b) => `${b.id}:${b.channels.map((c) => c.key).join()}:${b.limits.map((l) => l.value).join()}`).join('|')}/${size?.width}x${size?.height}/${theme}`;
  // biome-ignore lint/correctness/useExhaustiveDependencies: `shapeKey` stands for bands, size and theme.
  useEffect(() => {
    if (!host.current || !size || size.width === 0) return;
    chart.current?.resize();
    chart.current?.shape(bands, geometry, readInks(host.current));
    drawNow();
  }, [shapeKey]);

  const drawNow = (): void => {
    if (!frame) return;
    const used = bands.map((band) => rangeOf(band, frame, ranges.current));
    chart.current?.draw(frame.from_us, frame.to_us, frame.series, used, Math.max(2, Math.floor(plotWidth / 90)));
  };
  // biome-ignore lint/correctness/useExhaustiveDependencies: a frame is a new object for every change.
  useEffect(drawNow, [frame]);

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
      {size &&
        bands.map((band, i) => (
          <BandLabels
            key={band.id}
            band={band}
            frame={frame}
            range={ranges.current.get(band.id) ?? null}
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
          <Flag key={f.id} flag={f} left={xOf(f.t_us)} onPick={onPick} />
        ))}
    </div>
  );
}

/** A band lower than this cannot be read: better fewer, and said so. */
const LEAST_BAND = 56;

function bandsThatFit(height: number): number {
  return Math.max(1, Math.floor((height - TOP - AXIS - FLAGS + GAP) / (LEAST_BAND + GAP)));
}

/** Half of the least change worth an axis of its own, by unit: noise must not look like an event. */
const leastSpan: Readonly<Record<string, number>> = {
  rpm: 400,
  '°C': 20,
  N: 10,
  N·m: 1,
  kW: 0.5,
  'L/h': 1,
  '%': 10,
  V: 2,
  A: 2,
  hPa: 5,
};

function rangeOf(band: TrendBand, frame: TrendFrame, kept: Map<string, Range>): Range {
  let low = Infinity;
  let high = -Infinity;
  for (const channel of band.channels) {
    const columns = frame.series.get(channel.key);
    const found = columns ? extent(columns, frame.from_us, frame.to_us) : null;
    if (!found) continue;
    low = Math.min(low, found.low);
    high = Math.max(high, found.high);
  }
  const before = kept.get(band.id) ?? null;
  if (!(high >= low)) return before ?? { low: 0, high: 1, step: 0.5 };
  const range = valueRange(
    before,
    low,
    high,
    band.limits.map((l) => l.value),
    leastSpan[band.unit] ?? 0.1,
  );
  kept.set(band.id, range);
  return range;
}

interface BandLabelsProps {
  readonly band: TrendBand;
  readonly frame: TrendFrame | null;
  readonly range: Range | null;
  readonly top: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly at_us: number | null;
  readonly reach_us: number;
}

/** Title of a band, and its channels' names and values at the end of their lines (or at the cursor). */
function BandLabels({ band, frame, range, top, height, left, right, at_us, reach_us }: BandLabelsProps) {
  const values = band.channels.map((c) => {
    const columns = frame?.series.get(c.key);
    if (!columns) return NaN;
    return at_us === null ? lastValue(columns) : valueAt(columns, at_us, reach_us);
  });
  const wanted = values.map((v) =>
    range && Number.isFinite(v)
      ? top + height * (1 - (v - range.low) / (range.high - range.low)) - LABEL_HEIGHT / 2
      : top + height - LABEL_HEIGHT,
  );
  const placed = spreadLabels(wanted, LABEL_HEIGHT, top - 6, top + height - LABEL_HEIGHT + 6);
  return (
    <div className="band-labels" aria-hidden="true">
      <span className="band-title" style={{ top: top - 2, left: left + 6 }}>
        {band.title} <i>{band.unit}</i>
      </span>
      {band.channels.map((c, n) => (
        <span
          key={c.key}
          className="line-label"
          style={{ top: placed[n], left: `calc(100% - ${right - 6}px)`, width: right - 8 }}
        >
          <svg width="16" height="6" aria-hidden="true">
            <line
              x1="0"
              x2="16"
              y1="3"
              y2="3"
              stroke={`var(--line-${(n % 6) + 1})`}
              strokeWidth="2"
              strokeDasharray={dashes[n % dashes.length]?.join(' ') || undefined}
            />
          </svg>
          <b>{band.channels.length > 1 ? c.label : ''}</b>
          <span>{formatNumber(values[n] ?? NaN, Math.min(c.decimals, 2))}</span>
        </span>
      ))}
    </div>
  );
}

/** Shade between the first two pins, as far as it is in sight. */
function PinSpan({
  pins,
  frame,
  xOf,
}: {
  readonly pins: readonly TrendPin[];
  readonly frame: TrendFrame | null;
  readonly xOf: (t_us: number) => number;
}) {
  const [a, b] = pins;
  if (!a || !b || !frame) return null;
  const from_us = Math.max(frame.from_us, Math.min(a.t_us, b.t_us));
  const to_us = Math.min(frame.to_us, Math.max(a.t_us, b.t_us));
  if (!(to_us > from_us)) return null;
  return <div className="trend-pin-span" style={{ left: xOf(from_us), width: xOf(to_us) - xOf(from_us) }} />;
}

function Flag({
  flag,
  left,
  onPick,
}: {
  readonly flag: TrendFlag;
  readonly left: number;
  readonly onPick: ((t_us: number) => void) | undefined;
}) {
  return (
    <div className="trend-flag" data-kind={flag.kind} data-level={flag.level ?? 'none'} style={{ left }}>
      <button
        type="button"
        title={`${formatClock(flag.t_us / 1e6)} ${flag.text}`}
        aria-label={`${flag.kind} at ${formatClock(flag.t_us / 1e6)}: ${flag.text}`}
        onClick={() => onPick?.(flag.t_us)}
      >
        {flag.level ? <LevelMark level={flag.level} size={16} /> : flag.kind === 'mark' ? <PenFlag /> : <PointFlag />}
      </button>
    </div>
  );
}

function PenFlag() {
  return (
    <svg width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
      <path d="M3 15V1h10l-3 3.5L13 8H4.5" fill="none" stroke="currentColor" strokeWidth="1.8" />
    </svg>
  );
}

function PointFlag() {
  return (
    <svg width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
      <path d="M8 2v12M2 8h12" fill="none" stroke="currentColor" strokeWidth="1.8" />
      <circle cx="8" cy="8" r="3.2" fill="none" stroke="currentColor" strokeWidth="1.6" />
    </svg>
  );
}

function cursorClock(t_us: number, span_us: number): string {
  const clock = formatClock(t_us / 1e6);
  return span_us <= 120e6 ? `${clock}.${Math.floor((t_us / 1e5) % 10)}` : clock;
}
