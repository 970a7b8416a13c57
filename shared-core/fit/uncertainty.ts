/**
 * Uncertainty of a result from those of what it is made of, after the GUM:
 * combined standard uncertainty with correlation (5.1, 5.2), effective degrees
 * of freedom (G.4), expanded uncertainty (6.2). First order only.
 *
 * Source: JCGM 100:2008; its examples H.1 to H.3 are tests.
 */
import { tFactor } from './student-t.ts';

export interface UncertainInput {
  readonly name: string;
  readonly value: number;
  /** Standard uncertainty, same unit as the value, ≥ 0. */
  readonly u: number;
  /** Infinity where the uncertainty itself is taken as certain (type B). */
  readonly degreesOfFreedom: number;
}

/** Correlation of two inputs by name, −1 to 1; pairs that are not named are independent. */
export interface Correlation {
  readonly between: readonly [string, string];
  readonly r: number;
}

export interface Contribution {
  readonly name: string;
  /** ∂f/∂x by differences over ±u. */
  readonly sensitivity: number;
  /** |sensitivity| · u, in the unit of the result. */
  readonly u: number;
}

export interface UncertainResult {
  readonly value: number;
  /** Combined standard uncertainty. */
  readonly u: number;
  /** Welch–Satterthwaite, for independent inputs; infinity where no input limits it. */
  readonly degreesOfFreedom: number;
  readonly contributions: readonly Contribution[];
}

/** Half-width to standard uncertainty (GUM 4.3.7 and 4.3.9; the U-shaped one from memory). */
export const distributions = {
  rectangular: (halfWidth: number): number => halfWidth / Math.sqrt(3),
  triangular: (halfWidth: number): number => halfWidth / Math.sqrt(6),
  arcsine: (halfWidth: number): number => halfWidth / Math.sqrt(2),
} as const;

/**
 * Value and combined standard uncertainty of `model` at the inputs.
 * @param model gets the values in the order of `inputs`
 * @throws RangeError for a negative or missing uncertainty, or a correlation outside −1 to 1 or of unknown inputs
 */
export function propagated(
  model: (values: readonly number[]) => number,
  inputs: readonly UncertainInput[],
  correlations: readonly Correlation[] = [],
): UncertainResult {
  const values = inputs.map((each) => each.value);
  const sensitivities = inputs.map((input, k) => {
    if (!(input.u >= 0)) throw new RangeError(`expected an uncertainty of ${input.name} of 0 or more, got ${input.u}`);
    if (input.u === 0) return 0;
    // Differences over ±u: GUM 5.1.3, note 2.
    const high = [...values];
    const low = [...values];
    high[k] = input.value + input.u;
    low[k] = input.value - input.u;
    return (model(high) - model(low)) / (high[k] - low[k]);
  });
  const signed = inputs.map((input, k) => sensitivities[k]! * input.u);
  const variance = varianceOf(inputs, signed, correlations);
  const u = Math.sqrt(Math.max(0, variance));
  return {
    value: model(values),
    u,
    degreesOfFreedom: effectiveDegreesOfFreedom(
      u,
      signed.map((each, k) => ({ u: Math.abs(each), degreesOfFreedom: inputs[k]!.degreesOfFreedom })),
    ),
    contributions: inputs.map((input, k) => ({
      name: input.name,
      sensitivity: sensitivities[k]!,
      u: Math.abs(signed[k]!),
    })),
  };
}

/** Root sum of squares of independent parts that are already in the unit of the result. */
export function combined(
  parts: readonly { readonly name: string; readonly u: number; readonly degreesOfFreedom: number }[],
): UncertainResult {
  return propagated(
    (values) => values.reduce((sum, each) => sum + each, 0),
    parts.map((part) => ({ ...part, value: 0 })),
  );
}

/**
 * u⁴ ÷ Σ uᵢ⁴/νᵢ (GUM G.4.1). The GUM states it for independent inputs; with
 * correlation it is an approximation.
 */
export function effectiveDegreesOfFreedom(
  u: number,
  parts: readonly { readonly u: number; readonly degreesOfFreedom: number }[],
): number {
  let sum = 0;
  for (const part of parts) sum += part.u ** 4 / part.degreesOfFreedom;
  return sum > 0 ? u ** 4 / sum : Number.POSITIVE_INFINITY;
}

export interface Expanded {
  /** Coverage factor. */
  readonly k: number;
  /** Expanded uncertainty k·u. */
  readonly U: number;
  /** Level of confidence, 0.95 say. */
  readonly p: number;
}

/** Degrees of freedom are cut to a whole number first, as GUM G.4.1 note 1 allows and H.1 does. */
export function expanded(result: { readonly u: number; readonly degreesOfFreedom: number }, p: number): Expanded {
  const { degreesOfFreedom, u } = result;
  const whole = degreesOfFreedom >= 1 ? Math.floor(degreesOfFreedom) : degreesOfFreedom;
  const k = tFactor(p, whole);
  return { k, U: k * u, p };
}

function varianceOf(
  inputs: readonly UncertainInput[],
  signed: readonly number[],
  correlations: readonly Correlation[],
): number {
  let variance = 0;
  for (const each of signed) variance += each * each;
  for (const { between, r } of correlations) {
    const [a, b] = between.map((name) => inputs.findIndex((input) => input.name === name)) as [number, number];
    if (a < 0 || b < 0 || a === b) throw new RangeError(`expected two inputs, got ${between.join(' and ')}`);
    if (!(r >= -1 && r <= 1)) throw new RangeError(`expected a correlation from -1 to 1, got ${r}`);
    variance += 2 * r * signed[a]! * signed[b]!;
  }
  return variance;
}
