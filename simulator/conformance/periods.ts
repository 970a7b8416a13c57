/** What has to come again in time, and how often samples come: judged by bench time. */
import type { BenchTable } from '../../shared-core/line/messages.ts';
import type { CheckId } from './checks.ts';
import type { Findings } from './findings.ts';

type PeriodCheck = Extract<CheckId, 'identity-every' | 'table-every' | 'event-every'>;

/** The document's figure, and some for a bench that rounds. */
const longest_us: Readonly<Record<PeriodCheck, number>> = {
  'identity-every': 2.05e6,
  'table-every': 5.2e6,
  'event-every': 2.05e6,
};
const RATE_SHARE = 0.02;

export class Periods {
  readonly #findings: Findings;
  readonly #last = new Map<string, { readonly check: PeriodCheck; us: number }>();
  readonly #samples = new Map<number, { first_us: number; last_us: number; count: number }>();
  #from_us = Number.NaN;

  constructor(findings: Findings) {
    this.#findings = findings;
  }

  heard(bench_us: number): void {
    if (Number.isNaN(this.#from_us)) this.#from_us = bench_us;
  }

  /** A new boot: all begins anew. */
  restart(): void {
    this.#last.clear();
    this.#samples.clear();
    this.#from_us = Number.NaN;
  }

  of(check: PeriodCheck, name: string, bench_us: number): void {
    const last = this.#last.get(name);
    if (!last) {
      this.#last.set(name, { check, us: bench_us });
      return;
    }
    this.#judge(check, name, bench_us - last.us);
    last.us = bench_us;
  }

  sample(group: number, bench_us: number): void {
    const known = this.#samples.get(group);
    if (!known) this.#samples.set(group, { first_us: bench_us, last_us: bench_us, count: 1 });
    else {
      known.last_us = bench_us;
      known.count++;
    }
  }

  /** What has not come again by the end counts too, and what never came. */
  finish(bench_us: number, table: BenchTable | null): void {
    for (const [name, { check, us }] of this.#last) {
      if (bench_us - us > longest_us[check]) this.#judge(check, name, bench_us - us);
    }
    const listened_us = bench_us - this.#from_us;
    if (listened_us > longest_us['identity-every'] && !this.#last.has('identity')) {
      this.#judge('identity-every', 'identity', listened_us);
    }
    if (!table) return;
    for (const input of table.inputs) {
      const name = `input ${input.key}`;
      if (!this.#last.has(name) && listened_us > 2 * longest_us['event-every']) {
        this.#judge('event-every', name, listened_us);
      }
    }
    for (const { group, rate_mHz } of table.groups) {
      const seen = this.#samples.get(group);
      const span_us = seen ? seen.last_us - seen.first_us : 0;
      if (!seen || span_us < 3e6) {
        if (listened_us > 6e6 && rate_mHz > 500) {
          this.#findings.note(
            'rates',
            false,
            `group ${group} gives no samples; it announces ${rate_mHz / 1000} a second`,
          );
        }
        continue;
      }
      const rate_Hz = ((seen.count - 1) * 1e6) / span_us;
      const off = rate_Hz / (rate_mHz / 1000) - 1;
      const said = `group ${group} comes ${rate_Hz.toFixed(2)} times a second, announced are ${rate_mHz / 1000}`;
      this.#findings.note('rates', Math.abs(off) <= RATE_SHARE, said);
    }
  }

  #judge(check: PeriodCheck, name: string, period_us: number): void {
    this.#findings.note(check, period_us <= longest_us[check], `${name} after ${(period_us / 1e6).toFixed(2)} s`);
  }
}
