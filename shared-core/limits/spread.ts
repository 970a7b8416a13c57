/**
 * Spread in a group: highest less lowest. A member that is not good and for
 * which nobody speaks trips; one that is spoken for is left out, and with
 * fewer than two left the state is held.
 */
import { type Delayed, holdDelayed, newDelayed, rememberDelayed, stepDelayed } from './delayed.ts';
import type { SpreadRule } from './rules.ts';
import { restDelayed, sampleOf, standingOf, type Watch, type Watched } from './watch.ts';

export type SpreadLevels = Pick<SpreadRule, 'trip' | 'reset' | 'onDelay_ms' | 'offDelay_ms'>;

/** Takes one spread, in place; returns whether it is too wide. NaN trips. */
export function stepSpread(rule: SpreadLevels, delayed: Delayed, t_us: number, spread: number): boolean {
  return stepDelayed(delayed, t_us, !(spread <= rule.trip), spread < rule.reset, rule.onDelay_ms, rule.offDelay_ms);
}

export function spreadWatch(rule: SpreadRule, group: readonly Watched[], unit: string, isTripped: boolean): Watch {
  const delayed = newDelayed(isTripped);
  let spread = NaN;
  return {
    step(scene) {
      let lowest = Number.POSITIVE_INFINITY;
      let highest = Number.NEGATIVE_INFINITY;
      let members = 0;
      let isFresh = false;
      for (const watched of group) {
        const standing = standingOf(scene, watched);
        if (standing === 'bad') {
          spread = NaN;
          return stepSpread(rule, delayed, scene.t_us, NaN);
        }
        if (standing === 'spoken' || standing === 'none') continue;
        if (standing === 'fresh') isFresh = true;
        const value = sampleOf(scene, watched);
        members++;
        lowest = Math.min(lowest, value);
        highest = Math.max(highest, value);
      }
      if (members < 2) return holdDelayed(delayed);
      if (!isFresh) return delayed.isTripped;
      spread = highest - lowest;
      return stepSpread(rule, delayed, scene.t_us, spread);
    },
    rest: () => restDelayed(delayed),
    remember(memory) {
      rememberDelayed(memory, delayed);
      spread = memory.number(spread);
    },
    reading: () => ({ value: spread, limit: rule.trip, unit: unit === '°C' ? 'K' : unit }),
  };
}
