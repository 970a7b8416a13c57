/**
 * Running advisories: which stand, which step is current, what proves
 * it, when it is overdue. A plan is data (`plans.ts`), proofs are read in
 * `proof.ts`; which alarm opens one is told from outside.
 *
 * - One advisory per cause; an alarm of a cause that has one joins it.
 * - Steps go in order. A step that the bench can prove turns by itself, once
 *   the proof has held for its `hold_ms` since the step became current (at
 *   once, if it asks for no hold: a throttle closed already need not be closed
 *   again).
 * - The operator confirms the current step when nothing but the operator can
 *   prove it, or when its channel or input has failed. A step that the bench
 *   could prove and does not is not confirmed by hand: it stays, and becomes
 *   overdue, because then the engine does not do what the operator believes.
 * - A step that is overdue makes it insist (escalation 1); one that is twice
 *   over its time, or a second overdue step, makes it insist more (2). With the
 *   step done the insistence ends.
 * - All steps done completes an advisory; only the operator closes it, and may
 *   close it before, which is recorded as closed without completion.
 * - Aborts lead by rank; cool-downs come after every abort. A cool-down is
 *   withdrawn when the engine goes back to power.
 */
import type { JournalOutput } from '../journal.ts';
import type { AdvisoryCause } from '../limits/rules.ts';
import { type FoldMemory, FoldMisfit } from '../pipeline/fold-memory.ts';
import type { Advisory, AdvisoryPlan, AdvisoryStep, AdvisoryStepView, Escalation, StepState } from './plans.ts';
import type { ProofReader } from './proof.ts';

export type AdvisoryOutput = Extract<JournalOutput, { kind: 'advisory' }>;

interface Running {
  readonly id: string;
  readonly plan: AdvisoryPlan;
  readonly causeText: string;
  readonly alarmId: string;
  readonly openedAt_us: number;
  readonly steps: StepRecord[];
  /** Index of the current step; the number of steps when all are done. */
  current: number;
  /** Since when the current step's proof has held; NaN when it does not. */
  provedSince_us: number;
  completedAt_us: number | null;
  closedAt_us: number | null;
  escalation: Escalation;
}

interface StepRecord {
  startedAt_us: number | null;
  doneAt_us: number | null;
  doneBy: 'channel' | 'operator' | null;
  isOverdue: boolean;
}

export class AdvisoryDesk {
  readonly #plans: readonly AdvisoryPlan[];
  readonly #onOutput: (t_us: number, output: AdvisoryOutput) => void;
  #proofs: ProofReader;
  #running: Running[] = [];
  #openCount = 0;
  #now_us = 0;

  constructor(
    plans: readonly AdvisoryPlan[],
    proofs: ProofReader,
    onOutput: (t_us: number, output: AdvisoryOutput) => void,
  ) {
    this.#plans = plans;
    this.#proofs = proofs;
    this.#onOutput = onOutput;
  }

  /** The channel list is another one. */
  refit(proofs: ProofReader): void {
    this.#proofs = proofs;
  }

  /** An alarm of this cause has tripped, or the cause is there without one. Without a plan for the cause nothing opens. */
  open(cause: AdvisoryCause, alarmId: string, causeText: string, t_us: number): void {
    if (this.#running.some((each) => each.plan.cause === cause && each.closedAt_us === null)) return;
    const plan = this.#plans.find((each) => each.cause === cause);
    if (plan === undefined) return;
    const running: Running = {
      id: `${cause}@${t_us}`,
      plan,
      causeText,
      alarmId,
      openedAt_us: t_us,
      steps: plan.steps.map(() => ({ startedAt_us: null, doneAt_us: null, doneBy: null, isOverdue: false })),
      current: -1,
      provedSince_us: NaN,
      completedAt_us: null,
      closedAt_us: null,
      escalation: 0,
    };
    this.#running.push(running);
    this.#running.sort(inOrder);
    this.#openCount++;
    this.#say(running, t_us, 'opened', null, null);
    this.#next(running, t_us);
  }

  /** Takes the present moment: proofs, holds, overdue steps. */
  step(t_us: number): void {
    this.#now_us = t_us;
    if (this.#openCount === 0) return;
    for (const each of this.#running) if (each.closedAt_us === null) this.#stepOne(each, t_us);
  }

  /** The operator confirms the current step; returns whether it counted. */
  confirm(advisoryId: string, stepId: string, t_us: number): boolean {
    const running = this.#running.find((each) => each.id === advisoryId && each.closedAt_us === null);
    const step = running?.plan.steps[running.current];
    if (running === undefined || step === undefined || step.id !== stepId) return false;
    const isByHand = step.proof.kind === 'operator' || this.#proofs.state(step.proof) === 'unknown';
    if (!isByHand) return false;
    this.#done(running, t_us, 'operator');
    this.#stepOne(running, t_us);
    return true;
  }

  close(advisoryId: string, t_us: number): boolean {
    const running = this.#running.find((each) => each.id === advisoryId && each.closedAt_us === null);
    if (running === undefined) return false;
    this.#end(running, t_us, 'closed');
    return true;
  }

  /** An open advisory of this cause is no longer wanted. */
  withdraw(cause: AdvisoryCause, t_us: number): void {
    const running = this.#running.find((each) => each.plan.cause === cause && each.closedAt_us === null);
    if (running !== undefined) this.#end(running, t_us, 'withdrawn');
  }

  isOpen(cause: AdvisoryCause): boolean {
    return this.#openCount > 0 && this.#running.some((each) => each.plan.cause === cause && each.closedAt_us === null);
  }
  get isAbortOpen(): boolean {
    return (
      this.#openCount > 0 && this.#running.some((each) => each.closedAt_us === null && each.plan.kind !== 'cool-down')
    );
  }
  /** Title of the leading abort advisory that has steps left to do; null without one. */
  get runningAbort(): string | null {
    if (this.#openCount === 0) return null;
    const isRunning = (each: Running): boolean =>
      each.closedAt_us === null && each.completedAt_us === null && each.plan.kind !== 'cool-down';
    return this.#running.find(isRunning)?.plan.title ?? null;
  }
  /** The most insistent of the open abort advisories. */
  get escalation(): Escalation {
    let most: Escalation = 0;
    if (this.#openCount === 0) return most;
    for (const { plan, closedAt_us, escalation } of this.#running) {
      if (closedAt_us === null && plan.kind !== 'cool-down' && escalation > most) most = escalation;
    }
    return most;
  }

  /** @throws FoldMisfit where there is no plan for the cause of one */
  remember(memory: FoldMemory): void {
    memory.part('advisories');
    const running = memory.data(this.#running.map(({ plan, ...each }) => ({ cause: plan.cause, ...each })));
    this.#running = running.map(({ cause, ...each }) => {
      const plan = this.#plans.find((known) => known.cause === cause);
      if (plan === undefined) throw new FoldMisfit(`no plan for ${cause}`);
      return { ...each, plan };
    });
    this.#openCount = memory.number(this.#openCount);
    this.#now_us = memory.number(this.#now_us);
  }

  #end(running: Running, t_us: number, change: 'closed' | 'withdrawn'): void {
    running.closedAt_us = t_us;
    running.escalation = 0;
    this.#openCount--;
    this.#running.sort(inOrder);
    this.#say(running, t_us, change, null, null);
  }

  /** Open ones first, the gravest leading; then those that are closed, as they came. */
  get advisories(): readonly Advisory[] {
    return this.#running.map((each) => this.#view(each));
  }

  #stepOne(running: Running, t_us: number): void {
    // Several steps may be proved already: each pass turns one.
    for (;;) {
      const step = running.plan.steps[running.current];
      if (step === undefined) return;
      if (!this.#isProved(running, step, t_us)) break;
      this.#done(running, t_us, 'channel');
    }
    const step = running.plan.steps[running.current];
    const record = running.steps[running.current];
    if (step === undefined || record === undefined || record.startedAt_us === null) return;
    const taken_us = t_us - record.startedAt_us;
    if (!record.isOverdue && taken_us > step.allowed_s * 1e6) {
      record.isOverdue = true;
      this.#say(running, t_us, 'step-overdue', step.id, null);
      this.#escalate(running, running.steps.filter((each) => each.isOverdue).length > 1 ? 2 : 1, t_us, step.id);
    }
    if (record.isOverdue && taken_us > 2 * step.allowed_s * 1e6) this.#escalate(running, 2, t_us, step.id);
  }

  #escalate(running: Running, to: 1 | 2, t_us: number, stepId: string): void {
    if (running.escalation >= to) return;
    running.escalation = to;
    const { id, plan } = running;
    this.#onOutput(t_us, {
      ...{ kind: 'advisory', id, cause: plan.cause, change: 'escalated', stepId, doneBy: null },
      escalation: to,
    });
  }

  #isProved(running: Running, step: AdvisoryStep, t_us: number): boolean {
    const { proof } = step;
    if (proof.kind === 'operator' || this.#proofs.state(proof, waited_s(running, t_us)) !== 'proved') {
      running.provedSince_us = NaN;
      return false;
    }
    if (proof.kind === 'input') return true;
    if (Number.isNaN(running.provedSince_us)) running.provedSince_us = t_us;
    return t_us - running.provedSince_us >= proof.hold_ms * 1000;
  }

  #done(running: Running, t_us: number, by: 'channel' | 'operator'): void {
    const step = running.plan.steps[running.current]!;
    const record = running.steps[running.current]!;
    record.doneAt_us = t_us;
    record.doneBy = by;
    running.escalation = 0;
    this.#say(running, t_us, 'step-done', step.id, by);
    this.#next(running, t_us);
  }

  #next(running: Running, t_us: number): void {
    running.current++;
    running.provedSince_us = NaN;
    const record = running.steps[running.current];
    if (record !== undefined) {
      record.startedAt_us = t_us;
    } else {
      running.completedAt_us = t_us;
      this.#say(running, t_us, 'completed', null, null);
    }
  }

  #say(
    running: Running,
    t_us: number,
    change: AdvisoryOutput['change'],
    stepId: string | null,
    doneBy: 'channel' | 'operator' | null,
  ): void {
    this.#onOutput(t_us, { kind: 'advisory', id: running.id, cause: running.plan.cause, change, stepId, doneBy });
  }

  #view(running: Running): Advisory {
    const { plan } = running;
    const isOpen = running.closedAt_us === null;
    return {
      id: running.id,
      cause: plan.cause,
      kind: plan.kind ?? 'abort',
      escalation: running.escalation,
      title: plan.title,
      imperative: plan.imperative,
      rank: plan.rank,
      causeText: running.causeText,
      alarmId: running.alarmId,
      openedAt_us: running.openedAt_us,
      completedAt_us: running.completedAt_us,
      closedAt_us: running.closedAt_us,
      steps: plan.steps.map((step, i): AdvisoryStepView => {
        const record = running.steps[i]!;
        const isCurrent = i === running.current && isOpen;
        const state: StepState =
          record.doneBy === 'channel'
            ? 'done-by-channel'
            : record.doneBy === 'operator'
              ? 'done-by-operator'
              : isCurrent
                ? 'current'
                : 'waiting';
        return {
          step,
          state,
          startedAt_us: record.startedAt_us,
          doneAt_us: record.doneAt_us,
          isOverdue: record.isOverdue,
          proofText: isOpen ? this.#proofs.text(step.proof, waited_s(running, this.#now_us)) : '',
          ...(step.proof.kind === 'cooled'
            ? { waitLeft_s: isCurrent ? this.#proofs.waitLeft_s(step.proof, waited_s(running, this.#now_us)) : null }
            : {}),
        };
      }),
    };
  }
}

/** Since the current step became so, s. */
function waited_s(running: Running, t_us: number): number {
  const startedAt_us = running.steps[running.current]?.startedAt_us ?? t_us;
  return (t_us - startedAt_us) / 1e6;
}

function inOrder(a: Running, b: Running): number {
  const isClosed = Number(a.closedAt_us !== null) - Number(b.closedAt_us !== null);
  if (isClosed !== 0) return isClosed;
  const isCoolDown = Number(a.plan.kind === 'cool-down') - Number(b.plan.kind === 'cool-down');
  if (a.closedAt_us === null && isCoolDown !== 0) return isCoolDown;
  if (a.closedAt_us === null) return a.plan.rank - b.plan.rank || a.openedAt_us - b.openedAt_us;
  return a.openedAt_us - b.openedAt_us;
}
