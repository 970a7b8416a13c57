/**
 * Sums and products whose rounding errors are kept and added back: what a
 * calibration with 15 digits, or a mean of readings near 10⁷, needs and a
 * plain loop loses.
 *
 * Source: T. J. Dekker, A floating-point technique for extending the available
 * precision, Numer. Math. 18 (1971) 224; A. Neumaier, ZAMM 54 (1974) 39; both
 * from memory, held by tests against exact cases.
 */

/** 2²⁷ + 1: splits a double into two halves of 26 bits. */
const SPLITTER = 134_217_729;

/** Running sum with its lost digits beside it. */
export class ExactSum {
  #sum = 0;
  #lost = 0;

  add(value: number): void {
    const sum = this.#sum + value;
    this.#lost += Math.abs(this.#sum) >= Math.abs(value) ? this.#sum - sum + value : value - sum + this.#sum;
    this.#sum = sum;
  }

  /** Adds a·b with the rounding error of the product. Not for |a| or |b| above 10³⁰⁰. */
  addProduct(a: number, b: number): void {
    const product = a * b;
    const aHigh = highOf(a);
    const aLow = a - aHigh;
    const bHigh = highOf(b);
    const bLow = b - bHigh;
    this.add(product);
    this.add(aLow * bLow - (product - aHigh * bHigh - aLow * bHigh - aHigh * bLow));
  }

  get value(): number {
    return this.#sum + this.#lost;
  }
}

export function exactSum(values: Iterable<number>): number {
  const sum = new ExactSum();
  for (const value of values) sum.add(value);
  return sum.value;
}

function highOf(value: number): number {
  const scaled = SPLITTER * value;
  return scaled - (scaled - value);
}
