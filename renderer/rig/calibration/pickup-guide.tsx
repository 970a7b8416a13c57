/** The rpm pickup: markers, agreement with a second source at steady speeds, and a trace looked through for missing pulses. */
import { useState } from 'react';
import {
  markerFinding,
  PICKUP_GAP_ADVICE,
  type PulseFaults,
  pulseFaults,
  rpmPickupRecord,
  type SpeedPair,
} from '../../../shared-core/calibration/rpm-pickup.ts';
import { useStream } from '../../app/stream-store.ts';
import { Button } from '../../ui/button.tsx';
import { Field } from '../../ui/field.tsx';
import { formatNumber, formatQuantity } from '../../ui/format.ts';
import { recentSamples } from '../live-values.ts';
import { NumberInput } from '../number-input.tsx';
import { type GuideProps, HeadForm, percent, RecordStep, Steps, useHead, useSettled } from './guide-parts.tsx';

const TRACE_S = 5;

export function PickupGuide({ place, sheet, onDone }: GuideProps) {
  const channel = place.channels[0]!;
  const head = useHead(place, sheet);
  const [markers, setMarkers] = useState(1);
  const [source, setSource] = useState('tachometer, by hand');
  const [source_percent, setSourcePercent] = useState(1);
  const [tolerance_percent, setTolerance] = useState(2);
  const [pairs, setPairs] = useState<readonly SpeedPair[]>([]);
  const [reference_rpm, setReference] = useState(NaN);
  const [faults, setFaults] = useState<PulseFaults | null>(null);
  const rpm = useStream('live', (s) => s.byKey.get(channel));
  const reading = useSettled(channel, { window_s: 2, spread: Infinity, leastSamples: 10 });
  const isSteady = reading.mean > 0 && reading.spread < 0.05 * reading.mean;
  const made =
    pairs.length > 0 && head.head !== null
      ? rpmPickupRecord(
          {
            channel,
            markers,
            pairs,
            secondSource: source.trim() || 'second source',
            referenceHalfWidth_relative: source_percent / 100,
            tolerance_percent,
            faults,
          },
          head.head,
        )
      : null;
  return (
    <Steps
      steps={[
        {
          title: 'Pickup and second source',
          children: (
            <>
              <p className="muted">{PICKUP_GAP_ADVICE}</p>
              <div className="guide-fields">
                <NumberInput
                  label="Markers per revolution"
                  value={markers}
                  onChange={setMarkers}
                  testId="pickup-markers"
                />
                <Field label="Second source" hint="Ignition, or a tachometer">
                  {(ids) => (
                    <input
                      {...ids}
                      className="input"
                      maxLength={80}
                      value={source}
                      onChange={(e) => setSource(e.target.value)}
                      data-testid="pickup-source"
                    />
                  )}
                </Field>
                <NumberInput
                  label="Source good to, %"
                  value={source_percent}
                  onChange={setSourcePercent}
                  testId="pickup-goodto"
                />
                <NumberInput
                  label="Disagreement allowed, %"
                  value={tolerance_percent}
                  onChange={setTolerance}
                  testId="pickup-tolerance"
                />
              </div>
              <HeadForm head={head} hint="Tachometer, its certificate" />
            </>
          ),
        },
        {
          title: 'Steady speeds, from both',
          children: (
            <>
              <p className="muted">
                The shaft turns: by starter with the ignition off, or the engine at idle under local control.
              </p>
              <form
                className="guide-row"
                onSubmit={(event) => {
                  event.preventDefault();
                  if (!isSteady || !(reference_rpm > 0)) return;
                  setPairs([...pairs, { channel_rpm: reading.mean, reference_rpm }]);
                  setReference(NaN);
                }}
              >
                <p data-testid="pickup-now" data-steady={isSteady}>
                  Channel <b>{formatQuantity(reading.mean, rpm?.decimals ?? 0, 'rpm')}</b>{' '}
                  {reading.mean > 0 ? (isSteady ? '● steady' : '○ not steady yet') : '○ the shaft does not turn'}
                </p>
                <NumberInput
                  key={pairs.length}
                  label="Second source, rpm"
                  value={reference_rpm}
                  onChange={setReference}
                  testId="pickup-reference"
                />
                <Button
                  type="submit"
                  tone="solid"
                  disabled={!isSteady || !(reference_rpm > 0)}
                  data-testid="pickup-take"
                >
                  Take both
                </Button>
                <Button small tone="quiet" disabled={pairs.length === 0} onClick={() => setPairs(pairs.slice(0, -1))}>
                  Take the last one back
                </Button>
              </form>
              {pairs.length > 0 && (
                <>
                  <ul className="taken-list" data-testid="pickup-pairs">
                    {pairs.map((pair, i) => (
                      // biome-ignore lint/suspicious/noArrayIndexKey: pairs have nothing of their own but their place.
                      <li key={i}>
                        {formatNumber(pair.channel_rpm, 0)} rpm against {formatNumber(pair.reference_rpm, 0)} rpm:{' '}
                        {percent(100 * (pair.channel_rpm / pair.reference_rpm - 1))}
                      </li>
                    ))}
                  </ul>
                  <p role="status" data-testid="pickup-finding">
                    <b>{markerFinding(markers, pairs).sentence}</b>
                  </p>
                </>
              )}
            </>
          ),
        },
        {
          title: 'Missing pulses',
          children: (
            <div className="guide-row">
              <Button
                onClick={() => setFaults(pulseFaults(recentSamples(channel, TRACE_S).map((each) => each.value)))}
                data-testid="pickup-trace"
              >
                Look through the last {TRACE_S} s
              </Button>
              <span role="status" data-testid="pickup-faults" data-inconclusive={faults?.isInconclusive ?? true}>
                {faults === null ? 'Hold the speed steady for as long.' : faults.sentence}
              </span>
            </div>
          ),
        },
        { title: 'The record', children: <RecordStep made={made} sheet={sheet} onDone={onDone} /> },
      ]}
    />
  );
}
