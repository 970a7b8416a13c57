/** Choice of a scenario with its seed and speed, and the start of it. */
import { useState } from 'react';
import type { ScenarioInfo } from '../../shared-core/bridge/contract.ts';
import { ask } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { Section } from '../ui/section.tsx';
import { Segments } from '../ui/segments.tsx';
import { LeaveQuestion, useLeaveFirst } from './leave-question.tsx';
import { simulatorSpeeds } from './speeds.ts';

const LARGEST_SEED = 0xffff_ffff;

export function ScenarioForm({ scenarios }: { readonly scenarios: readonly ScenarioInfo[] }) {
  const running = useStream('live', (s) => s.snapshot?.simulator?.scenario ?? null);
  const [chosen, setChosen] = useState<string | null>(null);
  const [seed, setSeed] = useState('1');
  const [speed, setSpeed] = useState(1);
  const [isBusy, setBusy] = useState(false);
  const scenario = chosen ?? running ?? scenarios[0]?.id ?? '';
  const seedNumber = Number(seed);
  const isSeedWrong =
    seed.trim() === '' || !Number.isInteger(seedNumber) || seedNumber < 0 || seedNumber > LARGEST_SEED;

  const leave = useLeaveFirst();

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
        leave.first(() => void start());
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
      <LeaveQuestion leave={leave} />
    </form>
  );
}
