/** The fuel meter's zero after bleeding: it must settle, and settle at nothing; if it will not, there is air in the line. */
import { useState } from 'react';
import { fuelZeroCheck, fuelZeroRecord, type ZeroCheck } from '../../../shared-core/calibration/fuel-meter.ts';
import { command } from '../../app/bridge-client.ts';
import { streamStore, useStream } from '../../app/stream-store.ts';
import { Button } from '../../ui/button.tsx';
import { formatClock, formatQuantity } from '../../ui/format.ts';
import { recentSamples } from '../live-values.ts';
import { NumberInput } from '../number-input.tsx';
import { type GuideProps, HeadForm, RecordStep, Steps, useHead } from './guide-parts.tsx';

export function FuelZeroGuide({ place, sheet, onDone }: GuideProps) {
  const channel = place.channels[0]!;
  const head = useHead(place, sheet);
  const [tolerance_LPerh, setTolerance] = useState(0.05);
  const [spread_LPerh, setSpread] = useState(0.1);
  const [from_us, setFrom] = useState<number | null>(null);
  const [kept, setKept] = useState<ZeroCheck | null>(null);
  useStream('live', (s) => s.beat);
  const outcome = useStream(
    'live',
    (s) => s.snapshot?.outputs.commands.findLast((c) => c.command.name === 'ZERO-FUEL') ?? null,
  );
  const now_us = streamStore('live').getState().ring?.newest_us ?? NaN;
  const rule = { tolerance_LPerh, window_s: 5, spread_LPerh, giveUpAfter_s: 60 };
  const seen_s = from_us === null ? 0 : (now_us - from_us) / 1e6;
  const check =
    kept ?? (from_us === null ? null : fuelZeroCheck(recentSamples(channel, Math.max(0, Math.min(seen_s, 90))), rule));
  const made = kept !== null && head.head !== null ? fuelZeroRecord(channel, kept, rule, head.head) : null;
  const begin = (): void => {
    setKept(null);
    setFrom(now_us);
  };
  return (
    <Steps
      steps={[
        {
          title: 'Bleed, and shut the valve',
          children: (
            <>
              <p className="muted">
                Bleed until no bubble passes the meter, then shut the tank valve. Shaft at rest. Then watch the zero.
              </p>
              <div className="guide-fields">
                <NumberInput
                  label="Zero within, L/h"
                  value={tolerance_LPerh}
                  onChange={setTolerance}
                  testId="fz-tolerance"
                />
                <NumberInput label="At rest within, L/h" value={spread_LPerh} onChange={setSpread} testId="fz-spread" />
              </div>
              <HeadForm head={head} hint="Valve shut, bled by…" />
              <div className="guide-row">
                <Button tone="solid" onClick={begin} data-testid="fz-begin">
                  {from_us === null ? 'Bled and shut: watch the zero' : 'Watch anew'}
                </Button>
                <Button onClick={() => command({ name: 'ZERO-FUEL' })} data-testid="fz-zero">
                  Zero the meter
                </Button>
                {outcome !== null && (
                  <span role="status" className="muted">
                    {outcome.outcome === 'accepted'
                      ? 'The bench has zeroed it.'
                      : outcome.outcome === 'refused'
                        ? `Refused: ${outcome.reason}`
                        : 'Sent.'}
                  </span>
                )}
              </div>
            </>
          ),
        },
        {
          title: 'The zero',
          children:
            check === null ? (
              <p className="muted">Not watched yet.</p>
            ) : (
              <>
                <p role="status" data-testid="fz-check" data-state={check.state}>
                  {check.state === 'waiting' ? '○' : '●'} <b>{check.sentence}</b>{' '}
                  <span className="muted">
                    {formatQuantity(check.reading.mean, 3, 'L/h')}
                    {kept === null ? `, watched for ${formatClock(seen_s)}` : ', kept'}
                  </span>
                </p>
                <Button
                  disabled={kept !== null || check.state === 'waiting' || check.state === 'no-reading'}
                  onClick={() => setKept(check)}
                  data-testid="fz-keep"
                >
                  Take this result
                </Button>
              </>
            ),
        },
        { title: 'The record', children: <RecordStep made={made} sheet={sheet} onDone={onDone} /> },
      ]}
    />
  );
}
