/** One thermocouple in melting ice and in boiling water, at the pressure of the day. */
import { useState } from 'react';
import { boilingPoint_degC } from '../../../shared-core/calibration/boiling-point.ts';
import { type BathReading, thermocoupleRecord } from '../../../shared-core/calibration/thermocouple.ts';
import { firstOf, streamStore } from '../../app/stream-store.ts';
import { formatNumber } from '../../ui/format.ts';
import { Segments } from '../../ui/segments.tsx';
import { goodValue } from '../live-values.ts';
import { NumberInput } from '../number-input.tsx';
import { type GuideProps, HeadForm, ReadingTaker, RecordStep, Steps, type Taken, useHead } from './guide-parts.tsx';

const rule = { window_s: 5, spread: 1, leastSamples: 10 };

interface Bath extends BathReading {
  readonly isByHand: boolean;
}

export function ThermocoupleGuide({ place, sheet, onDone }: GuideProps) {
  const channel = place.channels[0]!;
  const head = useHead(place, sheet);
  const [pressure_hPa, setPressure] = useState(() => {
    const shown = goodValue(firstOf(streamStore('live').getState(), 'ambient-pressure') ?? '');
    return Number.isFinite(shown) ? Number(shown.toFixed(1)) : NaN;
  });
  const [tolerance_degC, setTolerance] = useState(2.5);
  const [terms, setTerms] = useState<'offset' | 'offset-and-slope'>('offset');
  const [ice, setIce] = useState<Bath | null>(null);
  const [boiling, setBoiling] = useState<Bath | null>(null);
  const bath = (taken: Taken): Bath => ({ mean_degC: taken.value, u_degC: taken.u, isByHand: taken.isByHand });
  const made =
    ice !== null && boiling !== null && head.head !== null && tolerance_degC > 0
      ? thermocoupleRecord({ channel, ice, boiling, pressure_hPa, tolerance_degC, terms }, head.head)
      : null;
  const byHand = [ice, boiling].filter((each) => each?.isByHand).length;
  const noted =
    made?.ok && byHand > 0
      ? {
          ok: true as const,
          value: {
            ...made.value,
            findings: [...made.value.findings, `${byHand} of 2 readings were typed in by hand.`],
          },
        }
      : made;
  const boils = boilingPoint_degC(pressure_hPa);
  return (
    <Steps
      steps={[
        {
          title: 'The day and the class',
          children: (
            <>
              <div className="guide-fields">
                <NumberInput
                  label="Air pressure here, hPa"
                  hint="Not reduced to sea level."
                  value={pressure_hPa}
                  onChange={setPressure}
                  testId="tc-pressure"
                />
                <NumberInput
                  label="Error allowed, °C"
                  value={tolerance_degC}
                  onChange={setTolerance}
                  testId="tc-tolerance"
                />
              </div>
              <p data-testid="tc-boils">
                Water boils at <b>{Number.isFinite(boils) ? `${formatNumber(boils, 2)} °C` : 'needs the pressure'}</b>{' '}
                here.
              </p>
              <Segments
                label="Terms"
                options={[
                  { value: 'offset', text: 'Offset' },
                  { value: 'offset-and-slope', text: 'Offset and slope' },
                ]}
                value={terms}
                onChoose={setTerms}
                testId="tc-terms"
              />
              <HeadForm head={head} hint="Ice bath, boiling water, barometer" />
            </>
          ),
        },
        {
          title: 'In melting ice',
          children: (
            <BathStep
              words="Crushed clean ice with its own water, stirred; the probe in the middle, not at the wall."
              channel={channel}
              taken={ice}
              onTake={(taken) => setIce(bath(taken))}
              testId="tc-ice"
            />
          ),
        },
        {
          title: 'In boiling water',
          children: (
            <BathStep
              words="Boiling hard, the probe clear of the bottom."
              channel={channel}
              taken={boiling}
              onTake={(taken) => setBoiling(bath(taken))}
              testId="tc-boiling"
            />
          ),
        },
        { title: 'The record', children: <RecordStep made={noted} sheet={sheet} onDone={onDone} /> },
      ]}
    />
  );
}

function BathStep({
  words,
  channel,
  taken,
  onTake,
  testId,
}: {
  readonly words: string;
  readonly channel: string;
  readonly taken: Bath | null;
  readonly onTake: (taken: Taken) => void;
  readonly testId: string;
}) {
  return (
    <>
      <p className="muted">{words}</p>
      <ReadingTaker channel={channel} rule={rule} of="before calibration" onTake={onTake} testId={testId} />
      {taken !== null && (
        <p role="status" data-testid={`${testId}-taken`}>
          Taken: <b>{formatNumber(taken.mean_degC, 2)} °C</b>
          {taken.isByHand ? ', by hand' : ''}
        </p>
      )}
    </>
  );
}
