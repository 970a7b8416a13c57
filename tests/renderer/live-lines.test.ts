/** The marks of a trend line: bars over every extreme, strokes between distant columns, gaps, dashes by time. */
import { describe, expect, test } from 'vitest';
import { type Columns, makeColumns } from '../../renderer/plots/decimate.ts';
import { type Pen, type Scale, trace } from '../../renderer/plots/live-lines.ts';

/** 1 px for each microsecond and unit, y upwards turned over: what is drawn can be read back as values. */
const plain: Scale = { x0: 0, xPerUs: 1, y0: 0, yPerUnit: -1 };
/** Of a line, px: half of it stands out at either end of a bar. */
const HALF = 0.75;

type Point = readonly [t_us: number, min: number, max: number];

function columnsOf(points: readonly Point[]): Columns {
  const columns = makeColumns(points.length);
  for (const [t_us, min, max] of points) {
    columns.t_us[columns.count] = t_us;
    columns.min[columns.count] = min;
    columns.max[columns.count] = max;
    columns.count++;
  }
  return columns;
}

/** Bars as "x:lowest..highest" in values, strokes as "M0,1" and "L2,3" in values. */
function drawn(points: readonly Point[], dash: readonly number[] = [], scale: Scale = plain, ratio = 1): string {
  const marks: string[] = [];
  const value = (y: number): number => -y + 0;
  const pen: Pen = {
    moveTo: (x, y) => marks.push(`M${x},${value(y)}`),
    lineTo: (x, y) => marks.push(`L${x},${value(y)}`),
    fillRect: (x, y, _width, height) => marks.push(`${x}:${value(y + height) + HALF}..${value(y) - HALF}`),
  };
  trace(pen, columnsOf(points), dash, scale, ratio);
  return marks.join(' ');
}

describe('given columns side by side', () => {
  test('when traced, then each is a bar from minimum to maximum', () => {
    expect(
      drawn([
        [0, 1, 5],
        [1, 2, 6],
        [2, 3, 4],
      ]),
    ).toBe('0:1..5 1:2..6 2:3..4');
  });

  test('when they do not overlap, then a bar reaches to the one before', () => {
    expect(
      drawn([
        [0, 1, 2],
        [1, 5, 6],
        [2, 3, 3],
      ]),
    ).toBe('0:1..2 1:2..6 2:3..5');
  });

  test('when scaled, then session time and value land where the band has them', () => {
    const marks: number[][] = [];
    const pen: Pen = { moveTo: () => {}, lineTo: () => {}, fillRect: (...rect) => marks.push(rect) };
    // A window from 1 s to 2 s, 100 px wide at x = 50; a band 80 px high at y = 8 from 0 to 40.
    const scale = { x0: 50 - 100, xPerUs: 100 / 1e6, y0: 88, yPerUnit: -80 / 40 };
    trace(pen, columnsOf([[1.5e6, 10, 20]]), [], scale, 1);
    expect(marks).toEqual([[100, 48 - HALF, 1, 20 + 2 * HALF]]);
  });

  test('when the screen has two pixels for one, then bars stand on whole ones of its own', () => {
    const shifted = { ...plain, x0: 0.7 };
    expect(drawn([[1, 2, 3]], [], shifted)).toBe('1:2..3');
    expect(drawn([[1, 2, 3]], [], shifted, 2)).toBe('1.5:2..3');
  });

  test.each(['whole', 'dashed'])(
    'when the seeded noise of 500 columns is traced %s, then no extreme of it is lost',
    (kind) => {
      let state = 20_261_125;
      const random = (): number => {
        state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
        return state / 2 ** 32;
      };
      const points = Array.from({ length: 500 }, (_, i): Point => {
        const min = Math.round(random() * 1000);
        return [i, min, min + Math.round(random() * 100)];
      });
      const bars = new Map(
        drawn(points, kind === 'whole' ? [] : [7, 3])
          .split(' ')
          .map((bar) => {
            const [x = '', range = ''] = bar.split(':');
            return [Number(x), range.split('..').map(Number)] as const;
          }),
      );
      // Where a dash leaves the line out, 3 px of 10, nothing is drawn; everywhere else both ends are.
      const shown = points.filter(([t_us]) => kind === 'whole' || t_us % 10 < 7);
      expect(bars.size).toBe(shown.length);
      for (const [t_us, min, max] of shown) {
        const [lowest = NaN, highest = NaN] = bars.get(t_us) ?? [];
        expect(lowest).toBeLessThanOrEqual(min);
        expect(highest).toBeGreaterThanOrEqual(max);
      }
    },
  );
});

describe('given columns far apart', () => {
  test('when traced, then strokes join them, each to its nearer end', () => {
    expect(
      drawn([
        [0, 1, 3],
        [10, 6, 8],
        [20, 2, 4],
      ]),
    ).toBe('0:1..3 M0,3 L10,6 10:6..8 M10,8 L20,4 20:2..4');
  });

  test('when dashed, then the strokes are cut where the dashes end', () => {
    expect(
      drawn(
        [
          [0, 0, 0],
          [11, 11, 11],
        ],
        [4, 2],
      ),
    ).toBe('0:0..0 M0,0 L4,4 M6,6 L10,10');
  });

  test('when the window has moved on, then the dashes stand at the same times', () => {
    const points: Point[] = [
      [5, 0, 0],
      [11, 0, 0],
    ];
    expect(drawn(points, [4, 2])).toBe('M5,0 M6,0 L10,0');
    expect(drawn(points, [4, 2], { ...plain, x0: -5 })).toBe('M0,0 M1,0 L5,0');
  });
});

describe('given gaps', () => {
  test('when traced, then nothing is drawn over them', () => {
    expect(
      drawn([
        [0, 1, 1],
        [1, NaN, NaN],
        [2, 5, 5],
        [3, NaN, NaN],
        [30, 6, 6],
      ]),
    ).toBe('0:1..1 2:5..5 30:6..6');
  });

  test('when there is nothing, then nothing is drawn', () => {
    expect(drawn([])).toBe('');
  });
});
