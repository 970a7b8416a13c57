/** What all calibration guides share: the head of the record, steps, the taking of one settled reading, and the saving. */
import { type ReactNode, useState } from 'react';
import type { Result } from '../../../shared-core/base/result.ts';
import { type SettledReading, type SettleRule, settledReading } from '../../../shared-core/calibration/reading.ts';
import type { CalibrationRecord, RecordHead } from '../../../shared-core/calibration/record.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import { withCalibrationRecord } from '../../../shared-core/rig/sheet-versions.ts';
import { signedOn } from '../../app/settings.ts';
import { useStream } from '../../app/stream-store.ts';
import { Button } from '../../ui/button.tsx';
import { Field } from '../../ui/field.tsx';
import { formatNumber, formatQuantity } from '../../ui/format.ts';
import { recentSamples } from '../live-values.ts';
import { NumberInput } from '../number-input.tsx';
import { SaveBar } from '../save-bar.tsx';
import { type CalibrationPlace, dayOf, recordId } from './calibration-list.ts';
import { RecordView } from './record-view.tsx';

export interface GuideProps {
  readonly place: CalibrationPlace;
  readonly sheet: RigSheet;
  readonly onDone: () => void;
}

const DUE_MONTHS = 12;

export function useHead(place: CalibrationPlace, sheet: RigSheet) {
  const [date, setDate] = useState(() => dayOf(Date.now()));
  const [reference, setReference] = useState('');
  const [months, setMonths] = useState(DUE_MONTHS);
  const isDay = /^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/.test(date);
  const head: RecordHead | null =
    isDay && months >= 0
      ? {
          id: recordId(place, date, sheet.calibrationRecords ?? []),
          date,
          who: signedOn(),
          reference: reference.trim(),
          dueAfter_months: months,
        }
      : null;
  return { head, date, setDate, reference, setReference, months, setMonths };
}

export function HeadForm({ head, hint }: { readonly head: ReturnType<typeof useHead>; readonly hint: string }) {
  return (
    <div className="guide-fields">
      <Field label="Held against" hint={hint}>
        {(ids) => (
          <input
            {...ids}
            className="input"
            maxLength={200}
            value={head.reference}
            onChange={(e) => head.setReference(e.target.value)}
            data-testid="head-reference"
          />
        )}
      </Field>
      <Field label="Day" {...(head.head === null && head.months >= 0 ? { error: 'Written 2026-03-14.' } : {})}>
        {(ids) => (
          <input
            {...ids}
            className="input"
            value={head.date}
            maxLength={10}
            onChange={(e) => head.setDate(e.target.value)}
            data-testid="head-date"
          />
        )}
      </Field>
      <NumberInput label="Due again after, months" value={head.months} onChange={head.setMonths} testId="head-months" />
    </div>
  );
}

export interface Step {
  readonly title: string;
  readonly children: ReactNode;
}

/** Numbered, all in sight: what was done stays where it can be looked at again. */
export function Steps({ steps }: { readonly steps: readonly Step[] }) {
  return (
    <ol className="guide-steps">
      {steps.map((step, i) => (
        <li key={step.title}>
          <h3>
            {i + 1}. {step.title}
          </h3>
          {step.children}
        </li>
      ))}
    </ol>
  );
}

/** Looked at anew with every beat. */
export function useSettled(channel: string, rule: SettleRule): SettledReading {
  useStream('live', (s) => s.beat);
  // Half a second more than needed: steps do not begin on the window's edge.
  return settledReading(recentSamples(channel, rule.window_s + 0.5), rule);
}

export interface Taken {
  readonly value: number;
  readonly u: number;
  readonly isByHand: boolean;
}

export interface ReadingTakerProps {
  readonly channel: string;
  readonly rule: SettleRule;
  /** What the reading is of: "10 kg, loading". */
  readonly of: string;
  readonly onTake: (taken: Taken) => void;
  readonly disabled?: boolean;
  readonly testId: string;
}

/** The live reading with its settling, taken when it stands; or one that was read elsewhere, typed in and said to be. */
export function ReadingTaker({ channel: key, rule, of, onTake, disabled = false, testId }: ReadingTakerProps) {
  const channel = useStream('live', (s) => s.byKey.get(key));
  const reading = useSettled(key, rule);
  const [byHand, setByHand] = useState(NaN);
  const [round, setRound] = useState(0);
  const decimals = (channel?.decimals ?? 1) + 1;
  const unit = channel?.unit ?? '';
  const take = (taken: Taken): void => {
    onTake(taken);
    setByHand(NaN);
    setRound(round + 1);
  };
  return (
    <div className="reading-taker" data-testid={testId} data-settled={reading.isSettled}>
      <div className="reading-now">
        <span className="muted">{of}</span>
        <b>{formatQuantity(reading.mean, decimals, unit)}</b>
        <span className="reading-settle" data-settled={reading.isSettled}>
          {reading.isSettled ? '●' : '○'} {reading.sentence}
          {Number.isFinite(reading.spread) && ` Spread ${formatQuantity(reading.spread, decimals, unit)}.`}
        </span>
      </div>
      <Button
        tone="solid"
        disabled={disabled || !reading.isSettled}
        onClick={() => take({ value: reading.mean, u: reading.u, isByHand: false })}
        data-testid={`${testId}-take`}
      >
        Take this reading
      </Button>
      <form
        className="by-hand"
        onSubmit={(event) => {
          event.preventDefault();
          if (Number.isFinite(byHand) && !disabled) take({ value: byHand, u: 0, isByHand: true });
        }}
      >
        <NumberInput
          key={round}
          label={`Or read by hand, ${unit}`}
          value={byHand}
          onChange={setByHand}
          testId={`${testId}-hand`}
        />
        <Button type="submit" small disabled={disabled || !Number.isFinite(byHand)} data-testid={`${testId}-hand-take`}>
          Take it
        </Button>
      </form>
    </div>
  );
}

export const BY_HAND = 'Readings marked “by hand” were typed in; their own scatter is not known.';

/** The result as it would be kept, and the button that keeps it. */
export function RecordStep({
  made,
  sheet,
  onDone,
}: {
  /** Null while something is still to be filled in. */
  readonly made: Result<CalibrationRecord, string> | null;
  readonly sheet: RigSheet;
  readonly onDone: () => void;
}) {
  if (made === null) return <p className="muted">The result stands here when the steps above are done.</p>;
  if (!made.ok) {
    return (
      <p className="muted" data-testid="record-not-yet">
        {made.error}
      </p>
    );
  }
  const record = made.value;
  return (
    <>
      <RecordView record={record} />
      <SaveBar
        next={withCalibrationRecord(sheet, record)}
        change={`Calibration ${record.id}: ${record.verdict}.`}
        onSaved={onDone}
        testId="record"
      />
    </>
  );
}

export function percent(value: number, decimals = 2): string {
  return Number.isFinite(value) ? `${formatNumber(value, decimals)}\u2009%` : 'not known';
}
