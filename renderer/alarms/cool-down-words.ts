/** The one line of the cool-down strip: head, its fall, and when the cut is safe. Pure. */
import type { Advisory, AdvisoryStepView } from '../../shared-core/advisory/plans.ts';
import { formatQuantity, THIN } from '../ui/format.ts';

/** Value of a reading that may be believed; null otherwise. */
export type Believed = number | null;

/** The step that waits for the head, wherever the plan has it. */
export function cooledStep(advisory: Advisory): AdvisoryStepView | null {
  return advisory.steps.find((view) => view.step.proof.kind === 'cooled') ?? null;
}

/** @param head_degC hottest head @param rate_perS of its change, negative while it falls */
export function coolDownWords(view: AdvisoryStepView, head_degC: Believed, rate_perS: Believed): string {
  const fall =
    rate_perS === null
      ? ''
      : rate_perS < -0.005
        ? `, falling ${formatQuantity(-rate_perS, 1, 'K/s')}`
        : rate_perS > 0.05
          ? ', still rising'
          : ', hardly falling';
  const head =
    head_degC === null ? 'Hottest head not known' : `Hottest head ${formatQuantity(head_degC, 0, '°C')}${fall}`;
  return `${head}; ${safeWords(view)}`;
}

function safeWords({ state, waitLeft_s }: AdvisoryStepView): string {
  if (state === 'done-by-channel' || state === 'done-by-operator') return 'the cut is safe.';
  if (state === 'waiting') return 'first hold idle.';
  if (waitLeft_s === undefined || waitLeft_s === null) return 'wait: it is not falling yet.';
  return waitLeft_s <= 0 ? 'the cut is about to be safe.' : `the cut is safe in about ${roundWait(waitLeft_s)}.`;
}

/** A straight line into the future is a guess: rounded up, so that it does not flicker and never promises too much. */
export function roundWait(left_s: number): string {
  const step = left_s <= 20 ? 5 : left_s <= 120 ? 10 : 30;
  const rounded = Math.ceil(left_s / step) * step;
  return rounded < 120
    ? `${rounded}${THIN}s`
    : `${Math.floor(rounded / 60)}:${String(rounded % 60).padStart(2, '0')}${THIN}min`;
}
