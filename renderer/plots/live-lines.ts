/**
 * The lines of a stack of trends, drawn by ourselves on one canvas that lies
 * over the chart's axes: a bar from minimum to maximum for each column, a
 * stroke where columns lie apart, nothing over a gap. Bars are one picture
 * (`bar-pixels.ts`), strokes go over it. Axes, limit lines and all else are
 * `echarts.ts`'s; the geometry and the inks are the same.
 *
 * A line costs a walk over its columns and nothing is allocated, where the
 * chart library builds its own model of every point anew (tests/bench/live.ts
 * holds both against each other).
 */
import type { ChannelKey } from '../../shared-core/channels/channel.ts';
import type { Range } from './axis.ts';
import type { TrendBand } from './bands.ts';
import { BarPixels } from './bar-pixels.ts';
import type { Columns } from './decimate.ts';
import { dashes, type PlotGeometry, type PlotInks } from './echarts.ts';

/** As the chart library draws its lines. */
const LINE_WIDTH = 1.5;

/** Lines over their life: `shape` when bands, size or theme change, `draw` for new data, `dispose` at the end. */
export class LiveLines {
  readonly #canvas: HTMLCanvasElement;
  readonly #context: CanvasRenderingContext2D | null;
  #bands: readonly TrendBand[] = [];
  #geometry: PlotGeometry | null = null;
  #inks: PlotInks | null = null;
  #ratio = 1;
  #width = 0;
  #height = 0;
  #bars = new BarPixels(1, 1);
  #picture: ImageData | null = null;

  /** @param element positioned; the canvas fills it, behind what comes after it */
  constructor(element: HTMLElement) {
    this.#canvas = document.createElement('canvas');
    this.#canvas.className = 'trend-lines';
    element.append(this.#canvas);
    this.#context = this.#canvas.getContext('2d');
  }

  dispose(): void {
    this.#canvas.remove();
  }

  shape(bands: readonly TrendBand[], geometry: PlotGeometry, inks: PlotInks): void {
    this.#bands = bands;
    this.#geometry = geometry;
    this.#inks = inks;
    const ratio = window.devicePixelRatio || 1;
    this.#ratio = ratio;
    this.#width = this.#canvas.clientWidth;
    this.#height = this.#canvas.clientHeight;
    // Setting the size clears the canvas and all that was set in its context.
    this.#canvas.width = Math.round(this.#width * ratio);
    this.#canvas.height = Math.round(this.#height * ratio);
    this.#context?.setTransform(ratio, 0, 0, ratio, 0, 0);
    this.#bars = new BarPixels(Math.max(1, this.#canvas.width), Math.max(1, this.#canvas.height));
    this.#picture = new ImageData(this.#bars.bytes, this.#bars.width, this.#bars.height);
  }

  /** @param ranges of the bands, in their order */
  draw(from_us: number, to_us: number, series: ReadonlyMap<ChannelKey, Columns>, ranges: readonly Range[]): void {
    const context = this.#context;
    const geometry = this.#geometry;
    const inks = this.#inks;
    if (!context || !geometry || !inks) return;
    const picture = this.#picture;
    if (!picture) return;
    const { left, right, top, bandHeight, bandGap } = geometry;
    const width = Math.max(1, this.#width - left - right);
    const ratio = this.#ratio;
    const bars = this.#bars;
    const barWidth = Math.ceil(ratio);
    const strokes: { readonly path: Path2D; readonly ink: string; readonly bandTop: number }[] = [];
    bars.clear();
    for (let i = 0; i < this.#bands.length; i++) {
      const range = ranges[i];
      if (!range) continue;
      const bandTop = top + i * (bandHeight + bandGap);
      bars.clip(left * ratio, bandTop * ratio, width * ratio, bandHeight * ratio);
      const { channels } = this.#bands[i]!;
      for (let n = 0; n < channels.length; n++) {
        const columns = series.get(channels[n]!.key);
        if (!columns) continue;
        const ink = inks.lines[n % inks.lines.length] ?? inks.label;
        const scale = {
          x0: left - (from_us * width) / (to_us - from_us),
          xPerUs: width / (to_us - from_us),
          y0: bandTop + bandHeight * (1 + range.low / (range.high - range.low)),
          yPerUnit: -bandHeight / (range.high - range.low),
        };
        bars.ink(ink);
        const pen = new LinePen(bars, ratio, barWidth);
        trace(pen, columns, dashes[n % dashes.length] ?? [], scale, ratio);
        if (pen.path !== null) strokes.push({ path: pen.path, ink, bandTop });
      }
    }
    // All of the canvas: what was on it need not be cleared.
    context.putImageData(picture, 0, 0);
    context.lineWidth = LINE_WIDTH;
    context.lineJoin = 'bevel';
    for (const { path, ink, bandTop } of strokes) {
      context.save();
      context.beginPath();
      context.rect(left, bandTop, width, bandHeight);
      context.clip();
      context.strokeStyle = ink;
      context.stroke(path);
      context.restore();
    }
  }
}

/** Of one line: its bars go into the picture, its strokes into a path. */
class LinePen implements Pen {
  path: Path2D | null = null;
  readonly #bars: BarPixels;
  readonly #ratio: number;
  readonly #barWidth: number;

  constructor(bars: BarPixels, ratio: number, barWidth: number) {
    this.#bars = bars;
    this.#ratio = ratio;
    this.#barWidth = barWidth;
  }

  moveTo(x: number, y: number): void {
    this.path ??= new Path2D();
    this.path.moveTo(x, y);
  }

  lineTo(x: number, y: number): void {
    this.path ??= new Path2D();
    this.path.lineTo(x, y);
  }

  fillRect(x: number, y: number, _width: number, height: number): void {
    const ratio = this.#ratio;
    this.#bars.bar(Math.round(x * ratio), this.#barWidth, y * ratio, height * ratio);
  }
}

export interface Scale {
  readonly x0: number;
  readonly xPerUs: number;
  readonly y0: number;
  readonly yPerUnit: number;
}

/** What a line needs of a canvas context. */
export type Pen = Pick<CanvasRenderingContext2D, 'moveTo' | 'lineTo' | 'fillRect'>;

/** Columns this near to each other, px, are joined upright; farther apart, by a slanting stroke. */
const UPRIGHT_PX = 1.5;

/**
 * One line through the columns. Where they lie side by side, each is an
 * upright bar from its minimum to its maximum that reaches to the one before:
 * a noisy line would be a stroke of thousands of slants across each other,
 * which takes ten times as long to fill. Where they lie apart, a stroke joins
 * them. NaN lifts the pen; a column alone between two gaps is a dot.
 *
 * Bars are drawn at once, strokes are left in the pen's path for the caller.
 *
 * Dashes are laid along the time axis and tied to session time: they move with
 * the line instead of crawling along it, and a noisy line has the same ones as
 * a calm one.
 * @param dash lengths in px, drawn and left out in turn; none for a whole line
 * @param ratio device pixels for each px: bars stand on whole ones
 */
export function trace(pen: Pen, columns: Columns, dash: readonly number[], scale: Scale, ratio: number): void {
  const { count, t_us, min, max } = columns;
  const { x0, xPerUs, y0, yPerUnit } = scale;
  const dashes = new DashWalk(dash);
  let isDown = false;
  let last = NaN;
  let lastLow = NaN;
  let lastHigh = NaN;
  let lastAlong = NaN;
  for (let i = 0; i < count; i++) {
    const low = min[i]!;
    if (Number.isNaN(low)) {
      isDown = false;
      continue;
    }
    const high = max[i]!;
    const along = t_us[i]! * xPerUs;
    let from = low;
    let to = high;
    // The end that is nearer to where the line stands comes first, the other is where it goes on from.
    const isUpper = isDown && last - low > high - last;
    if (!isDown) dashes.begin(along);
    else if (along - lastAlong <= UPRIGHT_PX) {
      dashes.passTo(along);
      if (from > lastHigh) from = lastHigh;
      if (to < lastLow) to = lastLow;
    } else {
      pen.moveTo(x0 + lastAlong, y0 + last * yPerUnit);
      dashes.lineTo(pen, x0, lastAlong, y0 + last * yPerUnit, along, y0 + (isUpper ? high : low) * yPerUnit);
    }
    if (dashes.isOn) {
      const left = Math.floor((x0 + along) * ratio) / ratio;
      const top = y0 + to * yPerUnit - LINE_WIDTH / 2;
      pen.fillRect(left, top, 1, y0 + from * yPerUnit + LINE_WIDTH / 2 - top);
    }
    isDown = true;
    last = isUpper ? low : high;
    lastLow = low;
    lastHigh = high;
    lastAlong = along;
  }
}

/** Where along the time axis the pen is down, for one line from left to right. */
class DashWalk {
  isOn = true;
  readonly #dash: readonly number[];
  readonly #period: number;
  #part = 0;
  /** Where the present part ends, px of session time. */
  #end = Infinity;

  constructor(dash: readonly number[]) {
    this.#dash = dash;
    this.#period = dash.reduce((sum, length) => sum + length, 0);
  }

  begin(along: number): void {
    if (this.#period === 0) return;
    this.#part = 0;
    this.#end = Math.floor(along / this.#period) * this.#period + this.#dash[0]!;
    while (this.#end <= along) this.#next();
    this.isOn = this.#part % 2 === 0;
  }

  /** On to `along` with nothing to draw on the way. */
  passTo(along: number): void {
    while (this.#end <= along) this.#next();
    this.isOn = this.#part % 2 === 0;
  }

  /** On to (`along`, `y`), the pen down where the dashes say; it stands there at the end if it is. */
  lineTo(pen: Pen, x0: number, fromAlong: number, fromY: number, along: number, y: number): void {
    while (this.#end <= along) {
      const at = this.#end;
      const atY = fromY + ((y - fromY) * (at - fromAlong)) / (along - fromAlong);
      if (this.isOn) pen.lineTo(x0 + at, atY);
      else pen.moveTo(x0 + at, atY);
      this.#next();
      this.isOn = this.#part % 2 === 0;
    }
    if (this.isOn) pen.lineTo(x0 + along, y);
  }

  #next(): void {
    this.#part = this.#part + 1 === this.#dash.length ? 0 : this.#part + 1;
    this.#end += this.#dash[this.#part]!;
  }
}
