/**
 * The instructor's panel, in the same window or one of its own: pause, speed,
 * checkpoints and going back to them, hands at the stand, faults with their
 * severity. What is in shows here also in an assessment.
 */
import { useState } from 'react';
import type { CheckpointInfo } from '../../shared-core/bridge/contract.ts';
import { ask } from '../app/bridge-client.ts';
import { addressOf } from '../app/places.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatClock } from '../ui/format.ts';
import { Facts, Section } from '../ui/section.tsx';
import { Segments } from '../ui/segments.tsx';
import { FaultPanel } from './fault-panel.tsx';
import { PanelGuard } from './panel-guard.tsx';
import { simulatorSpeeds } from './speeds.ts';
import { endedWords, handTitle, modeTitles } from './training-words.ts';
import { useCatalogue } from './use-catalogue.ts';
import { useInstructor } from './use-instructor.ts';

export function InstructorView() {
  const catalogue = useCatalogue();
  const { view, isShut, look } = useInstructor();
  const isRunning = useStream('live', (s) => s.snapshot?.simulator != null);
  if (isShut) return <PanelGuard onOpened={look} />;
  return (
    <div className="train">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a column that scrolls must be reachable by keyboard. */}
      <section className="train-left" aria-label="Simulation" tabIndex={0}>
        {isRunning ? (
          <>
            <OwnTab />
            <LessonState />
            <Clock />
            <Checkpoints checkpoints={view.checkpoints} onChange={look} />
            <Hands />
          </>
        ) : (
          <Empty title="The simulator is not running" data-testid="simulator-off">
            Start a lesson or a scenario. This panel can be open in a window or tab of its own, beside that of the
            trainee.
          </Empty>
        )}
      </section>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: as above. */}
      <section className="train-right" aria-label="Faults to put in" tabIndex={0}>
        {catalogue && (
          <FaultPanel
            faults={catalogue.faults}
            active={view.faults.map((each) => each.id)}
            levels={view.faults}
            onChange={look}
            withOptions
          />
        )}
      </section>
    </div>
  );
}

/** In the browser a tab of its own takes the key over from this one. The desktop has one window. */
function OwnTab() {
  if (window.runstand !== undefined) return null;
  return (
    <p className="own-window">
      {/* A link would have to be cut off from this tab, and would come without the key that this one holds. */}
      <Button small onClick={() => window.open(addressOf('train', 'instructor'))} data-testid="own-tab">
        Open this panel in a tab of its own
      </Button>{' '}
      for a screen that the trainee does not see.
    </p>
  );
}

function LessonState() {
  const training = useStream('live', (s) => s.snapshot?.training ?? null);
  if (training === null) return null;
  const { step, ended } = training;
  return (
    <Section title="Lesson" data-testid="instructor-lesson">
      <Facts
        facts={[
          { term: 'Lesson', value: training.title },
          { term: 'Mode', value: modeTitles[training.mode] },
          { term: 'Trainee', value: training.trainee },
          { term: 'Under way for', value: formatClock(training.elapsed_s) },
          {
            term: 'Now',
            value:
              ended !== null
                ? endedWords[ended.why]
                : step === null
                  ? 'no steps are said'
                  : `${step.number} of ${step.of}: ${training.says}`,
            testId: 'instructor-step',
          },
        ]}
      />
    </Section>
  );
}

function Clock() {
  const simulator = useStream('live', (s) => s.snapshot?.simulator ?? null);
  if (simulator === null) return null;
  return (
    <Section title="Simulated time" aside={<b data-testid="sim-time">{formatClock(simulator.time_s)}</b>}>
      <div className="speed-row">
        <Button
          aria-pressed={simulator.isPaused}
          onClick={() => void ask(simulator.isPaused ? 'sim.resume' : 'sim.pause', {})}
          data-testid="sim-pause"
        >
          {simulator.isPaused ? 'Paused: go on' : 'Pause'}
        </Button>
        <Segments
          label="Speed of the simulation"
          options={simulatorSpeeds}
          value={simulator.speed}
          onChoose={(speed) => void ask('sim.speed', { speed })}
          testId="sim-speed"
        />
      </div>
    </Section>
  );
}

function Checkpoints({
  checkpoints,
  onChange,
}: {
  readonly checkpoints: readonly CheckpointInfo[];
  readonly onChange: () => void;
}) {
  const [name, setName] = useState('');
  // In the row itself: a dialog would step aside for an abort, and that is when one goes back.
  const [asked, setAsked] = useState<string | null>(null);
  const [isBusy, setBusy] = useState(false);
  const rewind = async (checkpoint: string): Promise<void> => {
    setAsked(null);
    setBusy(true);
    await ask('sim.rewind', { checkpoint });
    setBusy(false);
    onChange();
  };
  return (
    <Section
      title="Checkpoints"
      lead="Made by themselves at the begin of a lesson and before each of its faults. Going back begins a new session, paused; the old one is kept, and the lesson counts as rewound."
    >
      <form
        className="checkpoint-form"
        onSubmit={(e) => {
          e.preventDefault();
          void ask('sim.checkpoint', name.trim() === '' ? {} : { name: name.trim() }).then(() => {
            setName('');
            onChange();
          });
        }}
      >
        <label className="sr-only" htmlFor="checkpoint-name">
          Name of the checkpoint
        </label>
        <input
          id="checkpoint-name"
          className="input"
          placeholder="Name, as “warm, before full throttle”"
          maxLength={60}
          value={name}
          onChange={(e) => setName(e.target.value)}
          data-testid="checkpoint-name"
        />
        <Button type="submit" data-testid="checkpoint">
          Checkpoint
        </Button>
      </form>
      <ol className="checkpoints" data-testid="checkpoints">
        {checkpoints.map((each) => (
          <li key={each.id}>
            <span className="checkpoint-time">{formatClock(each.time_s)}</span>
            <span>{each.name}</span>
            {asked === each.id ? (
              <span className="checkpoint-acts">
                <Button small tone="solid" onClick={() => void rewind(each.id)} autoFocus data-testid="rewind-confirm">
                  Go back now
                </Button>
                <Button small onClick={() => setAsked(null)}>
                  Leave it
                </Button>
              </span>
            ) : (
              <Button
                small
                disabled={isBusy}
                onClick={() => setAsked(each.id)}
                aria-label={`Go back to ${each.name}`}
                data-testid={`rewind-${each.id}`}
              >
                {isBusy ? 'Going back…' : 'Go back…'}
              </Button>
            )}
          </li>
        ))}
      </ol>
    </Section>
  );
}

const hands = [
  { kind: 'prime' },
  { kind: 'refuel' },
  { kind: 'stop-circuit', closed: false },
  { kind: 'stop-circuit', closed: true },
  { kind: 'cage', closed: false },
  { kind: 'cage', closed: true },
] as const;

function Hands() {
  return (
    <Section title="Hands at the simulated stand">
      <div className="hands-row">
        {hands.map((action) => (
          <Button
            key={handTitle(action)}
            small
            onClick={() => void ask('sim.act', { by: signedOn(), action })}
            data-testid={`stand-${action.kind}${'closed' in action ? `-${action.closed ? 'close' : 'open'}` : ''}`}
          >
            {handTitle(action)}
          </Button>
        ))}
      </div>
    </Section>
  );
}
