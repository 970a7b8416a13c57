/** What was found for each check: how often it held, how often not, and the first instance. */
import { type CheckId, checkIds, checks } from './checks.ts';

export interface Finding {
  readonly check: CheckId;
  readonly part: number;
  readonly says: string;
  readonly weight: 'must' | 'should';
  /** `unseen`: nothing came to judge by. `not-asked`: it needs commands that were not sent. */
  readonly state: 'holds' | 'fails' | 'unseen' | 'not-asked';
  readonly held: number;
  readonly broken: number;
  /** The first instance, or why nothing was seen. */
  readonly detail: string;
}

interface Tally {
  held: number;
  broken: number;
  detail: string;
}

export class Findings {
  readonly #tallies = new Map<CheckId, Tally>();
  readonly #notAsked = new Map<CheckId, string>();

  /** Notes one instance; the detail of the first that is broken is kept. */
  note(check: CheckId, isHeld: boolean, detail: string): void {
    let tally = this.#tallies.get(check);
    if (!tally) {
      tally = { held: 0, broken: 0, detail: '' };
      this.#tallies.set(check, tally);
    }
    if (isHeld) tally.held++;
    else if (tally.broken++ === 0) tally.detail = detail;
  }

  /** Not judged, and why. */
  notAsked(check: CheckId, why: string): void {
    this.#notAsked.set(check, why);
  }

  list(): readonly Finding[] {
    return checkIds.map((check) => {
      const { part, says, weight } = checks[check];
      const tally = this.#tallies.get(check);
      const base = { check, part, says, weight, held: tally?.held ?? 0, broken: tally?.broken ?? 0 };
      if (tally) return { ...base, state: tally.broken > 0 ? 'fails' : 'holds', detail: tally.detail };
      const why = this.#notAsked.get(check);
      return why === undefined
        ? { ...base, state: 'unseen', detail: '' }
        : { ...base, state: 'not-asked', detail: why };
    });
  }
}
