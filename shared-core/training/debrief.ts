/**
 * The debrief as data: score with each rule's contribution, what was to be
 * seen and what was done, limits, starter, order, timeline, advice. The page
 * shows it, the record keeps its score; it is made from a lesson's state alone.
 */
import { starterAbuses } from './crank-watch.ts';
import { type ExpectationOutcome, outcomeOf } from './expectation-outcome.ts';
import type { ActOrder, Lesson, LessonMode } from './lesson.ts';
import type { LessonFold } from './lesson-fold.ts';
import type { LessonState, OverLimit } from './lesson-state.ts';
import { type OrderOutcome, orderOutcome } from './order-outcome.ts';
import { type RuleOutcome, score } from './scoring.ts';
import { type TimelineEntry, timelineOf } from './timeline.ts';

export type { ExpectationOutcome, OrderOutcome, RuleOutcome, TimelineEntry };

export interface Debrief {
  readonly lesson: string;
  /** By whose data this debrief is made. */
  readonly lessonVersion: number;
  /** In which the lesson was taken: another one had other steps or points. */
  readonly takenVersion: number;
  readonly title: string;
  readonly mode: LessonMode;
  readonly trainee: string;
  readonly seed: number;
  readonly duration_s: number;
  /** Session time at which the lesson began; negative where that was in the session before a rewind. */
  readonly zero_us: number;
  /** `open`: the lesson was still going on. */
  readonly ended: 'complete' | 'stopped' | 'time' | 'open';
  /** A rewound lesson is practice; its score is no record of a first attempt. */
  readonly rewinds: number;
  readonly fastestSpeed: number;
  /** Below 1 there was more time to think than at a real stand. */
  readonly slowestSpeed: number;
  readonly pauses: number;
  /** The instructor's panel in an assessment: how often opened, and how often refused for a wrong word. */
  readonly panelOpened: number;
  readonly panelRefused: number;
  readonly score: number;
  readonly pass: number;
  readonly isPassed: boolean;
  /** Passed or not, and the plainest reason. */
  readonly verdict: string;
  readonly rules: readonly RuleOutcome[];
  readonly expectations: readonly ExpectationOutcome[];
  readonly orders: readonly OrderOutcome[];
  readonly steps: readonly { readonly says: string; readonly doneAt_s: number | null }[];
  readonly goals: readonly { readonly words: string; readonly reachedAt_s: number | null }[];
  readonly limits: readonly OverLimit[];
  readonly starter: {
    readonly attempts: readonly { readonly at_s: number; readonly cranked_s: number; readonly held_s: number | null }[];
    readonly abuses: readonly { readonly at_s: number; readonly words: string }[];
  };
  /** Items of the lists before the start that were open at the first crank; null where nothing was cranked. */
  readonly openAtCrank: readonly string[] | null;
  readonly timeline: readonly TimelineEntry[];
  readonly advice: readonly string[];
}

export function debriefOf(fold: LessonFold): Debrief {
  return makeDebrief(fold.lesson, fold.head, fold.state, fold.zero_us);
}

/** Pure: the same lesson and state give the same debrief. */
export function makeDebrief(lesson: Lesson, head: LessonFold['head'], state: LessonState, zero_us: number): Debrief {
  const expectations = lesson.expectations.map((each) => outcomeOf(each, state));
  const orders = lesson.orders.map((each: ActOrder) => orderOutcome(each, state));
  const { rules, total } = score(lesson, state, expectations, orders);
  const failing = rules.find((each) => each.hasFailed);
  const isComplete = state.ended?.why === 'complete';
  const isPassed = isComplete && failing === undefined && total >= lesson.pass;
  return {
    lesson: lesson.id,
    lessonVersion: lesson.version,
    takenVersion: head.version,
    title: lesson.title,
    mode: head.mode,
    trainee: head.trainee,
    seed: head.seed,
    duration_s: state.ended?.at_s ?? state.now_s,
    zero_us,
    ended: state.ended?.why ?? 'open',
    rewinds: state.rewinds,
    fastestSpeed: state.fastestSpeed,
    slowestSpeed: state.slowestSpeed,
    pauses: state.pauses,
    panelOpened: state.panel.filter((each) => each.isOpened).length,
    panelRefused: state.panel.filter((each) => !each.isOpened).length,
    score: total,
    pass: lesson.pass,
    isPassed,
    verdict: verdictOf({ isPassed, isComplete, why: state.ended?.why, failing, total, pass: lesson.pass }),
    rules,
    expectations,
    orders,
    steps: lesson.steps.map((step, i) => ({ says: step.says, doneAt_s: state.stepDone_s[i] ?? null })),
    goals: lesson.goals.map((goal) => ({ words: goal.words, reachedAt_s: state.goals_s[goal.id] ?? null })),
    limits: state.overs,
    starter: {
      attempts: state.cranks.map(({ from_s, cranked_s, held_s }) => ({ at_s: from_s, cranked_s, held_s })),
      abuses: starterAbuses(state),
    },
    openAtCrank: state.openAtCrank?.map((each) => each.text) ?? null,
    timeline: timelineOf(lesson, state, expectations),
    advice: adviceOf(lesson, rules),
  };
}

function verdictOf(about: {
  readonly isPassed: boolean;
  readonly isComplete: boolean;
  readonly why: string | undefined;
  readonly failing: RuleOutcome | undefined;
  readonly total: number;
  readonly pass: number;
}): string {
  if (about.isPassed) return `Passed: ${about.total} of 100, ${about.pass} are needed.`;
  if (about.failing !== undefined) return `Not passed: ${about.failing.because}`;
  if (!about.isComplete) {
    return about.why === 'time' ? 'Not passed: the time ran out.' : 'Not passed: ended before its end.';
  }
  return `Not passed: ${about.total} of 100, ${about.pass} are needed.`;
}

/** What lost points, gravest first, with the lesson's own word on it. */
function adviceOf(lesson: Lesson, rules: readonly RuleOutcome[]): string[] {
  const lost = rules
    .map((rule) => ({ rule, lost: rule.kind === 'lost' ? -rule.points : rule.of - rule.points }))
    .filter((each) => each.lost >= 1)
    .sort((a, b) => Number(b.rule.hasFailed) - Number(a.rule.hasFailed) || b.lost - a.lost);
  const told = lost.flatMap(({ rule }) => lesson.advice[rule.id] ?? []);
  return told.length > 0 ? [...new Set(told)] : ['Nothing to mend. Take it again in a harder mode, or another lesson.'];
}
