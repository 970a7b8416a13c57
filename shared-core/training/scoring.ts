/** A lesson's scoring rules against what happened: each rule's contribution with its reason in plain words. Pure. */
import { isAct } from './acts.ts';
import { starterAbuses } from './crank-watch.ts';
import type { ExpectationOutcome } from './expectation-outcome.ts';
import { isGained, type Lesson, type ScoringRule } from './lesson.ts';
import type { LessonState } from './lesson-state.ts';
import type { OrderOutcome } from './order-outcome.ts';

export interface RuleOutcome {
  readonly id: string;
  readonly kind: 'gained' | 'lost';
  readonly words: string;
  /** Gained (0 to `of`) or lost (0 down to −`of`). */
  readonly points: number;
  readonly of: number;
  /** Why so many. */
  readonly because: string;
  /** The lesson is failed by this alone, whatever the points. */
  readonly hasFailed: boolean;
}

interface Verdict {
  readonly points: number;
  readonly because: string;
  readonly hasFailed?: boolean;
}

export function score(
  lesson: Lesson,
  state: LessonState,
  expectations: readonly ExpectationOutcome[],
  orders: readonly OrderOutcome[],
): { readonly rules: readonly RuleOutcome[]; readonly total: number } {
  const rules = lesson.rules.map((rule): RuleOutcome => {
    const { points, because, hasFailed = false } = verdictOf(rule, state, expectations, orders);
    const { id, words } = rule;
    return {
      id,
      kind: isGained(rule) ? 'gained' : 'lost',
      words,
      points: Math.round(points),
      of: rule.points,
      because,
      hasFailed,
    };
  });
  const sum = rules.reduce((total, each) => total + each.points, 0);
  return { rules, total: Math.max(0, Math.min(100, sum)) };
}

function verdictOf(
  rule: ScoringRule,
  state: LessonState,
  expectations: readonly ExpectationOutcome[],
  orders: readonly OrderOutcome[],
): Verdict {
  switch (rule.kind) {
    case 'goal': {
      const at_s = state.goals_s[rule.goal];
      return at_s === undefined
        ? { points: 0, because: 'Not reached.' }
        : { points: rule.points, because: `Reached after ${clock(at_s)}.` };
    }
    case 'notice':
    case 'act':
      return timed(
        rule,
        expectations.find((each) => each.id === rule.expectation),
      );
    case 'order': {
      const order = orders.find((each) => each.id === rule.order);
      if (order === undefined) return { points: 0, because: 'Not asked.' };
      if (order.acts.every((each) => each.at_s === null)) return { points: 0, because: 'None of it was done.' };
      if (order.slips === 0) return { points: rule.points, because: 'All of it, in order.' };
      const slips = order.acts.filter((each) => each.isSlip);
      return {
        points: Math.max(0, rule.points - order.slips * rule.perSlip),
        because: slips
          .map((each) => `${each.words}: ${each.at_s === null ? 'not done' : `too early, at ${clock(each.at_s)}`}`)
          .join('; ')
          .concat('.'),
      };
    }
    case 'checklist': {
      if (state.openAtCrank === null) return { points: 0, because: 'The starter was never engaged.' };
      const open = state.openAtCrank.filter((each) => rule.stages.some((stage) => stage === each.stage));
      if (open.length === 0) return { points: rule.points, because: 'Every item was ticked before the first crank.' };
      const why = state.overrideReason === null ? '' : ` ${state.overrideReason}.`;
      return {
        points: Math.max(0, rule.points - open.length * rule.perItem),
        because: `${open.length} ${open.length === 1 ? 'item was' : 'items were'} open at the first crank.${why}`,
      };
    }
    case 'limits':
      return limits(rule, state);
    case 'starter': {
      const abuses = starterAbuses(state);
      if (abuses.length === 0) return { points: 0, because: 'The starter was used as it should be.' };
      return {
        points: -Math.min(rule.points, abuses.length * rule.perAbuse),
        because: abuses.map((each) => each.words).join(' '),
        hasFailed: rule.fails,
      };
    }
    case 'hot-cut':
      return hotCut(rule, state);
    case 'wrong-act': {
      const due = expectations.find((each) => each.id === rule.expectation);
      const from_s = due?.dueAt_s ?? null;
      if (from_s === null) return { points: 0, because: 'Did not come to it.' };
      const until_s = due?.actedAt_s ?? Infinity;
      const wrong = state.acts.find((each) => each.at_s >= from_s && each.at_s < until_s && isAct(each, rule.what));
      return wrong === undefined
        ? { points: 0, because: 'Not done.' }
        : { points: -rule.points, because: `${wrong.words}, at ${clock(wrong.at_s)}.`, hasFailed: rule.fails };
    }
  }
}

function timed(rule: Extract<ScoringRule, { kind: 'notice' | 'act' }>, due: ExpectationOutcome | undefined): Verdict {
  const isNotice = rule.kind === 'notice';
  if (due === undefined || due.dueAt_s === null) return { points: 0, because: 'The lesson did not come so far.' };
  const delay_s = isNotice ? due.toNotice_s : due.toAct_s;
  if (delay_s === null) return { points: 0, because: isNotice ? 'Never noticed.' : 'Never acted on.' };
  const share = Math.min(1, Math.max(0, (rule.none_s - delay_s) / (rule.none_s - rule.full_s)));
  const by = isNotice ? due.noticedBy : due.actedBy;
  const after = due.shownAt_s === null ? 'before any alarm' : `${delay_s.toFixed(1)} s after it showed`;
  return { points: rule.points * share, because: `${by}, ${after}.` };
}

function limits(rule: Extract<ScoringRule, { kind: 'limits' }>, state: LessonState): Verdict {
  const over = state.overs.filter((each) => rule.levels.includes(each.level) && each.over_s > rule.free_s);
  if (over.length === 0) return { points: 0, because: 'No limit of this kind was exceeded for longer.' };
  const lost = over.reduce((sum, each) => sum + (each.over_s - rule.free_s) * rule.perSecond, 0);
  return {
    points: -Math.min(rule.points, lost),
    because: over
      .map((each) => `${each.title}: ${each.over_s.toFixed(1)} s, as far as ${Math.round(each.farthest)} ${each.unit}.`)
      .join(' '),
  };
}

function hotCut(rule: Extract<ScoringRule, { kind: 'hot-cut' }>, state: LessonState): Verdict {
  const hot = state.cuts.find(
    (each) => each.head_degC !== null && each.head_degC > rule.above_degC && !each.isFalling && !each.isOrdered,
  );
  if (hot === undefined) {
    const because =
      state.cuts.length === 0
        ? 'The ignition was not cut with the engine running.'
        : 'Cut cool, or with the heads falling.';
    return { points: 0, because };
  }
  return {
    points: -rule.points,
    because: `The ignition was cut hot: hottest head ${Math.round(hot.head_degC ?? NaN)} °C and not falling, at ${clock(hot.at_s)}.`,
    hasFailed: rule.fails,
  };
}

/** `3:05` */
export function clock(at_s: number): string {
  const whole = Math.max(0, Math.floor(at_s));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
