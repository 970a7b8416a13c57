/**
 * A matrix with more rows than columns as Q·R, by Householder reflections, and
 * least-squares solutions from it. Scaling and refinement are in
 * `least-squares.ts`.
 *
 * Source: Golub, Van Loan, Matrix Computations, 3rd ed. (1996), algorithm
 * 5.2.1, from memory.
 */
import { exactSum } from './exact-sums.ts';

export interface Factors {
  /** Diagonal of R; 0 where a column depends on those before it. */
  readonly diagonal: readonly number[];
  /** Qᵀ·y, in place. */
  reflect(y: number[]): void;
  /** x with R·x = the first values of `right`. */
  backSolved(right: readonly number[]): number[];
}

/** @param columns taken over and overwritten */
export function factored(columns: number[][]): Factors {
  const p = columns.length;
  const n = columns[0]?.length ?? 0;
  const diagonal: number[] = [];
  const reflectors: { readonly from: number; readonly v: readonly number[]; readonly twoOverVv: number }[] = [];
  for (let k = 0; k < p; k++) {
    const column = columns[k]!;
    const below = column.slice(k);
    const length = Math.hypot(...below);
    const head = below[0]!;
    const alpha = head > 0 ? -length : length;
    diagonal.push(alpha);
    below[0] = head - alpha;
    const vv = exactSum(below.map((each) => each * each));
    const reflector = { from: k, v: below, twoOverVv: vv > 0 ? 2 / vv : 0 };
    reflectors.push(reflector);
    for (let j = k + 1; j < p; j++) apply(reflector, columns[j]!, n);
  }
  return {
    diagonal,
    reflect: (y) => {
      for (const reflector of reflectors) apply(reflector, y, n);
    },
    backSolved: (right) => {
      const x = new Array<number>(p).fill(0);
      for (let i = p - 1; i >= 0; i--) {
        let value = right[i]!;
        for (let j = i + 1; j < p; j++) value -= columns[j]![i]! * x[j]!;
        x[i] = value / diagonal[i]!;
      }
      return x;
    },
  };
}

/** Coefficients that bring the columns nearest to `y`. */
export function solved(factors: Factors, y: readonly number[]): number[] {
  const right = [...y];
  factors.reflect(right);
  return factors.backSolved(right);
}

function apply(
  reflector: { readonly from: number; readonly v: readonly number[]; readonly twoOverVv: number },
  column: number[],
  n: number,
): void {
  const { from, v, twoOverVv } = reflector;
  let dot = 0;
  for (let i = from; i < n; i++) dot += v[i - from]! * column[i]!;
  const factor = dot * twoOverVv;
  for (let i = from; i < n; i++) column[i]! -= factor * v[i - from]!;
}
