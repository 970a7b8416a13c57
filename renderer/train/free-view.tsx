/** Scenarios run freely, with faults put in by whoever sits here. */
import { useStream } from '../app/stream-store.ts';
import { Empty } from '../ui/empty.tsx';
import { Progress } from '../ui/progress.tsx';
import { FaultPanel } from './fault-panel.tsx';
import { ScenarioForm } from './scenario-form.tsx';
import { StandState } from './stand-state.tsx';
import { useCatalogue } from './use-catalogue.ts';

const none: readonly string[] = [];

export function FreeView() {
  const catalogue = useCatalogue();
  const active = useStream('live', (s) => s.snapshot?.simulator?.activeFaults ?? none);
  const isBlind = useStream(
    'live',
    (s) => s.snapshot?.training?.mode === 'assessment' && s.snapshot.training.ended === null,
  );
  return (
    <div className="train">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a column that scrolls must be reachable by keyboard. */}
      <section className="train-left" aria-label="Choice of scenario" tabIndex={0}>
        {catalogue === null ? (
          <Progress label="Reading the scenarios" value={null} />
        ) : (
          <ScenarioForm scenarios={catalogue.scenarios} />
        )}
      </section>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: as above. */}
      <section className="train-right" aria-label="Stand and faults" tabIndex={0}>
        <StandState />
        {isBlind ? (
          <Empty title="An assessment is under way" data-testid="faults-hidden">
            The faults are in the instructor's hands until it is over.
          </Empty>
        ) : (
          catalogue && <FaultPanel faults={catalogue.faults} active={active} />
        )}
      </section>
    </div>
  );
}
