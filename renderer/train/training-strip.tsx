/**
 * A lesson under way: what to do now in one line, how far it is, what can be
 * asked of the person at the stand. Calm on purpose: an alarm looks otherwise.
 * Mounted by the shell under the top line, in every place.
 */
import { useEffect } from 'react';
import type { StandHandAct } from '../../shared-core/training/training-event.ts';
import type { TrainingView } from '../../shared-core/training/training-view.ts';
import { ask } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { Group } from '../ui/group.tsx';
import { Segments } from '../ui/segments.tsx';
import { showControl, useMarkedControl } from './marked-control.ts';
import { simulatorSpeeds } from './speeds.ts';
import './training-strip.css';
import { handTitle, unbroken } from './training-words.ts';

export function TrainingStrip() {
  const training = useStream('live', (s) => s.snapshot?.training ?? null);
  useMarkedControl(training?.ended === null ? training.control : null);
  // The strip takes height from the place: those who measure themselves look again.
  const isShown = training !== null;
  useEffect(() => {
    if (isShown) window.dispatchEvent(new Event('resize'));
  }, [isShown]);
  if (training === null) return null;
  return training.ended === null ? (
    <UnderWay training={training} />
  ) : (
    <Over training={training} ended={training.ended} />
  );
}

function UnderWay({ training }: { readonly training: TrainingView }) {
  const { step, hint, mode, control } = training;
  return (
    <section
      className="training"
      aria-label="Lesson under way"
      data-testid="training-strip"
      data-step={step?.id ?? ''}
      data-mode={mode}
      data-control={control ?? ''}
    >
      <Head training={training} />
      <div className="training-now">
        <p className="training-says" role="status" data-testid="training-says">
          {unbroken(training.says)}
        </p>
        {(hint !== null || training.why !== '') && (
          <p className="training-why">
            {hint === null ? (
              unbroken(training.why)
            ) : (
              <span data-testid="training-hint">
                <b>Hint:</b> {unbroken(hint)}
              </span>
            )}
          </p>
        )}
        {mode === 'practice' && <Goals goals={training.goals} />}
      </div>
      <div className="training-acts">
        {control !== null && (
          <Button onClick={() => showControl(control)} data-testid="training-show" aria-label="Show me the control">
            Show me
          </Button>
        )}
        <Hands hands={training.hands} />
        {mode !== 'assessment' && <Speed />}
        <Button
          onClick={() => void ask('train.stop', { by: signedOn() })}
          data-testid="training-stop"
          aria-label="End the lesson"
        >
          End
        </Button>
      </div>
      {step !== null && (
        <progress
          className="training-progress"
          max={step.of}
          value={step.number - 1}
          aria-label={`Step ${step.number} of ${step.of}`}
        />
      )}
    </section>
  );
}

function Head({ training }: { readonly training: TrainingView }) {
  const { step, mode, isRewound, elapsed_s } = training;
  return (
    <div className="training-head">
      <p className="training-title">{training.title}</p>
      <p className="muted">
        <span className="frame-small" data-provenance="SIMULATED">
          SIMULATED
        </span>{' '}
        {mode === 'practice' ? 'practice · ' : ''}
        {step === null ? '' : <span data-testid="training-progress">{`step ${step.number} of ${step.of} · `}</span>}
        <span className="training-clock">{formatClock(elapsed_s)}</span>
        {isRewound && ' · rewound'}
      </p>
    </div>
  );
}

function Goals({ goals }: { readonly goals: TrainingView['goals'] }) {
  return (
    <ul className="training-goals" aria-label="Goals of the lesson" data-testid="training-goals">
      {goals.map((each) => (
        <li key={each.words} data-reached={each.isReached}>
          <span aria-hidden="true">{each.isReached ? '✓' : '○'}</span> {unbroken(each.words)}
          {each.isReached && <span className="sr-only">, reached</span>}
        </li>
      ))}
    </ul>
  );
}

function Hands({ hands }: { readonly hands: readonly StandHandAct[] }) {
  if (hands.length === 0) return null;
  return (
    <Group className="training-hands" label="Ask the person at the simulated stand">
      {hands.map((action) => (
        <Button
          key={action.kind}
          onClick={() => void ask('sim.act', { by: signedOn(), action })}
          data-testid={`hand-${action.kind}`}
        >
          {handTitle(action)}
        </Button>
      ))}
    </Group>
  );
}

function Speed() {
  const speed = useStream('live', (s) => s.snapshot?.simulator?.speed ?? null);
  return (
    <Segments
      label="Speed of the simulation"
      options={simulatorSpeeds}
      value={speed}
      onChoose={(next) => void ask('sim.speed', { speed: next })}
      testId="training-speed"
    />
  );
}

function Over({
  training,
  ended,
}: {
  readonly training: TrainingView;
  readonly ended: NonNullable<TrainingView['ended']>;
}) {
  return (
    <section
      className="training"
      aria-label="Lesson over"
      data-testid="training-strip"
      data-step="over"
      data-mode={training.mode}
    >
      <Head training={training} />
      <div className="training-now">
        <p className="training-says" role="status" data-testid="training-says">
          {unbroken(ended.verdict)}
        </p>
        <p className="training-why">
          The debrief shows what was to be seen, what you did, and how the points came about.
        </p>
      </div>
      <div className="training-acts">
        <Button tone="solid" onClick={() => goTo('train', 'debrief', ended.session)} data-testid="training-debrief">
          Debrief
        </Button>
        <Button onClick={() => void ask('train.stop', { by: signedOn() })} data-testid="training-aside">
          Put aside
        </Button>
      </div>
    </section>
  );
}
