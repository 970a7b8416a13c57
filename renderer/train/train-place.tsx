/**
 * The Train place: scenarios of the simulated bench, its faults, and who works
 * the simulated stand. The simulator speaks the line protocol as a bench does;
 * everything behind it is the real thing.
 */
import { useEffect, useState } from 'react';
import type { FaultInfo, ScenarioInfo } from '../../shared-core/bridge/contract.ts';
import { ask, useConnection } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Confirm } from '../ui/confirm.tsx';
import { Field } from '../ui/field.tsx';
import { Progress } from '../ui/progress.tsx';
import { Section } from '../ui/section.tsx';
import { Segments } from '../ui/segments.tsx';
import { FaultPanel } from './fault-panel.tsx';
import { simulatorSpeeds } from './speeds.ts';
import { StandState } from './stand-state.tsx';
import './train.css';

interface Catalogue {
  readonly scenarios: readonly ScenarioInfo[];
  readonly faults: readonly FaultInfo[];
}

const LARGEST_SEED = 0xffff_ffff;

export function TrainPlace(_: { readonly rest: readonly string[] }) {
  const isOpen = useConnection((c) => c.state === 'open');
  const [catalogue, setCatalogue] = useState<Catalogue | null>(null);
  useEffect(() => {
    if (!isOpen) return;
    let isCurrent = true;
    void ask('sim.catalogue', {}).then((found) => {
      if (isCurrent && found) setCatalogue(found);
    });
    return () => {
      isCurrent = false;
    };
  }, [isOpen]);

  return (
    <div className="train" data-testid="train">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a column that scrolls must be reachable by keyboard. */}
      <section className="train-left" aria-label="Choice of scenario" tabIndex={0}>
        <h1>
          Train
          <span className="frame-small train-frame" data-provenance="SIMULATED">
            SIMULATED
          </span>
        </h1>
        <p className="train-lead">
          A simulated engine, propeller and bench. It speaks the line protocol as a real bench does, so links, limits,
          alarms, advisories and recordings are the real ones. No engine runs. What is learnt here about faults is true
          of this model, not of your engine.
        </p>
        {catalogue === null ? <Progress label="Reading the scenarios" value={null} /> : <Scenarios {...catalogue} />}
      </section>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: as above. */}
      <section className="train-right" aria-label="Stand and faults" tabIndex={0}>
        <StandState />
        {catalogue && <FaultPanel faults={catalogue.faults} />}
      </section>
    </div>
  );
}

function Scenarios({ scenarios }: Catalogue) {
  const running = useStream('live', (s) => s.snapshot?.simulator?.scenario ?? null);
  const isOnBench = useStream('live', (s) => s.snapshot?.source.kind === 'port');
  const isTurning = useStream('live', (s) => ['running', 'cranking'].includes(s.snapshot?.run.state ?? ''));
  const [chosen, setChosen] = useState<string | null>(null);
  const [seed, setSeed] = useState('1');
  const [speed, setSpeed] = useState(1);
  const [isAsking, setAsking] = useState(false);
  const [isBusy, setBusy] = useState(false);
  const scenario = chosen ?? running ?? scenarios[0]?.id ?? '';
  const seedNumber = Number(seed);
  const isSeedWrong =
    seed.trim() === '' || !Number.isInteger(seedNumber) || seedNumber < 0 || seedNumber > LARGEST_SEED;

  const start = async (): Promise<void> => {
    setBusy(true);
    await ask('source.use', { kind: 'simulator', scenario, seed: seedNumber, speed });
    setBusy(false);
  };

  return (
    <form
      onSubmit={(e) => {
        e.preventDefault();
        if (isSeedWrong) return;
        if (isOnBench) setAsking(true);
        else void start();
      }}
    >
      <Section title="Scenario" data-testid="scenarios">
        <ul className="scenarios">
          {scenarios.map((each) => (
            <li key={each.id}>
              <label data-chosen={each.id === scenario}>
                <input
                  type="radio"
                  name="scenario"
                  value={each.id}
                  checked={each.id === scenario}
                  onChange={() => setChosen(each.id)}
                  data-testid={`scenario-${each.id}`}
                />
                <span>
                  <b>{each.title}</b>
                  {each.id === running && <span className="now-word">under way</span>}
                  <span className="muted below">{each.brief}</span>
                </span>
              </label>
            </li>
          ))}
        </ul>
      </Section>
      <div className="start-foot">
        <div className="start-row">
          <div className="seed">
            <Field
              label="Seed"
              {...(isSeedWrong ? { error: 'A whole number from 0 to 4\u2009294\u2009967\u2009295.' } : {})}
            >
              {(ids) => (
                <input
                  {...ids}
                  className="input"
                  inputMode="numeric"
                  title="The same seed gives the same noise again"
                  value={seed}
                  onChange={(e) => setSeed(e.target.value)}
                  data-testid="seed"
                />
              )}
            </Field>
          </div>
          <div className="field">
            <span className="field-name">Speed</span>
            <Segments
              label="Speed to start with"
              options={simulatorSpeeds}
              value={speed}
              onChoose={setSpeed}
              testId="start-speed"
            />
          </div>
          <Button type="submit" tone="solid" disabled={isBusy || isSeedWrong} data-testid="start-scenario">
            {running === null ? 'Start' : 'Start anew'}
          </Button>
          {running !== null && (
            <Button onClick={() => goTo('run')} data-testid="to-run">
              Go to Run
            </Button>
          )}
        </div>
        <p className="muted">
          {running === null
            ? 'Starting begins a new session, recorded from its first moment.'
            : 'Go to Run and watch it as you would a real engine; work it with outputs live. Starting anew begins a new session.'}
        </p>
      </div>
      <Confirm
        title="A bench is connected"
        isOpen={isAsking}
        actText="Leave the bench and simulate"
        onAct={() => void start()}
        onClose={() => setAsking(false)}
        data-testid="leave-bench"
      >
        {isTurning && (
          <p>
            <b>Its engine is turning.</b> Without the link nobody sees it from here. Stop it first.
          </p>
        )}
        <p>Starting the simulator ends the link to the bench and the session with it.</p>
      </Confirm>
    </form>
  );
}
