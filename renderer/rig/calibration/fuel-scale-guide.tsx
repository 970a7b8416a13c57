/** The fuel meter's scale: what was weighed out of the can against what the totaliser counted. */
import { useState } from 'react';
import { fuelScaleRecord, type WeighedRun, weighedVolume_mL } from '../../../shared-core/calibration/fuel-meter.ts';
import { mixDensity15_kgPerm3 } from '../../../shared-core/derive/fuel.ts';
import { useStream } from '../../app/stream-store.ts';
import { Button } from '../../ui/button.tsx';
import { formatNumber, formatQuantity } from '../../ui/format.ts';
import { rawValue } from '../live-values.ts';
import { NumberInput } from '../number-input.tsx';
import { type GuideProps, HeadForm, RecordStep, Steps, useHead } from './guide-parts.tsx';

export function FuelScaleGuide({ place, sheet, onDone }: GuideProps) {
  const [totaliser = '', flow = null] = place.channels;
  const head = useHead(place, sheet);
  const [tolerance_percent, setTolerance] = useState(3);
  const [repeatability_percent, setRepeatability] = useState(2);
  const [scale_g, setScale] = useState(1);
  const [density_kgPerm3, setDensity] = useState(() => Number(mixDensity15_kgPerm3(sheet.fuel).toFixed(1)));
  const [before_kg, setBefore] = useState(NaN);
  const [after_kg, setAfter] = useState(NaN);
  const [counterBefore_mL, setCounterBefore] = useState<number | null>(null);
  const [counterAfter_mL, setCounterAfter] = useState<number | null>(null);
  const [runs, setRuns] = useState<readonly WeighedRun[]>([]);
  useStream('live', (s) => s.beat);
  const counter_mL = rawValue(totaliser);
  const made =
    runs.length > 0 && head.head !== null
      ? fuelScaleRecord(
          {
            totaliser,
            flow,
            runs,
            scaleHalfWidth_kg: scale_g / 1000,
            densityHalfWidth_relative: 0.002,
            tolerance_percent,
            repeatability_percent,
          },
          head.head,
        )
      : null;
  const isWhole = counterBefore_mL !== null && counterAfter_mL !== null && before_kg > after_kg;
  const take = (): void => {
    if (!isWhole) return;
    setRuns([...runs, { before_kg, after_kg, counterBefore_mL, counterAfter_mL, density_kgPerm3 }]);
    setBefore(after_kg);
    setAfter(NaN);
    setCounterBefore(null);
    setCounterAfter(null);
  };
  return (
    <Steps
      steps={[
        {
          title: 'Scales and fuel',
          children: (
            <>
              <p className="muted">
                Draw from a can on the scales, through the meter. The more is drawn, the less the scales' own error
                counts.
              </p>
              <div className="guide-fields">
                <NumberInput
                  label="Density as it is, kg/m³"
                  hint="Of the mix at its temperature."
                  value={density_kgPerm3}
                  onChange={setDensity}
                  testId="fs-density"
                />
                <NumberInput label="Scales good to, g" value={scale_g} onChange={setScale} testId="fs-scale" />
                <NumberInput
                  label="Error allowed, %"
                  value={tolerance_percent}
                  onChange={setTolerance}
                  testId="fs-tolerance"
                />
                <NumberInput
                  label="Spread allowed, %"
                  value={repeatability_percent}
                  onChange={setRepeatability}
                  testId="fs-repeat"
                />
              </div>
              <HeadForm head={head} hint="Scales, hydrometer" />
            </>
          ),
        },
        {
          title: 'Deliveries, two or more',
          children: (
            <>
              <p data-testid="fs-counter">
                Totaliser now <b>{formatQuantity(counter_mL, 2, 'mL')}</b>
              </p>
              <div className="guide-row">
                <NumberInput label="Can before, kg" value={before_kg} onChange={setBefore} testId="fs-before" />
                <Button
                  onClick={() => setCounterBefore(counter_mL)}
                  disabled={!Number.isFinite(counter_mL)}
                  data-testid="fs-mark-before"
                >
                  {counterBefore_mL === null
                    ? 'Begin: keep the count'
                    : `Begun at ${formatNumber(counterBefore_mL, 2)} mL`}
                </Button>
                <Button
                  onClick={() => setCounterAfter(counter_mL)}
                  disabled={counterBefore_mL === null || !(counter_mL > counterBefore_mL)}
                  data-testid="fs-mark-after"
                >
                  {counterAfter_mL === null ? 'End: keep the count' : `Ended at ${formatNumber(counterAfter_mL, 2)} mL`}
                </Button>
                <NumberInput label="Can after, kg" value={after_kg} onChange={setAfter} testId="fs-after" />
                <Button tone="solid" disabled={!isWhole} onClick={take} data-testid="fs-take">
                  Take this delivery
                </Button>
                <Button small tone="quiet" disabled={runs.length === 0} onClick={() => setRuns(runs.slice(0, -1))}>
                  Take the last one back
                </Button>
              </div>
              {runs.length > 0 && (
                <ul className="taken-list" data-testid="fs-runs">
                  {runs.map((run, i) => (
                    // biome-ignore lint/suspicious/noArrayIndexKey: deliveries have nothing of their own but their place.
                    <li key={i}>
                      {formatNumber(weighedVolume_mL(run), 1)} mL weighed,{' '}
                      {formatNumber(run.counterAfter_mL - run.counterBefore_mL, 1)} mL counted: factor{' '}
                      {formatNumber(weighedVolume_mL(run) / (run.counterAfter_mL - run.counterBefore_mL), 4)}
                    </li>
                  ))}
                </ul>
              )}
            </>
          ),
        },
        { title: 'The record', children: <RecordStep made={made} sheet={sheet} onDone={onDone} /> },
      ]}
    />
  );
}
