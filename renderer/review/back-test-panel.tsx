/**
 * Back-test: a limit of the rig sheet, changed, tried on this session or on
 * all recorded ones: when it would have tripped, against what happened. It
 * runs beside everything else and can be cancelled; a rule that proves better
 * goes into the rig sheet as a new version.
 */
import { useEffect, useState } from 'react';
import type { BacktestView, SessionRow } from '../../shared-core/bridge/contract.ts';
import type { RuleBackTest } from '../../shared-core/limits/back-test.ts';
import type { LimitRule, ThresholdRule } from '../../shared-core/limits/rules.ts';
import { clockText } from '../../shared-core/report/report.ts';
import { ask, request } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { formatNumber } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { type Column, Table } from '../ui/table.tsx';

const noRules: readonly LimitRule[] = [];
const ASK_EVERY_MS = 250;

export interface BackTestPanelProps {
  readonly id: string;
  readonly sessions: readonly SessionRow[];
  /** Goes to a time of this session. */
  readonly onPick: (t_us: number) => void;
}

export function BackTestPanel({ id, sessions, onPick }: BackTestPanelProps) {
  const rules = useStream('replay', (s) => s.layout?.rig.rules ?? noRules);
  const thresholds = rules.filter((rule): rule is ThresholdRule => rule.kind === 'threshold');
  const [ruleId, setRuleId] = useState<string | null>(null);
  const rule = thresholds.find((each) => each.id === ruleId) ?? thresholds[0];
  const [changed, setChanged] = useState<ThresholdRule | null>(null);
  const [isAll, setAll] = useState(false);
  const [job, setJob] = useState<string | null>(null);
  const [view, setView] = useState<BacktestView | null>(null);
  const [saved, setSaved] = useState('');

  useEffect(() => {
    if (job === null) return;
    const timer = setInterval(async () => {
      const answer = await request('backtest.result', { id: job });
      if (!answer.ok) {
        clearInterval(timer);
        setJob(null);
        tellError(answer.error);
        return;
      }
      setView(answer.value);
      if (answer.value.state !== 'running') {
        clearInterval(timer);
        setJob(null);
      }
    }, ASK_EVERY_MS);
    return () => clearInterval(timer);
  }, [job]);

  if (rule === undefined) return <p className="pane">The rig sheet of this session has no limit that can be tried.</p>;
  const tried = changed?.id === rule.id ? changed : rule;
  const start = async (): Promise<void> => {
    setSaved('');
    const begun = await ask('backtest.start', {
      sessions: isAll ? sessions.filter((each) => !each.isOpen).map((each) => each.id) : [id],
      rules: [tried],
    });
    if (begun === null) return;
    setView(null);
    setJob(begun.id);
  };
  const change = (part: Partial<ThresholdRule>): void => setChanged({ ...tried, ...part });

  return (
    <div className="back-test pane" data-testid="back-test">
      <p className="panel-lead">
        Change a limit and see when it would have tripped in what was recorded. Nothing of the recording changes.
      </p>
      <div className="back-test-form">
        <Field label="Limit">
          {(ids) => (
            <select
              {...ids}
              className="select"
              value={rule.id}
              onChange={(event) => setRuleId(event.target.value)}
              data-testid="back-test-rule"
            >
              {thresholds.map((each) => (
                <option key={each.id} value={each.id}>
                  {each.title} ({each.level}, {each.direction === 'high' ? 'above' : 'below'} {each.trip})
                </option>
              ))}
            </select>
          )}
        </Field>
        <NumberField
          label="Trips at"
          value={tried.trip}
          onChange={(trip) => change({ trip, reset: resetFor(tried, trip) })}
          testId="back-test-trip"
        />
        <NumberField
          label="Resets at"
          value={tried.reset}
          onChange={(reset) => change({ reset })}
          testId="back-test-reset"
        />
        <NumberField
          label="On-delay, ms"
          value={tried.onDelay_ms}
          onChange={(onDelay_ms) => change({ onDelay_ms })}
          testId="back-test-delay"
        />
        <label className="check">
          <input type="checkbox" checked={isAll} onChange={(event) => setAll(event.target.checked)} /> All recorded
          sessions ({sessions.filter((each) => !each.isOpen).length})
        </label>
        <Button tone="solid" onClick={() => void start()} disabled={job !== null} data-testid="back-test-start">
          Try it
        </Button>
      </div>
      {job !== null && (
        <Progress
          label="Trying the limit"
          value={view?.progress ?? 0}
          onCancel={() => void ask('backtest.cancel', { id: job })}
        />
      )}
      {view !== null && <Results view={view} rule={tried} id={id} onPick={onPick} />}
      {view?.state === 'done' && changed !== null && (
        <div className="session-acts">
          <Button
            onClick={async () => {
              const present = await ask('rig.get', {});
              if (present === null) return;
              const done = await ask('rig.save', {
                sheet: {
                  ...present.rig,
                  rules: present.rig.rules.map((each) => (each.id === changed.id ? changed : each)),
                },
                by: signedOn(),
                change: `${changed.title}: trips at ${changed.trip}, resets at ${changed.reset}, after a back-test`,
              });
              if (done !== null) setSaved(done.sentence);
            }}
            data-testid="back-test-save"
          >
            Take it into the rig sheet
          </Button>
          <span role="status" data-testid="back-test-saved">
            {saved}
          </span>
        </div>
      )}
    </div>
  );
}

/** The deadband keeps its width when the trip moves. */
function resetFor(rule: ThresholdRule, trip: number): number {
  return trip + (rule.reset - rule.trip);
}

function NumberField(props: {
  readonly label: string;
  readonly value: number;
  readonly onChange: (value: number) => void;
  readonly testId: string;
}) {
  return (
    <Field label={props.label}>
      {(ids) => (
        <input
          {...ids}
          className="input"
          type="number"
          step="any"
          value={props.value}
          onChange={(event) => {
            const value = event.target.valueAsNumber;
            if (Number.isFinite(value)) props.onChange(value);
          }}
          data-testid={props.testId}
        />
      )}
    </Field>
  );
}

interface ResultRow {
  readonly session: string;
  readonly result: RuleBackTest;
}

const resultColumns: readonly Column<ResultRow>[] = [
  { key: 'session', title: 'Session', cell: (row) => row.session },
  { key: 'count', title: 'Would trip', isNumber: true, cell: (row) => row.result.count },
  { key: 'was', title: 'Tripped then', isNumber: true, cell: (row) => row.result.recorded?.count ?? '–' },
  {
    key: 'first',
    title: 'First at',
    isNumber: true,
    cell: (row) => (row.result.first_us === null ? '–' : clockText(row.result.first_us)),
  },
  {
    key: 'earlier',
    title: 'Earlier by s',
    isNumber: true,
    cell: (row) => (row.result.earlier_s === null ? '–' : formatNumber(row.result.earlier_s, 1)),
  },
  {
    key: 'lead',
    title: 'Before an abort, s',
    isNumber: true,
    cell: (row) => (row.result.medianLead_s === null ? '–' : formatNumber(row.result.medianLead_s, 1)),
  },
  { key: 'unfollowed', title: 'For nothing', isNumber: true, cell: (row) => row.result.unfollowed },
];

function Results({
  view,
  rule,
  id,
  onPick,
}: {
  readonly view: BacktestView;
  readonly rule: LimitRule;
  readonly id: string;
  readonly onPick: (t_us: number) => void;
}) {
  const rows = view.results.flatMap((session) => {
    const result = session.rules.find((each) => each.ruleId === rule.id);
    return result === undefined ? [] : [{ session: session.session, result }];
  });
  const here = rows.find((row) => row.session === id);
  return (
    <div data-testid="back-test-results" data-state={view.state}>
      {view.sentence !== '' && <p role="status">{view.sentence}</p>}
      {view.state === 'cancelled' && <p role="status">Cancelled. What is shown was done before.</p>}
      <Table caption="Back-test" columns={resultColumns} rows={rows} keyOf={(row) => row.session} />
      {here !== undefined && !here.result.isJudged && <p>Nothing on this bench feeds the limit.</p>}
      {here !== undefined && here.result.trips.length > 0 && (
        <p>
          In this session at{' '}
          {here.result.trips.slice(0, 20).map((trip) => (
            <Button small key={`${trip.alarmId}@${trip.t_us}`} onClick={() => onPick(trip.t_us)}>
              {clockText(trip.t_us)}
            </Button>
          ))}
        </p>
      )}
    </div>
  );
}
