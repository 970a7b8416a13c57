/**
 * Throttle travel, guided, with outputs live: linkage off until the servo has
 * been powered and driven to closed; both ends captured; closed, middle and
 * open driven to again. What may come next is the core's to say
 * (`throttle-travel.ts`); the bench moves the servo.
 */
import { useEffect, useState } from 'react';
import {
  type ThrottleEvent,
  type ThrottleState,
  throttleInstructions,
  throttleSteps,
  throttleTravelNext,
  throttleTravelRecord,
  throttleTravelStart,
  travelOf,
  usualThrottleRules,
} from '../../../shared-core/calibration/throttle-travel.ts';
import type { BenchCommand } from '../../../shared-core/line/messages.ts';
import type { DiscreteInput } from '../../../shared-core/pipeline-contract.ts';
import { command } from '../../app/bridge-client.ts';
import { useStream } from '../../app/stream-store.ts';
import { OutputsLock } from '../../run/acts-bar.tsx';
import { inputState } from '../../run/input-words.ts';
import { ThrottleAct } from '../../run/throttle-act.tsx';
import { Button } from '../../ui/button.tsx';
import { formatQuantity } from '../../ui/format.ts';
import { goodValue } from '../live-values.ts';
import { NumberInput } from '../number-input.tsx';
import { type GuideProps, HeadForm, RecordStep, Steps, useHead } from './guide-parts.tsx';

const noInputs: readonly DiscreteInput[] = [];
const places = { 'verify-closed': 0, 'verify-mid': 50, 'verify-open': 100 } as const;

export function ThrottleGuide({ place, sheet, onDone }: GuideProps) {
  const pulseKey = place.channels.at(-1)!;
  const demandKey = place.channels.length > 1 ? place.channels[0]! : null;
  const head = useHead(place, sheet);
  const [rules, setRules] = useState(usualThrottleRules);
  const [state, setState] = useState<ThrottleState>(() => throttleTravelStart(usualThrottleRules));
  const [refused, setRefused] = useState('');
  const inputs = useStream('live', (s) => s.snapshot?.inputs ?? noInputs);
  const outputs = useStream('live', (s) => s.snapshot?.outputs ?? null);
  useStream('live', (s) => s.beat);
  const pulse_us = goodValue(pulseKey);
  const demand_percent = demandKey === null ? NaN : goodValue(demandKey);
  const servo = inputState(inputs, 'servo');

  useEffect(() => {
    setState((before) => {
      const next = throttleTravelNext(before, { kind: 'servo', isOn: servo === 1 });
      return next.ok ? next.value : before;
    });
  }, [servo]);

  const tell = (event: ThrottleEvent): void => {
    const next = throttleTravelNext(state, event);
    setRefused(next.ok ? '' : next.error);
    if (next.ok) setState(event.kind === 'begin-anew' ? { ...next.value, rules } : next.value);
  };
  const setRule = (part: Partial<typeof rules>): void => {
    const changed = { ...rules, ...part };
    setRules(changed);
    if (Object.values(changed).every((each) => each >= 0)) setState({ ...state, rules: changed });
  };
  const drive = (permille: number): void => command({ name: 'THROTTLE', permille } satisfies BenchCommand);
  const travel = travelOf(state);
  const made =
    state.step === 'done' && head.head !== null ? throttleTravelRecord(state, place.channels, head.head) : null;
  const at = throttleSteps.indexOf(state.step);
  const isLive = outputs?.live ?? false;
  return (
    <Steps
      steps={[
        {
          title: 'Limits of the servo',
          children: (
            <>
              <div className="guide-fields">
                <NumberInput
                  label="Never below, µs"
                  value={rules.hardLow_us}
                  onChange={(v) => setRule({ hardLow_us: v })}
                  testId="tt-low"
                />
                <NumberInput
                  label="Never above, µs"
                  value={rules.hardHigh_us}
                  onChange={(v) => setRule({ hardHigh_us: v })}
                  testId="tt-high"
                />
                <NumberInput
                  label="Span at least, µs"
                  value={rules.leastSpan_us}
                  onChange={(v) => setRule({ leastSpan_us: v })}
                  testId="tt-span"
                />
                <NumberInput
                  label="Dead zone at most, µs"
                  value={rules.mostDeadZone_us}
                  onChange={(v) => setRule({ mostDeadZone_us: v })}
                  testId="tt-dead"
                />
              </div>
              <HeadForm head={head} hint="Servo, linkage" />
            </>
          ),
        },
        {
          title: 'The servo',
          children: (
            <>
              <p className="muted">
                Ignition stays off. The hard-wired stop on the stand is the emergency stop, not this page.
              </p>
              {outputs !== null && (
                <div className="guide-outputs">
                  <OutputsLock outputs={outputs} />
                  <Button
                    disabled={servo !== 1 && !isLive}
                    aria-pressed={servo === 1}
                    onClick={() => command({ name: 'SERVO', on: servo !== 1 })}
                    data-testid="tt-servo"
                  >
                    Servo {servo === 1 ? 'on' : servo === 0 ? 'off' : 'not known'}
                  </Button>
                  {[0, 500, 1000].map((permille) => (
                    <Button
                      key={permille}
                      disabled={!isLive && permille > 0}
                      onClick={() => drive(permille)}
                      data-testid={`tt-drive-${permille / 10}`}
                    >
                      {permille / 10} %
                    </Button>
                  ))}
                  <ThrottleAct isLive={isLive} />
                </div>
              )}
              <p data-testid="tt-now">
                Demand <b>{formatQuantity(demand_percent, 1, '%')}</b>, pulse <b>{formatQuantity(pulse_us, 0, 'µs')}</b>
              </p>
            </>
          ),
        },
        {
          title: 'Step by step',
          children: (
            <>
              <ol className="throttle-steps">
                {throttleSteps.map((step, i) => (
                  <li key={step} aria-current={step === state.step ? 'step' : undefined} data-done={i < at}>
                    {i < at ? '✓ ' : ''}
                    {throttleInstructions[step]}
                  </li>
                ))}
              </ol>
              <div className="guide-row" data-testid="tt-step" data-step={state.step}>
                <StepActs state={state} pulse_us={pulse_us} demand_percent={demand_percent} onEvent={tell} />
                <Button small tone="quiet" onClick={() => tell({ kind: 'begin-anew' })} data-testid="tt-anew">
                  Begin anew
                </Button>
              </div>
              {refused !== '' && (
                <p className="field-error" role="alert" data-testid="tt-refused">
                  {refused}
                </p>
              )}
              {travel !== null && (
                <p data-testid="tt-travel">
                  Closed {formatQuantity(travel.closed_us, 0, 'µs')}, open {formatQuantity(travel.open_us, 0, 'µs')},
                  span {formatQuantity(Math.abs(travel.open_us - travel.closed_us), 0, 'µs')}
                </p>
              )}
            </>
          ),
        },
        { title: 'The record', children: <RecordStep made={made} sheet={sheet} onDone={onDone} /> },
      ]}
    />
  );
}

function StepActs({
  state,
  pulse_us,
  demand_percent,
  onEvent,
}: {
  readonly state: ThrottleState;
  readonly pulse_us: number;
  readonly demand_percent: number;
  readonly onEvent: (event: ThrottleEvent) => void;
}) {
  const { step } = state;
  const isKnown = Number.isFinite(pulse_us);
  switch (step) {
    case 'take-linkage-off':
      return (
        <Button tone="solid" onClick={() => onEvent({ kind: 'linkage-is-off' })} data-testid="tt-linkage-off">
          The linkage is off
        </Button>
      );
    case 'power-servo':
      return <span>Waiting for the servo's supply: make outputs live and switch it on above.</span>;
    case 'drive-closed':
      return (
        <Button
          tone="solid"
          disabled={!isKnown}
          onClick={() =>
            onEvent({
              kind: 'stands-closed',
              pulse_us,
              demand_percent: Number.isNaN(demand_percent) ? 0 : demand_percent,
            })
          }
          data-testid="tt-stands-closed"
        >
          The arm stands at closed
        </Button>
      );
    case 'put-linkage-on':
      return (
        <Button tone="solid" onClick={() => onEvent({ kind: 'linkage-is-on' })} data-testid="tt-linkage-on">
          The linkage is on
        </Button>
      );
    case 'capture-closed':
    case 'find-dead-zone':
    case 'capture-open':
      return (
        <>
          <Button
            tone="solid"
            disabled={!isKnown}
            onClick={() => onEvent({ kind: 'captured', pulse_us })}
            data-testid="tt-capture"
          >
            Capture {isKnown ? `${Math.round(pulse_us)} µs` : ''}
          </Button>
          {step === 'find-dead-zone' && (
            <Button onClick={() => onEvent({ kind: 'dead-zone-skipped' })} data-testid="tt-skip">
              Skip the dead zone
            </Button>
          )}
        </>
      );
    case 'verify-closed':
    case 'verify-mid':
    case 'verify-open':
      return (
        <>
          <Button
            tone="solid"
            disabled={!isKnown}
            onClick={() => onEvent({ kind: 'verified', pulse_us, isRight: true })}
            data-testid="tt-right"
          >
            At {places[step]} % it stands right
          </Button>
          <Button
            disabled={!isKnown}
            onClick={() => onEvent({ kind: 'verified', pulse_us, isRight: false })}
            data-testid="tt-wrong"
          >
            It does not
          </Button>
        </>
      );
    case 'done':
      return <span>Travel is set.</span>;
  }
}
