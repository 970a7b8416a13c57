/**
 * The cool-down after high power: a calm strip, no alarm and no red. What to
 * do now, how long still, and the shut-down order behind it.
 */
import type { Advisory } from '../../shared-core/advisory/plans.ts';
import { act, command } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { actCommand, actWords } from './advisory-acts.ts';

const none: readonly Advisory[] = [];

export function CoolDownStrip() {
  const advisory = useStream('live', (s) =>
    (s.snapshot?.advisories ?? none).find((each) => each.closedAt_us === null && each.kind === 'cool-down'),
  );
  const now_us = useStream('live', (s) => s.snapshot?.now_us ?? 0);
  if (advisory === undefined) return null;
  const current = advisory.steps.find((each) => each.state === 'current');
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
        <p className="cool-down-imperative" role="status">
          {current?.step.imperative ?? 'Cooled down and shut down in order'}
        </p>
        <p className="muted">{current?.proofText}</p>
      </div>
      <ol className="cool-down-steps">
        {advisory.steps.map((each) => (
          <li key={each.step.id} data-state={each.state}>
            {each.state.startsWith('done') ? '✓ ' : ''}
            {each.step.imperative}
          </li>
        ))}
      </ol>
      <div className="cool-down-acts">
        {current?.step.act !== undefined && (
          <Button onClick={() => command(actCommand(current.step.act!))} data-testid="cool-down-act">
            {actWords[current.step.act]}
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
          onClick={() => act({ kind: 'advisory-close', advisoryId: advisory.id })}
          data-testid="cool-down-close"
        >
          {current === undefined ? 'Close' : 'Close before it is done'}
        </Button>
      </div>
    </section>
  );
}
