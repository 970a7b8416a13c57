/**
 * The plain way to draw live lines: one chart of the library with 8 grids of
 * two lines, all points handed over anew for every frame. Animation, symbols
 * and events are off, as its handbook advises for live data.
 */
import { LineChart } from 'echarts/charts';
import { GridComponent } from 'echarts/components';
import { type ECharts, init, use } from 'echarts/core';
import { CanvasRenderer } from 'echarts/renderers';
import { BANDS, LINES, lowOf, SPAN } from './bench-channels.ts';

use([LineChart, GridComponent, CanvasRenderer]);

export class PlainChart {
  readonly #chart: ECharts;

  constructor(element: HTMLElement, bandHeight: number) {
    this.#chart = init(element, null, { renderer: 'canvas' });
    const bands = Array.from({ length: BANDS }, (_, i) => i);
    this.#chart.setOption({
      animation: false,
      grid: bands.map((i) => ({ left: 54, right: 124, top: 8 + i * (bandHeight + 12), height: bandHeight })),
      xAxis: bands.map((i) => ({
        gridIndex: i,
        type: 'value',
        splitLine: { show: false },
        axisLabel: { show: i === BANDS - 1 },
      })),
      yAxis: bands.map((i) => ({ gridIndex: i, type: 'value', min: lowOf(i), max: lowOf(i) + SPAN, interval: 50 })),
      series: Array.from({ length: LINES }, (_, i) => ({
        type: 'line',
        xAxisIndex: i >> 1,
        yAxisIndex: i >> 1,
        showSymbol: false,
        silent: true,
        animation: false,
        lineStyle: { width: 1.5, color: i % 2 === 0 ? '#222' : '#25a', type: i % 2 === 0 ? 'solid' : [7, 3] },
        data: [],
      })),
    });
  }

  /** @param lines for each line its points as x, y, x, y … or as pairs */
  draw(from: number, to: number, lines: readonly (Float64Array | readonly (readonly [number, number])[])[]): void {
    this.#chart.setOption({
      xAxis: Array.from({ length: BANDS }, () => ({ min: from, max: to })),
      series: lines.map((data) => ({ data })),
    });
  }

  dispose(): void {
    this.#chart.dispose();
  }
}
