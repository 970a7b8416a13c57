/**
 * The only place that knows ECharts: the axes, grids and limit lines of a
 * stack of trends on one time axis, without animation. The lines themselves
 * are drawn over it by `live-lines.ts`; labels, flags and cursor are HTML over
 * both (`trend-plot.tsx`).
 */
import { LineChart } from 'echarts/charts';
import { GridComponent, MarkLineComponent } from 'echarts/components';
import { type ECharts, init, use } from 'echarts/core';
import { CanvasRenderer } from 'echarts/renderers';
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';
import { formatClock, formatNumber } from '../ui/format.ts';
import { type Range, timeTicks_s } from './axis.ts';
import type { TrendBand } from './bands.ts';

use([LineChart, GridComponent, MarkLineComponent, CanvasRenderer]);

/** Dash of the n-th channel of a band: told apart by it before colour. */
export const dashes: readonly (readonly number[])[] = [[], [7, 3], [2, 2], [9, 3, 2, 3], [1, 3], [12, 4]];

export interface PlotGeometry {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bandHeight: number;
  readonly bandGap: number;
}

export interface PlotInks {
  readonly axis: string;
  readonly label: string;
  readonly hair: string;
  readonly font: string;
  readonly lines: readonly string[];
  readonly levels: Readonly<Record<AlarmLevel, string>>;
}

/** Inks of the present theme as rgb text: canvas code in ECharts does not read oklch. */
export function readInks(element: HTMLElement): PlotInks {
  const style = getComputedStyle(element);
  const probe = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const rgb = (token: string): string => {
    if (!probe) return '#888';
    probe.clearRect(0, 0, 1, 1);
    probe.fillStyle = style.getPropertyValue(token).trim();
    probe.fillRect(0, 0, 1, 1);
    const [r, g, b] = probe.getImageData(0, 0, 1, 1).data;
    return `rgb(${r},${g},${b})`;
  };
  return {
    axis: rgb('--hair-2'),
    label: rgb('--ink-2'),
    hair: rgb('--hair'),
    font: style.fontFamily,
    lines: [1, 2, 3, 4, 5, 6].map((n) => rgb(`--line-${n}`)),
    levels: {
      notice: rgb('--notice'),
      caution: rgb('--caution-line'),
      warning: rgb('--warning-line'),
      abort: rgb('--abort'),
    },
  };
}

/** A chart over its life: `shape` when bands, size or theme change, `draw` for new data, `dispose` at the end. */
export class StackedChart {
  readonly #chart: ECharts;
  #bands: readonly TrendBand[] = [];

  constructor(element: HTMLElement) {
    this.#chart = init(element, null, { renderer: 'canvas' });
  }

  resize(): void {
    this.#chart.resize({ animation: { duration: 0 } });
  }

  dispose(): void {
    this.#chart.dispose();
  }

  shape(bands: readonly TrendBand[], geometry: PlotGeometry, inks: PlotInks): void {
    this.#bands = bands;
    const lastBand = bands.length - 1;
    this.#chart.setOption(
      {
        animation: false,
        grid: bands.map((_, i) => ({
          left: geometry.left,
          right: geometry.right,
          top: geometry.top + i * (geometry.bandHeight + geometry.bandGap),
          height: geometry.bandHeight,
        })),
        xAxis: bands.map((_, i) => ({
          id: `x${i}`,
          gridIndex: i,
          type: 'value',
          min: 0,
          max: 1,
          axisLine: {
            show: true,
            onZero: false,
            lineStyle: { color: i === lastBand ? inks.axis : inks.hair, width: 1 },
          },
          axisTick: { show: i === lastBand, lineStyle: { color: inks.axis } },
          splitLine: { show: false },
          axisLabel: {
            show: i === lastBand,
            color: inks.label,
            fontFamily: inks.font,
            fontSize: 12,
            hideOverlap: true,
            showMinLabel: null,
            formatter: (t_s: number) => formatClock(Math.round(t_s)),
          },
        })),
        yAxis: bands.map((_, i) => ({
          id: `y${i}`,
          gridIndex: i,
          type: 'value',
          min: 0,
          max: 1,
          axisLine: { show: false },
          axisTick: { show: false },
          splitLine: { show: true, lineStyle: { color: inks.hair, width: 1 } },
          axisLabel: {
            color: inks.label,
            fontFamily: inks.font,
            fontSize: 12,
            hideOverlap: true,
            formatter: (v: number) => formatNumber(v, Math.abs(v) < 10 && v % 1 !== 0 ? 1 : 0),
          },
        })),
        // Limit lines need a series to belong to; it has no points.
        series: bands.flatMap((band, i) =>
          band.limits.length === 0
            ? []
            : [
                {
                  id: band.id,
                  type: 'line',
                  xAxisIndex: i,
                  yAxisIndex: i,
                  silent: true,
                  animation: false,
                  data: [],
                  markLine: {
                    silent: true,
                    symbol: 'none',
                    animation: false,
                    label: { show: false },
                    data: band.limits.map((l) => ({
                      yAxis: l.value,
                      lineStyle: { color: inks.levels[l.level], type: [6, 4], width: l.level === 'abort' ? 2 : 1.5 },
                    })),
                  },
                },
              ],
        ),
      },
      { notMerge: true, silent: true },
    );
  }

  /** The axes for a stretch of time; the lines on them are `live-lines.ts`'s. */
  draw(from_us: number, to_us: number, ranges: readonly Range[], mostTicks: number): void {
    const min = from_us / 1e6;
    const max = to_us / 1e6;
    const ticks = timeTicks_s(min, max, mostTicks);
    this.#chart.setOption(
      {
        xAxis: this.#bands.map((_, i) => ({
          id: `x${i}`,
          min,
          max,
          axisLabel: { customValues: ticks },
          axisTick: { customValues: ticks },
        })),
        yAxis: ranges.map((r, i) => ({ id: `y${i}`, min: r.low, max: r.high, interval: r.step })),
      },
      { silent: true },
    );
  }
}
