/**
 * The abort band: opens under the top line in every place when an abort rule
 * has tripped, and pushes the rest down. Left the first-out cause, what to do
 * now, the clock since the trip and the vital values; right the ordered steps,
 * each with its proof. It ends only by the operator's act. Which advisory
 * leads is decided in `advisory-sight.ts`.
 */
import { useEffect, useRef, useState } from 'react';
import type { Advisory, AdvisoryStepView } from '../../shared-core/advisory/plans.ts';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { act, command } from '../app/bridge-client.ts';
import { isTyping, useKeys } from '../app/keys.ts';
import { firstOf, hottestHead, sessionNow_us, streamStore, useStream } from '../app/stream-store.ts';
import { ProvenanceFrame } from '../app/top-line.tsx';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { Value } from '../ui/value.tsx';
import { type AdvisoryAct, actCommand, actWords } from './advisory-acts.ts';
import {
  currentSteps,
  imperativeOf,
  insistence,
  overdueBy_s,
  stepToConfirm,
  useOpenAdvisories,
} from './advisory-sight.ts';

/** A key held or hit twice must not confirm the step that follows. */
const SETTLE_MS = 400;

export function AbortBand({ stream }: { readonly stream: StreamName }) {
  const open = useOpenAdvisories(stream);
  const lead = open[0];
  if (!lead) return null;
  return <Band key={stream} stream={stream} lead={lead} others={open.slice(1)} />;
}

function Band({
  stream,
  lead,
  others,
}: {
  readonly stream: StreamName;
  readonly lead: Advisory;
  readonly others: readonly Advisory[];
}) {
  useStream(stream, (s) => s.beat);
  const now_us = sessionNow_us(streamStore(stream).getState(), stream, performance.now());
  const hottest = hottestHead(streamStore(stream).getState());
  const speed = firstOf(streamStore(stream).getState(), 'shaft-speed') ?? 'rpm';
  const thrust = firstOf(streamStore(stream).getState(), 'thrust') ?? 'thrust';
  const canAct = stream === 'live';
  const isDone = lead.completedAt_us !== null;
  const escalation = isDone ? 0 : lead.escalation;
  const toConfirm = stepToConfirm(lead);
  const lastChange_ms = useRef(performance.now());
  const band = useRef<HTMLElement>(null);
  const stepKey = `${lead.id}/${currentSteps(lead)
    .map((s) => s.step.id)
    .join()}/${isDone}`;

  useEffect(() => {
    // Named here so that the effect runs for each new step, and only then.
    void stepKey;
    lastChange_ms.current = performance.now();
    const focused = document.activeElement;
    // Whoever is writing keeps writing; all others get the button under their hand.
    if (canAct && !isTyping(focused)) band.current?.querySelector<HTMLElement>('[data-main]')?.focus();
  }, [stepKey, canAct]);

  const isSettled = (): boolean => performance.now() - lastChange_ms.current >= SETTLE_MS;
  const confirm = (): void => {
    if (toConfirm && isSettled()) act({ kind: 'advisory-step', advisoryId: lead.id, stepId: toConfirm.step.id });
  };
  const close = (): void => {
    if (isDone && isSettled()) act({ kind: 'advisory-close', advisoryId: lead.id });
  };
  useKeys({ c: confirm, x: close }, canAct);

  const elapsed_s = ((lead.completedAt_us ?? now_us) - lead.openedAt_us) / 1e6;
  return (
    <section
      ref={band}
      className="abort-band"
      aria-label={`Abort advisory: ${lead.title}`}
      data-testid="abort-band"
      data-cause={lead.cause}
      data-done={isDone}
      data-escalation={escalation}
    >
      <div className="band-left">
        <p className="band-cause" data-testid="band-cause">
          <span className="band-square" aria-hidden="true">
            A
          </span>
          <b>Abort · {lead.title}</b>
          <ProvenanceFrame stream={stream} />
          <span>{lead.causeText}</span>
        </p>
        <p className="band-imperative" role="alert" data-testid="band-imperative">
          {imperativeOf(lead)}
        </p>
        {escalation > 0 && (
          <p className="band-insists" role="alert" data-testid="band-insists">
            {insistence(lead, escalation)}
          </p>
        )}
        <div className="band-vitals">
          <div className="band-clock">
            <span>{isDone ? 'Trip to done' : 'Since the trip'}</span>
            <b role="timer" data-testid="band-clock">
              {formatClock(elapsed_s)}
            </b>
          </div>
          <Value stream={stream} channel={speed} size="medium" withTrend={false} withScale={false} />
          {hottest && <Value stream={stream} channel={hottest} size="medium" withTrend={false} withScale={false} />}
          <Value stream={stream} channel={thrust} size="medium" withTrend={false} withScale={false} />
        </div>
        <p className="band-not">Not the emergency stop: use the stand's stop circuit.</p>
      </div>
      <div className="band-right">
        <ol className="band-steps">
          {lead.steps.map((view, i) => (
            <Step
              key={view.step.id}
              number={i + 1}
              view={view}
              now_us={now_us}
              canAct={canAct}
              isSettled={isSettled}
              onConfirm={view === toConfirm ? confirm : null}
            />
          ))}
        </ol>
        {isDone && canAct && (
          <Button data-main className="band-close" onClick={close} data-testid="band-close">
            Close this advisory <kbd>X</kbd>
          </Button>
        )}
        {others.length > 0 && (
          <ul className="band-others" aria-label="Other advisories that wait">
            {others.map((a) => (
              <li key={a.id} data-testid="band-other" data-escalation={a.escalation}>
                <b>
                  Waiting: {a.title}
                  {a.escalation > 0 ? ', overdue' : ''}.
                </b>{' '}
                {imperativeOf(a)}. {a.steps.filter((s) => s.state.startsWith('done')).length} of {a.steps.length} steps
                done, {formatClock((now_us - a.openedAt_us) / 1e6)} since its trip.
              </li>
            ))}
          </ul>
        )}
      </div>
    </section>
  );
}

interface StepProps {
  readonly number: number;
  readonly view: AdvisoryStepView;
  readonly now_us: number;
  readonly canAct: boolean;
  readonly isSettled: () => boolean;
  readonly onConfirm: (() => void) | null;
}

function Step({ number, view, now_us, canAct, isSettled, onConfirm }: StepProps) {
  const { step, state } = view;
  const isDone = state === 'done-by-channel' || state === 'done-by-operator';
  const overdue_s = view.isOverdue ? overdueBy_s(view, now_us) : 0;
  const left_s = view.startedAt_us === null ? step.allowed_s : step.allowed_s - (now_us - view.startedAt_us) / 1e6;
  const offered: AdvisoryAct | null = canAct && state === 'current' && step.act ? step.act : null;
  return (
    <li
      className="band-step"
      data-testid={`step-${step.id}`}
      data-state={state}
      data-overdue={view.isOverdue && !isDone}
      aria-current={state === 'current' ? 'step' : undefined}
    >
      <span className="step-number" aria-hidden="true">
        {isDone ? '✓' : number}
      </span>
      <div className="step-text">
        <b title={step.why}>{step.imperative}</b>
        <span className="step-proof" data-testid={`proof-${step.id}`}>
          {proofLine(view)}
        </span>
      </div>
      {state === 'current' && (
        <span className="step-time" data-testid={`time-${step.id}`}>
          {view.isOverdue ? `overdue ${formatClock(overdue_s)}` : `${Math.max(0, Math.ceil(left_s))}\u2009s left`}
        </span>
      )}
      {offered && <ActButton act={offered} stepId={step.id} isSettled={isSettled} />}
      {onConfirm && canAct && (
        <Button data-main className="step-confirm" onClick={onConfirm} data-testid="confirm-step">
          Done <kbd>C</kbd>
        </Button>
      )}
    </li>
  );
}

function ActButton({
  act: offered,
  stepId,
  isSettled,
}: {
  readonly act: AdvisoryAct;
  readonly stepId: string;
  readonly isSettled: () => boolean;
}) {
  const [isSent, setSent] = useState(false);
  return (
    <Button
      className="step-act"
      data-main
      data-testid={`act-${stepId}`}
      onClick={() => {
        if (!isSettled()) return;
        setSent(true);
        command(actCommand(offered));
      }}
    >
      {isSent ? `Again: ${actWords[offered]}` : actWords[offered]}
    </Button>
  );
}

function proofLine(view: AdvisoryStepView): string {
  const proof = view.proofText.charAt(0).toUpperCase() + view.proofText.slice(1);
  switch (view.state) {
    case 'done-by-channel':
      return proof === '' ? 'Shown by the bench' : `Shown by the bench · ${proof}`;
    case 'done-by-operator':
      return 'Confirmed by the operator';
    case 'current':
      return view.step.proof.kind === 'operator' ? 'Nothing on the bench can show this: do it, then confirm' : proof;
    case 'waiting':
      return view.step.proof.kind === 'operator' ? 'You confirm' : proof;
  }
}
