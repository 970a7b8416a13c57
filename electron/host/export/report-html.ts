/**
 * Sets a report as one HTML file with its figures drawn in SVG: no script, no
 * outside file, prints on A4. What it says is made in `shared-core/report`.
 */
import type { Report, ReportFigure, ReportTable } from '../../../shared-core/report/report.ts';
import { formatValue } from '../../../shared-core/units/format-value.ts';

export function reportHtml(report: Report): string {
  const parts = [
    `<header><p class="provenance">${escaped(report.provenance)}</p><h1>${escaped(report.title)}</h1></header>`,
    ...report.notices.map((notice) => `<p class="notice">${escaped(notice)}</p>`),
    `<dl>${report.facts.map(([name, value]) => `<dt>${escaped(name)}</dt><dd>${escaped(value)}</dd>`).join('')}</dl>`,
    ...report.tables.slice(0, 1).map(tableHtml),
    ...report.figures.map(figureHtml),
    ...report.tables.slice(1).map(tableHtml),
    `<section class="cautions"><h2>Cautions</h2><ul>${report.cautions.map((each) => `<li>${escaped(each)}</li>`).join('')}</ul></section>`,
  ];
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>${escaped(report.title)} (${escaped(report.provenance)})</title><style>${STYLE}</style></head>
<body>
${parts.join('\n')}
</body></html>
`;
}

function tableHtml(table: ReportTable): string {
  const body =
    table.rows.length === 0
      ? `<tr><td colspan="${table.heads.length}">none</td></tr>`
      : table.rows.map((row) => `<tr>${row.map((cell) => `<td>${escaped(cell)}</td>`).join('')}</tr>`).join('\n');
  return `<section><h2>${escaped(table.title)}</h2>${table.note === '' ? '' : `<p>${escaped(table.note)}</p>`}
<table><thead><tr>${table.heads.map((head) => `<th>${escaped(head)}</th>`).join('')}</tr></thead><tbody>
${body}</tbody></table></section>`;
}

const WIDTH = 720;
const HEIGHT = 150;
const LEFT = 56;
const RIGHT = 70;
const TOP = 8;
const BOTTOM = 22;
/** Lines are told apart by dash and by the label at their end, not by colour. */
const DASHES = ['', '6 3', '2 2', '8 3 2 3'];

function figureHtml(figure: ReportFigure): string {
  const seconds = Math.max(2, ...figure.columns.map((each) => each.min.length));
  const [low, high] = rangeOf(figure);
  const x = (second: number): number => LEFT + ((WIDTH - LEFT - RIGHT) * second) / (seconds - 1);
  const y = (value: number): number => TOP + (HEIGHT - TOP - BOTTOM) * (1 - (value - low) / (high - low));
  const ticks = niceTicks(low, high);
  const ends: number[] = [];
  const lines = figure.columns.map((column, i) => {
    const path = pathOf(column.min, column.max, seconds, x, y);
    const last = column.max.findLast((value) => !Number.isNaN(value)) ?? low;
    let labelAt = y(last) + 4;
    while (ends.some((taken) => Math.abs(taken - labelAt) < 11)) labelAt += 11;
    ends.push(labelAt);
    return `<path d="${path}" fill="none" stroke="#222" stroke-width="1" stroke-dasharray="${DASHES[i % DASHES.length]}"/><text x="${WIDTH - RIGHT + 4}" y="${labelAt.toFixed(1)}">${escaped(column.label)}</text>`;
  });
  const grid = ticks.map(
    (tick) =>
      `<line x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${y(tick).toFixed(1)}" y2="${y(tick).toFixed(1)}" stroke="#ddd"/><text x="${LEFT - 4}" y="${(y(tick) + 4).toFixed(1)}" text-anchor="end">${escaped(formatValue(tick, tick % 1 === 0 ? 0 : 1))}</text>`,
  );
  const limits = figure.limits
    .filter((limit) => limit.value > low && limit.value < high)
    .map(
      (limit) =>
        `<line x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${y(limit.value).toFixed(1)}" y2="${y(limit.value).toFixed(1)}" stroke="#a00" stroke-dasharray="4 4"/><text x="${LEFT + 4}" y="${(y(limit.value) - 3).toFixed(1)}">${escaped(limit.label)}</text>`,
    );
  const times = timeTicks(seconds).map(
    (second) =>
      `<text x="${x(second).toFixed(1)}" y="${HEIGHT - 6}" text-anchor="middle">${Math.floor(second / 60)}:${String(Math.floor(second % 60)).padStart(2, '0')}</text>`,
  );
  return `<figure><figcaption>${escaped(figure.title)}, ${escaped(figure.unit)}, against time in min:s</figcaption>
<svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${escaped(figure.title)}">${grid.join('')}${limits.join('')}${lines.join('')}${times.join('')}</svg></figure>`;
}

function rangeOf(figure: ReportFigure): [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const column of figure.columns) {
    for (const value of column.min) if (value < low) low = value;
    for (const value of column.max) if (value > high) high = value;
  }
  if (!(low <= high)) return [0, 1];
  const margin = (high - low) * 0.06 || 1;
  return [low >= 0 && low - margin < 0 ? 0 : low - margin, high + margin];
}

/** One stroke from lowest to highest per second; a gap lifts the pen. */
function pathOf(
  min: readonly number[],
  max: readonly number[],
  seconds: number,
  x: (second: number) => number,
  y: (value: number) => number,
): string {
  const step = Math.max(1, Math.floor(seconds / (WIDTH - LEFT - RIGHT)));
  let path = '';
  let isDown = false;
  for (let from = 0; from < min.length; from += step) {
    let low = Number.NaN;
    let high = Number.NaN;
    for (let i = from; i < Math.min(from + step, min.length); i++) {
      if (!(low <= min[i]!) && !Number.isNaN(min[i]!)) low = min[i]!;
      if (!(high >= max[i]!) && !Number.isNaN(max[i]!)) high = max[i]!;
    }
    if (Number.isNaN(low)) {
      isDown = false;
      continue;
    }
    path += `${isDown ? 'L' : 'M'}${x(from).toFixed(1)} ${y(high).toFixed(1)}L${x(from).toFixed(1)} ${y(low).toFixed(1)}`;
    isDown = true;
  }
  return path;
}

/** Six or so whole minutes, or parts of one in a short session. */
function timeTicks(seconds: number): number[] {
  const step =
    [5, 10, 30, 60, 120, 300, 600, 1800, 3600, 7200, 18_000, 36_000].find((each) => seconds / each <= 8) ?? 72_000;
  return Array.from({ length: Math.floor((seconds - 1) / step) + 1 }, (_, i) => i * step);
}

function niceTicks(low: number, high: number): number[] {
  const rough = (high - low) / 4;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((each) => each * power).find((each) => each >= rough) ?? rough;
  const ticks: number[] = [];
  for (let tick = Math.ceil(low / step) * step; tick <= high; tick += step) ticks.push(Number(tick.toPrecision(12)));
  return ticks;
}

function escaped(text: string): string {
  return text.replace(/[&<>"']/g, (each) => `&#${each.charCodeAt(0)};`);
}

const STYLE = `
body{font:14px/1.45 "IBM Plex Sans",system-ui,sans-serif;color:#111;background:#fff;max-width:52rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.5rem;margin:.2rem 0}h2{font-size:1.05rem;margin:1.4rem 0 .3rem}
.provenance{display:inline-block;border:2px solid #111;padding:.1rem .6rem;font-weight:600;letter-spacing:.05em;margin:0}
.notice{border-left:4px solid #111;padding-left:.6rem;margin:.4rem 0}
dl{display:grid;grid-template-columns:9rem 1fr;gap:.1rem .8rem}dt{color:#555}dd{margin:0}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
th,td{text-align:left;border-bottom:1px solid #ccc;padding:.2rem .5rem .2rem 0;vertical-align:top}th{font-weight:600}
figure{margin:1rem 0}figcaption{color:#333}svg{width:100%;height:auto}svg text{font:10px system-ui,sans-serif;fill:#333}
.cautions{border-top:2px solid #111;margin-top:2rem}
@media print{body{margin:0;max-width:none}section,figure{break-inside:avoid}}
`;
