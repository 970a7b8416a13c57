/**
 * The cool-down after high power: a calm strip, no alarm and no red. What to
 * do now, how the hottest head falls and when the cut is safe, and behind it
 * the shut-down order. Its words are in `cool-down-words.ts`.
 */
import type { Advisory } from '../../shared-core/advisory/plans.ts';
import { act, command } from '../app/bridge-client.ts';
import { useReading, useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { actCommand, actWords } from './advisory-acts.ts';
import { coolDownWords, cooledStep } from './cool-down-words.ts';

const none: readonly Advisory[] = [];

export function CoolDownStrip() {
  const advisory = useStream('live', (s) =>
    (s.snapshot?.advisories ?? none).find((each) => each.closedAt_us === null && each.kind === 'cool-down'),
  );
  return advisory === undefined ? null : <Strip advisory={advisory} />;
}

function Strip({ advisory }: { readonly advisory: Advisory }) {
  const now_us = useStream('live', (s) => s.snapshot?.now_us ?? 0);
  const current = advisory.steps.find((each) => each.state === 'current');
  const offered = current?.step.act;
  return (
    <section
      className="cool-down"
      aria-label="Cool-down"
      data-testid="cool-down"
      data-step={current?.step.id ?? 'done'}
    >
      <div className="cool-down-now">
        <p className="cool-down-title">
          {advisory.title} <span className="muted">{formatClock((now_us - advisory.openedAt_us) / 1e6)}</span>
        </p>
        <p className="cool-down-imperative" role="status" data-testid="cool-down-imperative">
          {current?.step.imperative ?? 'Cooled down and shut down in order'}
        </p>
        <Proof advisory={advisory} fallback={current?.proofText ?? ''} />
      </div>
      <ol className="cool-down-steps" aria-label="Shut-down order">
        {advisory.steps.map((each, i) => (
          <li key={each.step.id} data-state={each.state} aria-current={each.state === 'current' ? 'step' : undefined}>
            <span aria-hidden="true">{each.state.startsWith('done') ? '✓' : i + 1}</span> {each.step.imperative}
          </li>
        ))}
      </ol>
      <div className="cool-down-acts">
        {offered !== undefined && (
          <Button onClick={() => command(actCommand(offered))} data-testid="cool-down-act">
            {actWords[offered]}
          </Button>
        )}
        {current?.step.proof.kind === 'operator' && (
          <Button
            tone="solid"
            onClick={() => act({ kind: 'advisory-step', advisoryId: advisory.id, stepId: current.step.id })}
            data-testid="cool-down-confirm"
          >
            Done
          </Button>
        )}
        <Button
          small={current !== undefined}
          tone={current === undefined ? 'plain' : 'quiet'}
          onClick={() => act({ kind: 'advisory-close', advisoryId: advisory.id })}
          data-testid="cool-down-close"
        >
          {current === undefined ? 'Close' : 'Close before it is done'}
        </Button>
      </div>
    </section>
  );
}

/** Until the head is cool, how it falls; after that, what proves the step. */
function Proof({ advisory, fallback }: { readonly advisory: Advisory; readonly fallback: string }) {
  const cooled = cooledStep(advisory);
  const proof = cooled?.step.proof;
  const rate = useStream('live', (s) => s.layout?.channels.find((each) => each.quantity === 'temperature-rate')?.key);
  const headReading = useReading('live', proof?.kind === 'cooled' ? proof.channel : '');
  const rateReading = useReading('live', rate ?? '');
  // The step behind it is the cut: that it is safe stays in sight.
  const isBefore =
    cooled !== null &&
    advisory.steps.findIndex((each) => each.state === 'current') <= advisory.steps.indexOf(cooled) + 1;
  return (
    <p className="muted" data-testid="cool-down-proof">
      {cooled === null || !isBefore || advisory.completedAt_us !== null
        ? fallback.charAt(0).toUpperCase() + fallback.slice(1)
        : coolDownWords(
            cooled,
            headReading.state === 'good' ? headReading.value : null,
            rateReading.state === 'good' ? rateReading.value : null,
          )}
    </p>
  );
}
