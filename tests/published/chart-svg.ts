/**
 * A plain chart as SVG text: axes with ticks, lines, dots, a legend. Only for
 * the pages of this repository; the workbench draws its own plots elsewhere.
 */
export interface ChartSeries {
  readonly name: string;
  readonly kind: 'line' | 'dashed' | 'dots' | 'rings';
  /** Place in the palette, so that what belongs together looks alike. */
  readonly colour: 0 | 1 | 2 | 3 | 4 | 5;
  readonly points: readonly (readonly [number, number])[];
}

export interface Axis {
  readonly title: string;
  readonly from: number;
  readonly to: number;
  readonly step: number;
  readonly isLog?: boolean;
}

export interface Chart {
  readonly title: string;
  readonly x: Axis;
  readonly y: Axis;
  readonly series: readonly ChartSeries[];
}

const WIDTH = 640;
const HEIGHT = 400;
const LEFT = 64;
const RIGHT = 16;
const TOP = 34;
const BOTTOM = 52;
const colours = ['#1b1f24', '#3d6fb4', '#b4512e', '#3c8558', '#8d8d8d', '#7a56a8'];

export function chartSvg(chart: Chart): string {
  const px = (value: number): number => LEFT + share(chart.x, value) * (WIDTH - LEFT - RIGHT);
  const py = (value: number): number => HEIGHT - BOTTOM - share(chart.y, value) * (HEIGHT - TOP - BOTTOM);
  const parts: string[] = [];
  for (const tick of ticksOf(chart.x)) {
    parts.push(`<line class="grid" x1="${n(px(tick))}" y1="${TOP}" x2="${n(px(tick))}" y2="${HEIGHT - BOTTOM}"/>`);
    parts.push(text(px(tick), HEIGHT - BOTTOM + 16, tickText(tick), 'middle'));
  }
  for (const tick of ticksOf(chart.y)) {
    parts.push(`<line class="grid" x1="${LEFT}" y1="${n(py(tick))}" x2="${WIDTH - RIGHT}" y2="${n(py(tick))}"/>`);
    parts.push(text(LEFT - 6, py(tick) + 4, tickText(tick), 'end'));
  }
  const named = new Set<string>();
  for (const series of chart.series) {
    const colour = colours[series.colour]!;
    const inside = series.points.filter(([x, y]) => Number.isFinite(x) && Number.isFinite(y));
    if (series.kind === 'line' || series.kind === 'dashed') {
      const path = inside.map(([x, y]) => `${n(px(x))},${n(py(y))}`).join(' ');
      const dash = series.kind === 'dashed' ? ' stroke-dasharray="6 4"' : '';
      parts.push(`<polyline points="${path}" fill="none" stroke="${colour}" stroke-width="1.6"${dash}/>`);
    } else {
      const fill = series.kind === 'dots' ? colour : 'none';
      for (const [x, y] of inside) {
        parts.push(`<circle cx="${n(px(x))}" cy="${n(py(y))}" r="3" fill="${fill}" stroke="${colour}"/>`);
      }
    }
    if (series.name !== '' && !named.has(series.name)) {
      const y = TOP + 14 + 16 * named.size;
      named.add(series.name);
      parts.push(`<rect x="${LEFT + 10}" y="${y - 8}" width="10" height="8" fill="${colour}"/>`);
      parts.push(`<text class="halo" x="${LEFT + 26}" y="${y}">${escaped(series.name)}</text>`);
    }
  }
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" width="${WIDTH}" height="${HEIGHT}" role="img">
<title>${escaped(chart.title)}</title>
<style>text{font:12px sans-serif;fill:#1b1f24}.grid{stroke:#e3e3e0}.halo{paint-order:stroke;stroke:#fff;stroke-width:3px}</style>
<rect width="${WIDTH}" height="${HEIGHT}" fill="#fff"/>
<text x="${LEFT}" y="20" style="font-size:14px;font-weight:600">${escaped(chart.title)}</text>
${parts.join('\n')}
<rect x="${LEFT}" y="${TOP}" width="${WIDTH - LEFT - RIGHT}" height="${HEIGHT - TOP - BOTTOM}" fill="none" stroke="#8d8d8d"/>
${text((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 14, chart.x.title, 'middle')}
<text transform="translate(16 ${(TOP + HEIGHT - BOTTOM) / 2}) rotate(-90)" text-anchor="middle">${escaped(chart.y.title)}</text>
</svg>
`;
}

function share(axis: Axis, value: number): number {
  return axis.isLog
    ? Math.log(value / axis.from) / Math.log(axis.to / axis.from)
    : (value - axis.from) / (axis.to - axis.from);
}

/** On a logarithmic axis `step` is the factor between ticks. */
function ticksOf(axis: Axis): number[] {
  const ticks: number[] = [];
  for (let i = 0; i < 100; i++) {
    const tick = axis.isLog ? axis.from * axis.step ** i : axis.from + axis.step * i;
    if (tick > axis.to * 1.000001 + 1e-9) break;
    ticks.push(Number(tick.toPrecision(6)));
  }
  return ticks;
}

function tickText(value: number): string {
  return value >= 10_000 ? `${value / 1000}k` : String(value);
}

function text(x: number, y: number, content: string, anchor: string): string {
  return `<text x="${n(x)}" y="${n(y)}" text-anchor="${anchor}">${escaped(content)}</text>`;
}

function n(value: number): string {
  return String(Math.round(value * 10) / 10);
}

function escaped(content: string): string {
  return content.replaceAll('&', '&amp;').replaceAll('<', '&lt;');
}
