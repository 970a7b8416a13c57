/**
 * Linear least squares: straight lines and polynomials for calibrations, and
 * regressions on several columns. Columns are scaled to length 1, factored by
 * Householder reflections, and the solution is refined on residuals summed
 * with their rounding errors, so that the certified digits of NIST's data are
 * met (tests/published/regression.test.ts says how many per data set).
 *
 * Source of the method: G. H. Golub, C. F. Van Loan, Matrix Computations, 3rd
 * ed. (1996), 5.2–5.3 and 5.3.8 (refinement), from memory.
 */
import { err, ok, type Result } from '../base/result.ts';
import { ExactSum, exactSum } from './exact-sums.ts';
import { type Factors, factored, solved } from './householder.ts';

export interface LeastSquaresFit {
  /** In the order of the columns; of a polynomial, from the constant upwards. */
  readonly coefficients: readonly number[];
  /** Standard error of each coefficient; NaN without degrees of freedom. */
  readonly standardErrors: readonly number[];
  /** Covariance of the coefficients; NaN without degrees of freedom. */
  readonly covariance: readonly (readonly number[])[];
  /** Observed minus fitted, in the order of the data. */
  readonly residuals: readonly number[];
  readonly residualSumOfSquares: number;
  /** √(sum of squares ÷ degrees of freedom); NaN without any. */
  readonly residualSd: number;
  readonly degreesOfFreedom: number;
  /** Against the mean of y; against 0 where the fit goes through the origin. NaN if y does not vary. */
  readonly rSquared: number;
}

export type FitError =
  | { readonly kind: 'too-few-points'; readonly points: number; readonly needed: number }
  | { readonly kind: 'not-finite'; readonly row: number }
  /** The columns do not tell the coefficients apart: the same load at every point, say. */
  | { readonly kind: 'columns-dependent'; readonly column: number };

const REFINEMENTS = 4;
/** Columns whose part not explained by the others is smaller are called dependent. */
const DEPENDENT_BELOW = 1e-13;

/** What went wrong, in a sentence for the person at the stand. */
export function fitErrorWords(error: FitError): string {
  switch (error.kind) {
    case 'too-few-points':
      return `${error.points} points are too few: this fit needs at least ${error.needed}.`;
    case 'not-finite':
      return `Point ${error.row + 1} is not a number.`;
    case 'columns-dependent':
      return 'The points do not determine the fit: there are too few different loads among them.';
  }
}

/**
 * y = b0 + b1·x + … + bn·xⁿ.
 * @param degree 0 to 5
 * @param throughOrigin leaves b0 out; the first coefficient is then b1
 * @throws RangeError for another degree or unequal lengths: the caller's mistake
 */
export function polynomialFit(
  x: readonly number[],
  y: readonly number[],
  degree: number,
  throughOrigin = false,
): Result<LeastSquaresFit, FitError> {
  if (!Number.isInteger(degree) || degree < 0 || degree > 5) {
    throw new RangeError(`expected a degree from 0 to 5, got ${degree}`);
  }
  const columns: number[][] = [];
  for (let power = throughOrigin ? 1 : 0; power <= degree; power++) columns.push(x.map((each) => each ** power));
  return leastSquares(columns, y, !throughOrigin);
}

/** y = b0 + b1·x1 + … ; without intercept, the first coefficient is b1. */
export function multipleRegression(
  columns: readonly (readonly number[])[],
  y: readonly number[],
  hasIntercept = true,
): Result<LeastSquaresFit, FitError> {
  return leastSquares(hasIntercept ? [y.map(() => 1), ...columns] : columns, y, hasIntercept);
}

/** Value of a polynomial, coefficients from the constant upwards. */
export function polynomialAt(coefficients: readonly number[], x: number): number {
  return coefficients.reduceRight((value, each) => value * x + each, 0);
}

/** Standard uncertainty of the fitted polynomial at x, from the covariance of its coefficients alone. */
export function polynomialUncertaintyAt(fit: LeastSquaresFit, x: number): number {
  let variance = 0;
  fit.covariance.forEach((row, i) => {
    row.forEach((each, k) => {
      variance += each * x ** (i + k);
    });
  });
  return Math.sqrt(Math.max(0, variance));
}

/**
 * @param columns of the design, each as long as y
 * @param isCorrected R² against the mean of y rather than against 0
 * @throws RangeError if the lengths differ: the caller's mistake
 */
export function leastSquares(
  columns: readonly (readonly number[])[],
  y: readonly number[],
  isCorrected: boolean,
): Result<LeastSquaresFit, FitError> {
  const n = y.length;
  const p = columns.length;
  for (const column of columns) {
    if (column.length !== n) throw new RangeError(`expected ${n} values in each column, got ${column.length}`);
  }
  if (n < p) return err({ kind: 'too-few-points', points: n, needed: p });
  for (let row = 0; row < n; row++) {
    const isWhole = Number.isFinite(y[row]) && columns.every((column) => Number.isFinite(column[row]));
    if (!isWhole) return err({ kind: 'not-finite', row });
  }
  const scales = columns.map((column) => Math.hypot(...column));
  const none = scales.findIndex((scale) => !(scale > 0));
  if (none >= 0) return err({ kind: 'columns-dependent', column: none });
  const factors = factored(columns.map((column, k) => column.map((each) => each / scales[k]!)));
  const dependent = factors.diagonal.findIndex((each) => Math.abs(each) < DEPENDENT_BELOW);
  if (dependent >= 0) return err({ kind: 'columns-dependent', column: dependent });

  const coefficients = refined(columns, scales, y, factors);
  const residuals = residualsOf(columns, coefficients, y);
  const residualSumOfSquares = exactSum(residuals.map((each) => each * each));
  const degreesOfFreedom = n - p;
  const variance = degreesOfFreedom > 0 ? residualSumOfSquares / degreesOfFreedom : NaN;
  const covariance = inverseOfNormal(factors).map((row, i) =>
    row.map((each, k) => (each * variance) / (scales[i]! * scales[k]!)),
  );
  const mean = isCorrected ? exactSum(y) / n : 0;
  const total = exactSum(y.map((each) => (each - mean) ** 2));
  return ok({
    coefficients,
    standardErrors: covariance.map((row, i) => Math.sqrt(row[i]!)),
    covariance,
    residuals,
    residualSumOfSquares,
    residualSd: Math.sqrt(variance),
    degreesOfFreedom,
    rSquared: total > 0 ? 1 - residualSumOfSquares / total : NaN,
  });
}

/** The solution, bettered on its own residuals until they no longer say anything. */
function refined(
  columns: readonly (readonly number[])[],
  scales: readonly number[],
  y: readonly number[],
  factors: Factors,
): number[] {
  let coefficients = solved(factors, y).map((each, k) => each / scales[k]!);
  for (let round = 0; round < REFINEMENTS; round++) {
    const residuals = residualsOf(columns, coefficients, y);
    const step = solved(factors, residuals);
    coefficients = coefficients.map((each, k) => each + step[k]! / scales[k]!);
  }
  return coefficients;
}

function residualsOf(
  columns: readonly (readonly number[])[],
  coefficients: readonly number[],
  y: readonly number[],
): number[] {
  return y.map((each, row) => {
    const residual = new ExactSum();
    residual.add(each);
    columns.forEach((column, k) => {
      residual.addProduct(-coefficients[k]!, column[row]!);
    });
    return residual.value;
  });
}

/** (XᵀX)⁻¹ of the scaled columns, as R⁻¹R⁻ᵀ. */
function inverseOfNormal(factors: Factors): number[][] {
  const p = factors.diagonal.length;
  const inverse: number[][] = [];
  for (let k = 0; k < p; k++) {
    const unit = new Array<number>(p).fill(0);
    unit[k] = 1;
    inverse.push(factors.backSolved(unit));
  }
  // inverse[k] is column k of R⁻¹.
  return Array.from({ length: p }, (_, i) =>
    Array.from({ length: p }, (_, j) => exactSum(inverse.map((column) => column[i]! * column[j]!))),
  );
}
