/** One frame of 16 lines of 1,200 columns, a moving window: drawn by the chart library, or by ours over its axes. */
import '../../../renderer/app/tokens.css';
import { bandsOf } from '../../../renderer/plots/bands.ts';
import { type Columns, makeColumns } from '../../../renderer/plots/decimate.ts';
import { type PlotGeometry, readInks, StackedChart } from '../../../renderer/plots/echarts.ts';
import { LiveLines } from '../../../renderer/plots/live-lines.ts';
import { channelsOfBench, POINTS, rawOf } from './bench-channels.ts';
import { afterPaint } from './frame-log.ts';
import { PlainChart } from './plain-chart.ts';

const STEP_US = 50_000;
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
    const began_ms = performance.now();
    drawing.draw(frame, frame * STEP_US, (frame + POINTS) * STEP_US, series);
    const handed_ms = performance.now() - began_ms;
    const rest_ms = await new Promise<number>((resolve) => {
      requestAnimationFrame(() => {
        const start_ms = performance.now();
        afterPaint((at_ms) => resolve(at_ms - start_ms));
      });
    });
    took_ms.push(handed_ms + rest_ms);
  }
  return took_ms;
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
  const ranges = bands.map(() => ({ low: 100, high: 500, step: 100 }));
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

function fill(columns: Columns, line: number, first: number): void {
  columns.count = POINTS;
  for (let i = 0; i < POINTS; i++) {
    const value = rawOf(line, first + i, 0) / 10;
    const spread = ((first + i) * 7919 * (line + 1)) % 13;
    columns.t_us[i] = (first + i + 0.5) * STEP_US;
    columns.min[i] = value - spread / 4;
    columns.max[i] = value + spread / 4;
  }
}

Object.assign(window, { measure });
