/** Which abort advisories are open, and which leads. Pure, but for the two hooks at the end. */

import type { Advisory, AdvisoryStepView, Escalation } from '../../shared-core/advisory/plans.ts';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { useStream } from '../app/stream-store.ts';

const none: readonly Advisory[] = [];

/** Open advisories, the graver first (rank 1 is gravest), then the earlier. Completed ones go behind running ones. */
export function openAdvisories(advisories: readonly Advisory[]): readonly Advisory[] {
  const open = advisories.filter((a) => a.closedAt_us === null && a.kind === 'abort');
  if (open.length === 0) return none;
  return open.sort(
    (a, b) =>
      Number(a.completedAt_us !== null) - Number(b.completedAt_us !== null) ||
      a.rank - b.rank ||
      a.openedAt_us - b.openedAt_us,
  );
}

/** The step that waits for the operator's word now, or null. */
export function stepToConfirm(advisory: Advisory): AdvisoryStepView | null {
  return advisory.steps.find((s) => s.state === 'current' && s.step.proof.kind === 'operator') ?? null;
}

/** The steps that are current; more than one may run at once. */
export function currentSteps(advisory: Advisory): readonly AdvisoryStepView[] {
  return advisory.steps.filter((s) => s.state === 'current');
}

/** The one line that says what to do now: the plan's own until its first step is done, then the step's. */
export function imperativeOf(advisory: Advisory): string {
  if (advisory.completedAt_us !== null) return 'All steps are done';
  const isBegun = advisory.steps.some((s) => s.state === 'done-by-channel' || s.state === 'done-by-operator');
  const current = currentSteps(advisory)[0];
  return isBegun && current ? current.step.imperative : advisory.imperative;
}

/**
 * What is said beside the imperative when steps are late. The words change
 * with the degree only: a screen reader says them once, and nothing flashes.
 */
export function insistence(advisory: Advisory, degree: Escalation): string {
  const overdue = currentSteps(advisory).find((view) => view.isOverdue);
  const step = overdue === undefined ? '' : `: ${overdue.step.imperative.toLowerCase()}`;
  if (degree === 0) return '';
  return degree === 1
    ? `Overdue${step}.`
    : `Long overdue${step}. If it cannot be done from here, act at the stand by its stop circuit.`;
}

/** Seconds by which a current step is past its time; 0 if it is not. */
export function overdueBy_s(view: AdvisoryStepView, now_us: number): number {
  if (view.state !== 'current' || view.startedAt_us === null) return 0;
  return Math.max(0, (now_us - view.startedAt_us) / 1e6 - view.step.allowed_s);
}

export function useOpenAdvisories(stream: StreamName): readonly Advisory[] {
  const advisories = useStream(stream, (s) => s.snapshot?.advisories ?? none);
  return openAdvisories(advisories);
}

/** True while a live advisory is open: dialogs and keys give way to it. */
export function useIsAdvisoryOpen(): boolean {
  return useStream('live', (s) =>
    (s.snapshot?.advisories ?? none).some((a) => a.closedAt_us === null && a.kind === 'abort'),
  );
}
