/** One frame of 16 lines of 1,200 columns, a moving window: drawn by the chart library, or by ours over its axes. */
import '../../../renderer/app/tokens.css';
import { bandsOf } from '../../../renderer/plots/bands.ts';
import { type Columns, makeColumns } from '../../../renderer/plots/decimate.ts';
import { type PlotGeometry, readInks, StackedChart } from '../../../renderer/plots/echarts.ts';
import { LiveLines } from '../../../renderer/plots/live-lines.ts';
import { channelsOfBench, lowOf, POINTS, rawOf, SPAN } from './bench-channels.ts';
import { afterPaint } from './frame-log.ts';
import { PlainChart } from './plain-chart.ts';

const STEP_US = 50_000;
/** In each column. */
const SAMPLES = 5;
/** In the workbench the axes follow five times a second, the lines thirty. */
const AXES_EVERY = 6;
const root = document.getElementById('root') as HTMLElement;
const geometry: PlotGeometry = { left: 54, right: 124, top: 8, bandHeight: 74, bandGap: 12 };

interface Drawing {
  draw(frame: number, from_us: number, to_us: number, series: ReadonlyMap<string, Columns>): void;
  dispose(): void;
}

let last: Drawing | null = null;

/** Main thread's time for each frame, ms: handing over, what is left for the animation frame, style, layout, paint. */
async function measure(variant: 'library' | 'ours', frames: number): Promise<number[]> {
  last?.dispose();
  const drawing = variant === 'library' ? byLibrary() : byOurs();
  last = drawing;
  const channels = channelsOfBench();
  const series = new Map<string, Columns>(channels.map((c) => [c.key, makeColumns(POINTS)]));
  const took_ms: number[] = [];
  for (let frame = 0; frame < frames; frame++) {
    for (const { key, ordinal } of channels) fill(series.get(key)!, ordinal, frame);
    // The library hands over in this frame and draws in the next one; each is timed to the end of its paint.
    const handed_ms = await timedFrame(() => drawing.draw(frame, frame * STEP_US, (frame + POINTS) * STEP_US, series));
    const rest_ms = await timedFrame(() => {});
    took_ms.push(handed_ms + rest_ms);
  }
  return took_ms;
}

/** From the frame's animation callbacks to the end of its style, layout and paint, ms. */
function timedFrame(act: () => void): Promise<number> {
  return new Promise((resolve) => {
    requestAnimationFrame(() => {
      const start_ms = performance.now();
      act();
      afterPaint((at_ms) => resolve(at_ms - start_ms));
    });
  });
}

function byLibrary(): Drawing {
  root.innerHTML = '';
  root.style.cssText = 'width:1378px;height:740px';
  const chart = new PlainChart(root, geometry.bandHeight);
  return {
    draw: (_, from_us, to_us, series) => chart.draw(from_us / 1e6, to_us / 1e6, [...series.values()].map(flat)),
    dispose: () => chart.dispose(),
  };
}

function byOurs(): Drawing {
  root.innerHTML = '<div></div><div></div>';
  root.style.cssText = 'position:relative;width:1378px;height:740px';
  const [under, over] = [...root.children] as [HTMLElement, HTMLElement];
  for (const each of [under, over]) each.style.cssText = 'position:absolute;inset:0';
  const bands = bandsOf(channelsOfBench(), new Map());
  const inks = readInks(root);
  const axes = new StackedChart(under);
  const lines = new LiveLines(over);
  over.querySelector('canvas')!.style.cssText = 'position:absolute;width:100%;height:100%';
  axes.shape(bands, geometry, inks);
  lines.shape(bands, geometry, inks);
  const ranges = bands.map((_, i) => ({ low: lowOf(i), high: lowOf(i) + SPAN, step: 50 }));
  return {
    draw(frame, from_us, to_us, series) {
      if (frame % AXES_EVERY === 0) axes.draw(from_us, to_us, ranges, 10);
      lines.draw(from_us, to_us, series, ranges);
    },
    dispose() {
      axes.dispose();
      lines.dispose();
    },
  };
}

/** As the library takes it without making an object for each point: x, y, x, y … */
function flat(columns: Columns): Float64Array {
  const points = new Float64Array(columns.count * 4);
  for (let i = 0; i < columns.count; i++) {
    points[4 * i] = points[4 * i + 2] = columns.t_us[i]! / 1e6;
    points[4 * i + 1] = columns.min[i]!;
    points[4 * i + 3] = columns.max[i]!;
  }
  return points;
}

/** Minimum and maximum of five samples each, noise and all, as 100 lines a second give. */
function fill(columns: Columns, line: number, first: number): void {
  columns.count = POINTS;
  for (let i = 0; i < POINTS; i++) {
    let min = Infinity;
    let max = -Infinity;
    for (let k = 0; k < SAMPLES; k++) {
      const n = (first + i) * SAMPLES + k;
      const value = rawOf(line, n, noiseAt(n * 31 + line)) / 10;
      min = Math.min(min, value);
      max = Math.max(max, value);
    }
    columns.t_us[i] = (first + i + 0.5) * STEP_US;
    columns.min[i] = min;
    columns.max[i] = max;
  }
}

/** Always the same for the same place, −1 to 1: a multiplicative hash. */
function noiseAt(place: number): number {
  return (Math.imul(place, 2_654_435_761) >>> 0) / 2 ** 31 - 1;
}

Object.assign(window, { measure });
