/** Thrust or torque by dead weights: what hangs, loading and unloading in series, the fit, and the record. */
import { useState } from 'react';
import {
  type DeadWeight,
  type DeadWeightSetup,
  deadWeight,
  degreeAdvice,
  type LoadFigures,
  loadFigures,
  loadOf,
  plainClass,
  withLoad,
  withoutLast,
} from '../../../shared-core/calibration/dead-weight.ts';
import { deadWeightRecord } from '../../../shared-core/calibration/dead-weight-record.ts';
import { normalGravity_mPers2 } from '../../../shared-core/derive/gravity.ts';
import { Button } from '../../ui/button.tsx';
import { formatNumber } from '../../ui/format.ts';
import { Segments } from '../../ui/segments.tsx';
import { NumberInput } from '../number-input.tsx';
import {
  BY_HAND,
  type GuideProps,
  HeadForm,
  percent,
  ReadingTaker,
  RecordStep,
  Steps,
  type Taken,
  useHead,
} from './guide-parts.tsx';
import { nextLoad } from './load-plan.ts';
import { ResidualPlot } from './residual-plot.tsx';
import { TareCheck } from './tare-check.tsx';

/** What normal gravity leaves out: anomalies of some 10⁻⁴ m/s², taken generously. */
const GRAVITY_U_mPers2 = 5e-4;

export function DeadWeightGuide({ place, sheet, onDone }: GuideProps) {
  const kind = place.kind === 'torque' ? 'torque' : 'thrust';
  const isTorque = kind === 'torque';
  const unit = isTorque ? 'N·m' : 'N';
  const channel = place.channels[0]!;
  const { stand, site } = sheet;
  const head = useHead(place, sheet);
  const [span, setSpan] = useState((isTorque ? stand?.torqueSpan_Nm : stand?.thrustSpan_N) ?? NaN);
  const [arm_m, setArm] = useState(isTorque ? (stand?.torqueArm_m ?? NaN) : 1);
  const [armU_mm, setArmU] = useState(0.5);
  const [latitude_deg, setLatitude] = useState(site.latitude_deg ?? NaN);
  const [height_m, setHeight] = useState(site.elevation_m);
  const [class_percent, setClass] = useState(0.5);
  const [mass_percent, setMassU] = useState(0.01);
  const [spread_percent, setSpread] = useState(0.5);
  const [state, setState] = useState<DeadWeight['points']>([]);
  const [handRows, setHandRows] = useState<ReadonlySet<number>>(new Set());
  const [isUnloading, setUnloading] = useState(false);
  const [typed_kg, setTyped] = useState(NaN);
  const [degree, setDegree] = useState<1 | 2 | null>(null);
  const [refused, setRefused] = useState('');

  const gravity_mPers2 = normalGravity_mPers2(latitude_deg, height_m);
  const setup: DeadWeightSetup = {
    kind,
    channel,
    span,
    gravity_mPers2,
    gravityU_mPers2: GRAVITY_U_mPers2,
    arm_m,
    armU_m: armU_mm / 1000,
    massU_relative: mass_percent / 100,
    loadClass: plainClass(class_percent),
  };
  const isReady = [span, arm_m, gravity_mPers2, armU_mm, class_percent, mass_percent].every((each) => each > 0);
  const calibration: DeadWeight = { ...deadWeight(setup), points: state };
  const next = nextLoad(state, isUnloading);
  const mass_kg = next.mass_kg ?? typed_kg;

  const take = (taken: Taken): void => {
    const { series, direction } = next;
    const got = withLoad(calibration, { series, direction, mass_kg, reading: taken.value, readingU: taken.u });
    setRefused(got.ok ? '' : got.error.sentence);
    if (!got.ok) return;
    if (taken.isByHand) setHandRows(new Set([...handRows, state.length]));
    setState(got.value.points);
    setTyped(NaN);
  };
  const undo = (): void => {
    const points = withoutLast(calibration).points;
    setState(points);
    setHandRows(new Set([...handRows].filter((row) => row < points.length)));
    // Back before the top of the first series: it may go on upwards.
    if (points.every((each) => each.series === 1 && each.direction === 'up')) setUnloading(false);
  };

  const line = isReady && state.length >= 3 ? loadFigures(calibration, 1) : null;
  const curve = isReady && state.length >= 4 ? loadFigures(calibration, 2) : null;
  const advice = line?.ok ? degreeAdvice(line.value, curve?.ok ? curve.value : null) : null;
  const chosen = degree ?? advice?.degree ?? 1;
  const figures = chosen === 2 ? (curve?.ok ? curve.value : null) : line?.ok ? line.value : null;
  const made = figures !== null && head.head !== null ? deadWeightRecord(calibration, chosen, head.head) : null;
  const noted =
    made?.ok && handRows.size > 0
      ? {
          ok: true as const,
          value: {
            ...made.value,
            findings: [...made.value.findings, `${handRows.size} of ${state.length} readings were typed in by hand.`],
          },
        }
      : made;

  return (
    <Steps
      steps={[
        {
          title: 'What hangs, and what is asked of it',
          children: (
            <>
              <p className="muted">
                Ignition off, propeller off or held. Force is mass × local gravity
                {isTorque ? ', torque is force × arm' : ''}; gravity is that of the WGS 84 ellipsoid at this latitude
                and height.
              </p>
              <div className="guide-fields">
                <NumberInput label={`Full load, ${unit}`} value={span} onChange={setSpan} testId="dw-span" />
                {isTorque && <NumberInput label="Arm, m" value={arm_m} onChange={setArm} testId="dw-arm" />}
                {isTorque && (
                  <NumberInput label="Arm known to, mm" value={armU_mm} onChange={setArmU} testId="dw-armu" />
                )}
                <NumberInput label="Latitude, °" value={latitude_deg} onChange={setLatitude} testId="dw-latitude" />
                <NumberInput label="Height, m" value={height_m} onChange={setHeight} testId="dw-height" />
                <NumberInput label="Class, % of span" value={class_percent} onChange={setClass} testId="dw-class" />
                <NumberInput label="Weights known to, %" value={mass_percent} onChange={setMassU} testId="dw-massu" />
                <NumberInput
                  label="At rest within, % of span"
                  value={spread_percent}
                  onChange={setSpread}
                  testId="dw-spread"
                />
              </div>
              <p data-testid="dw-gravity">
                Local gravity{' '}
                <b>{Number.isFinite(gravity_mPers2) ? `${gravity_mPers2.toFixed(5)} m/s²` : 'needs the latitude'}</b>
              </p>
              <HeadForm head={head} hint="Weights, scales, certificates" />
              <TareCheck channel={channel} command={isTorque ? 'TARE-TORQUE' : 'TARE-THRUST'} span={span} />
            </>
          ),
        },
        {
          title: 'Load and unload, in two series or more',
          children: (
            <>
              <p data-testid="dw-next" role="status">
                Series {next.series}, {next.direction === 'up' ? 'loading' : 'unloading'}:{' '}
                <b>
                  {next.mass_kg === 0
                    ? 'no weight'
                    : next.mass_kg !== null
                      ? `${next.mass_kg} kg`
                      : 'the next heavier weight'}
                </b>
                . Hang it still, then take the reading.
              </p>
              <div className="guide-row">
                {next.mass_kg === null && (
                  <NumberInput label="Mass now, kg" value={typed_kg} onChange={setTyped} testId="dw-mass" />
                )}
                {next.mass_kg === null && state.length >= 2 && (
                  <Button small onClick={() => setUnloading(true)} data-testid="dw-unload">
                    That was the heaviest: unload
                  </Button>
                )}
                <Button small tone="quiet" disabled={state.length === 0} onClick={undo} data-testid="dw-undo">
                  Take the last one back
                </Button>
              </div>
              <ReadingTaker
                channel={channel}
                rule={{ window_s: 2, spread: (spread_percent / 100) * span, leastSamples: 10 }}
                of={Number.isFinite(mass_kg) ? `${mass_kg} kg` : 'mass not given'}
                onTake={take}
                disabled={!isReady || !Number.isFinite(mass_kg)}
                testId="dw-reading"
              />
              {!isReady && <p className="muted">First fill in step 1.</p>}
              {refused !== '' && (
                <p className="field-error" role="alert" data-testid="dw-refused">
                  {refused}
                </p>
              )}
              {state.length > 0 && (
                <PointsTable calibration={calibration} figures={figures} handRows={handRows} unit={unit} />
              )}
              {handRows.size > 0 && <p className="muted">{BY_HAND}</p>}
            </>
          ),
        },
        {
          title: 'The fit',
          children:
            figures === null || advice === null ? (
              <p className="muted">From three points on, the fit stands here.</p>
            ) : (
              <>
                <div className="guide-row">
                  <Segments
                    label="Curve"
                    options={[
                      { value: 1, text: 'Straight line' },
                      { value: 2, text: 'Quadratic' },
                    ]}
                    value={chosen}
                    onChoose={(value) => setDegree(value === 2 ? 2 : 1)}
                    testId="dw-degree"
                  />
                  <span className="muted">{advice.why}</span>
                </div>
                <ResidualPlot
                  points={state.map((point, i) => ({
                    load: loadOf(setup, point.mass_kg) / span,
                    error_percent: (100 * figures.errors[i]!) / span,
                    direction: point.direction,
                  }))}
                  limit_percent={class_percent}
                />
                <p className="muted">
                  Error in % of span over load; ▲ loading, ▼ unloading; dashed: class. Largest error{' '}
                  {percent(figures.residual_percent)}, repeatability {percent(figures.repeatability_percent)},
                  hysteresis {percent(figures.hysteresis_percent)}, zero return {percent(figures.zeroReturn_percent)}.
                </p>
              </>
            ),
        },
        { title: 'The record', children: <RecordStep made={noted} sheet={sheet} onDone={onDone} /> },
      ]}
    />
  );
}

function PointsTable({
  calibration,
  figures,
  handRows,
  unit,
}: {
  readonly calibration: DeadWeight;
  readonly figures: LoadFigures | null;
  readonly handRows: ReadonlySet<number>;
  readonly unit: string;
}) {
  const { setup, points } = calibration;
  return (
    <table className="table guide-table" data-testid="dw-points">
      <caption className="sr-only">Points taken</caption>
      <thead>
        <tr>
          <th scope="col">Series</th>
          <th scope="col">Direction</th>
          <th scope="col" className="number">
            Mass, kg
          </th>
          <th scope="col" className="number">
            Load, {unit}
          </th>
          <th scope="col" className="number">
            Reading, {unit}
          </th>
          <th scope="col" className="number">
            Error, % of span
          </th>
          <th scope="col">Taken</th>
        </tr>
      </thead>
      <tbody>
        {points.map((point, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: points have nothing of their own but their place.
          <tr key={i}>
            <td>{point.series}</td>
            <td>{point.direction === 'up' ? '▲ loading' : '▼ unloading'}</td>
            <td className="number">{formatNumber(point.mass_kg, 3)}</td>
            <td className="number">{formatNumber(loadOf(setup, point.mass_kg), 3)}</td>
            <td className="number">{formatNumber(point.reading, 3)}</td>
            <td className="number">
              {figures === null ? '' : formatNumber((100 * (figures.errors[i] ?? NaN)) / setup.span, 3)}
            </td>
            <td>{handRows.has(i) ? 'by hand' : 'live'}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
