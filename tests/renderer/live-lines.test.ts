/** The strokes of a trend line: through every extreme, lifted over gaps, dashed by time. */
import { describe, expect, test } from 'vitest';
import { type Columns, makeColumns } from '../../renderer/plots/decimate.ts';
import { type Pen, type Scale, trace } from '../../renderer/plots/live-lines.ts';

/** 1 px for each microsecond and unit, no offset, y upwards: what is drawn can be read. */
const plain: Scale = { x0: 0, xPerUs: 1, y0: 0, yPerUnit: 1 };

function columnsOf(points: readonly (readonly [t_us: number, min: number, max: number])[]): Columns {
  const columns = makeColumns(points.length);
  for (const [t_us, min, max] of points) {
    columns.t_us[columns.count] = t_us;
    columns.min[columns.count] = min;
    columns.max[columns.count] = max;
    columns.count++;
  }
  return columns;
}

/** Strokes as text: "M0,1" the pen is set down, "L2,3" a line to. */
function drawn(columns: Columns, dash: readonly number[] = [], scale: Scale = plain): string {
  const strokes: string[] = [];
  const pen: Pen = {
    moveTo: (x, y) => strokes.push(`M${x},${y}`),
    lineTo: (x, y) => strokes.push(`L${x},${y}`),
  };
  trace(pen, columns, dash, scale);
  return strokes.join(' ');
}

describe('given columns without a spread', () => {
  test('when traced, then one line runs through them', () => {
    const columns = columnsOf([
      [0, 1, 1],
      [1, 2, 2],
      [2, 4, 4],
    ]);
    expect(drawn(columns)).toBe('M0,1 L1,2 L2,4');
  });

  test('when scaled, then session time and value land where the band has them', () => {
    const columns = columnsOf([
      [1e6, 10, 10],
      [2e6, 20, 20],
    ]);
    // A window from 1 s to 2 s, 100 px wide at x = 50; a band 80 px high at y = 8 from 0 to 40.
    const scale = { x0: 50 - 100, xPerUs: 100 / 1e6, y0: 88, yPerUnit: -80 / 40 };
    expect(drawn(columns, [], scale)).toBe('M50,68 L150,48');
  });
});

describe('given columns with a spread', () => {
  test('when traced, then minimum and maximum of each are reached, the nearer end first', () => {
    const columns = columnsOf([
      [0, 1, 3],
      [1, 2, 6],
      [2, 0, 5],
    ]);
    expect(drawn(columns)).toBe('M0,1 L0,3 L1,2 L1,6 L2,5 L2,0');
  });

  test.each(['solid', 'dashed'])(
    'when the seeded noise of 500 columns is traced %s, then no extreme of it is lost',
    (kind) => {
      let state = 20_261_125;
      const random = (): number => {
        state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
        return state / 2 ** 32;
      };
      const points = Array.from({ length: 500 }, (_, i) => {
        const min = Math.round(random() * 1000);
        return [i, min, min + 1 + Math.round(random() * 100)] as const;
      });
      const text = drawn(columnsOf(points), kind === 'solid' ? [] : [7, 3]);
      const inked = new Set(text.split(' ').map((stroke) => stroke.slice(1)));
      // Where a dash leaves the line out, 3 px of 10, nothing is drawn; everywhere else both ends are.
      const shown = points.filter(([t_us]) => kind === 'solid' || t_us % 10 < 7);
      expect(shown.every(([t, min, max]) => inked.has(`${t},${min}`) && inked.has(`${t},${max}`))).toBe(true);
    },
  );
});

describe('given gaps', () => {
  test('when traced, then the pen is lifted over them', () => {
    const columns = columnsOf([
      [0, 1, 1],
      [1, 1, 1],
      [2, NaN, NaN],
      [3, 5, 5],
      [4, 6, 6],
    ]);
    expect(drawn(columns)).toBe('M0,1 L1,1 M3,5 L4,6');
  });

  test('when one column stands alone, then it is a dot and not nothing', () => {
    const columns = columnsOf([
      [0, NaN, NaN],
      [5, 2, 2],
      [9, NaN, NaN],
    ]);
    expect(drawn(columns)).toBe('M5,2 L6,2');
  });

  test('when there is nothing, then nothing is drawn', () => {
    expect(drawn(columnsOf([]))).toBe('');
  });
});

describe('given dashes of 4 px, 2 px left out', () => {
  test('when a long line is traced, then it is cut where the dashes end', () => {
    const columns = columnsOf([
      [0, 0, 0],
      [11, 11, 11],
    ]);
    expect(drawn(columns, [4, 2])).toBe('M0,0 L4,4 M6,6 L10,10');
  });

  test('when the window has moved on, then the dashes stand at the same times', () => {
    const columns = columnsOf([
      [5, 0, 0],
      [11, 0, 0],
    ]);
    expect(drawn(columns, [4, 2])).toBe('M5,0 M6,0 L10,0');
    expect(drawn(columns, [4, 2], { ...plain, x0: -5 })).toBe('M0,0 M1,0 L5,0');
  });
});
