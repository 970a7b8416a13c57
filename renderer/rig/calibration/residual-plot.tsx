/** Errors of the fit over the load, in percent of span: loading as upward triangles, unloading as downward ones, limits dashed. */
export interface ResidualPoint {
  /** Load as part of the span, 0 to 1. */
  readonly load: number;
  readonly error_percent: number;
  readonly direction: 'up' | 'down';
}

const WIDTH = 560;
const HEIGHT = 180;
const LEFT = 52;
const RIGHT = 26;
const TOP = 10;
const BOTTOM = 26;

export function ResidualPlot({
  points,
  limit_percent,
}: {
  readonly points: readonly ResidualPoint[];
  /** Null where none was set. */
  readonly limit_percent: number | null;
}) {
  const most = Math.max(limit_percent ?? 0, ...points.map((each) => Math.abs(each.error_percent)), 0.01) * 1.15;
  const far = Math.max(1, ...points.map((each) => each.load));
  const x = (load: number): number => LEFT + (load / far) * (WIDTH - LEFT - RIGHT);
  const y = (error: number): number => TOP + (1 - (error + most) / (2 * most)) * (HEIGHT - TOP - BOTTOM);
  const worst = Math.max(...points.map((each) => Math.abs(each.error_percent)));
  const label = `Errors of the fit at ${points.length} points; the largest is ${worst.toFixed(3)} percent of span.`;
  return (
    <svg
      className="residual-plot"
      viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
      role="img"
      aria-label={label}
      data-testid="residual-plot"
    >
      <line x1={LEFT} x2={WIDTH - RIGHT} y1={y(0)} y2={y(0)} className="residual-axis" />
      {limit_percent !== null &&
        [limit_percent, -limit_percent].map((limit) => (
          <line key={limit} x1={LEFT} x2={WIDTH - RIGHT} y1={y(limit)} y2={y(limit)} className="residual-limit" />
        ))}
      {[most / 1.15, 0, -most / 1.15].map((tick) => (
        <text key={tick} x={LEFT - 6} y={y(tick) + 4} textAnchor="end">
          {tick.toFixed(2).replace('-', '\u2212')}
        </text>
      ))}
      {[0, 0.25, 0.5, 0.75, 1].map((part) => (
        <text key={part} x={x(part * far)} y={HEIGHT - 8} textAnchor="middle">
          {Math.round(part * far * 100)} %
        </text>
      ))}
      {points.map((each, i) => {
        const [cx, cy] = [x(each.load), y(each.error_percent)];
        const tip = each.direction === 'up' ? -5 : 5;
        return (
          <path
            // biome-ignore lint/suspicious/noArrayIndexKey: points have nothing of their own but their place.
            key={i}
            d={`M${cx} ${cy + tip}L${cx - 5} ${cy - tip * 0.7}L${cx + 5} ${cy - tip * 0.7}Z`}
            className={`residual-${each.direction}`}
          />
        );
      })}
    </svg>
  );
}
