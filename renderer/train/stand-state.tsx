/** The simulated stand as it is: scenario, its time, its speed, and who works it. */
import type { SimulatorView } from '../../shared-core/bridge/contract.ts';
import { ask } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatClock } from '../ui/format.ts';
import { Facts, Section } from '../ui/section.tsx';
import { Segments } from '../ui/segments.tsx';
import { handWords } from './hand-words.ts';
import { simulatorSpeeds } from './speeds.ts';

export function StandState() {
  const simulator = useStream('live', (s) => s.snapshot?.simulator ?? null);
  if (simulator === null) {
    return (
      <Empty title="The simulator is not running" data-testid="simulator-off">
        Choose a scenario at the left and start it. A bench that is connected is left then, after a question.
      </Empty>
    );
  }
  return <Running simulator={simulator} />;
}

function Running({ simulator }: { readonly simulator: SimulatorView }) {
  const isLive = useStream('live', (s) => s.snapshot?.outputs.live ?? false);
  const isBlind = useStream(
    'live',
    (s) => s.snapshot?.training?.mode === 'assessment' && s.snapshot.training.ended === null,
  );
  return (
    <Section
      title="Simulated stand"
      aside={
        <Button small onClick={() => void ask('source.use', { kind: 'none' })} data-testid="stop-simulator">
          End the simulation
        </Button>
      }
      data-testid="simulator-on"
    >
      <Facts
        facts={[
          { term: 'Scenario', value: simulator.title, testId: 'sim-title' },
          { term: 'Simulated time', value: formatClock(simulator.time_s), testId: 'sim-time' },
          { term: 'Seed', value: simulator.seed },
          { term: 'Worked by', value: handWords(simulator.handsOn, isLive), testId: 'sim-hand' },
        ]}
      />
      {!isBlind && <Speed speed={simulator.speed} />}
    </Section>
  );
}

function Speed({ speed }: { readonly speed: number }) {
  return (
    <div className="speed-row">
      <span className="muted">Speed</span>
      <Segments
        label="Speed of the simulation"
        options={simulatorSpeeds}
        value={speed}
        onChoose={(speed) => void ask('sim.speed', { speed })}
        testId="sim-speed"
      />
      <span className="muted">Above 1× there is less time to act than at a real stand.</span>
    </div>
  );
}
