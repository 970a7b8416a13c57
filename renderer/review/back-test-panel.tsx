/**
 * Back-test: a limit of the rig sheet, changed, tried on recorded sessions:
 * when it would have tripped, against what happened. It runs beside everything
 * else and can be cancelled; a rule that proves better goes into the rig sheet
 * as a new version. What is set up and found is kept in `back-test-store.ts`.
 */
import { useMemo } from 'react';
import type { SessionRow } from '../../shared-core/bridge/contract.ts';
import type { Channel } from '../../shared-core/channels/channel.ts';
import { ruleWarnings } from '../../shared-core/limits/rule-warnings.ts';
import { alarmLevels, type LimitRule } from '../../shared-core/limits/rules.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import { compareSheets } from '../../shared-core/rig/compare-sheets.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { ask } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { alarmsWords, runsWords } from '../logbook/session-words.ts';
import '../rig/rule-editor.css';
import { findingsOf, sheetWith } from '../rig/rule-findings.ts';
import { RuleForm } from '../rig/rule-form.tsx';
import { ruleWords } from '../rig/rule-words.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { formatClock, formatWallTime } from '../ui/format.ts';
import { levelWords } from '../ui/level-mark.tsx';
import { Progress } from '../ui/progress.tsx';
import { BackTestResults, LaneKey } from './back-test-results.tsx';
import { cancelBackTest, startBackTest, useBackTest } from './back-test-store.ts';

const noChannels: readonly Channel[] = [];
const noInputs: readonly DiscreteInput[] = [];

export interface BackTestPanelProps {
  readonly id: string;
  readonly sessions: readonly SessionRow[];
  /** Goes to a time of this session. */
  readonly onPick: (t_us: number) => void;
}

export function BackTestPanel({ id, sessions, onPick }: BackTestPanelProps) {
  const rig = useStream('replay', (s) => s.layout?.rig ?? null);
  const { ruleId, changed, view, tried, isRunning, saved, sessions: wished } = useBackTest();
  const recorded = useMemo(() => sessions.filter((each) => !each.isOpen), [sessions]);
  if (rig === null || rig.rules.length === 0) {
    return <p className="pane">The rig sheet of this session has no limit that can be tried.</p>;
  }
  const ordered = [...rig.rules].sort((a, b) => alarmLevels.indexOf(b.level) - alarmLevels.indexOf(a.level));
  const rule = ordered.find((each) => each.id === ruleId) ?? ordered[0]!;
  const draft = changed?.id === rule.id ? changed : rule;
  const { byField, others } = findingsOf(sheetWith(rig, draft), draft);
  const isRefused = byField.size > 0 || others.length > 0;
  const chosen = (wished ?? [id]).filter((each) => each === id || recorded.some((row) => row.id === each));

  return (
    <div className="back-test pane" data-testid="back-test">
      <div className="back-test-setup">
        <Field label="Limit" hint="As it was in force in this session. Nothing of the recording changes.">
          {(ids) => (
            <select
              {...ids}
              className="select"
              value={rule.id}
              onChange={(event) => useBackTest.setState({ ruleId: event.target.value, changed: null, saved: '' })}
              data-testid="back-test-rule"
            >
              {ordered.map((each) => (
                <option key={each.id} value={each.id}>
                  {each.title} ({levelWords[each.level].toLowerCase()})
                </option>
              ))}
            </select>
          )}
        </Field>
        <Draft rule={draft} errors={byField} />
        <Sessions id={id} rows={recorded} chosen={chosen} />
        <div className="rule-editor-acts">
          <Button
            tone="solid"
            onClick={() => void startBackTest(draft, chosen)}
            disabled={isRunning || isRefused || chosen.length === 0}
            data-testid="back-test-start"
          >
            {chosen.length === 1 ? 'Try it on 1 session' : `Try it on ${chosen.length} sessions`}
          </Button>
          {changed !== null && (
            <Button onClick={() => useBackTest.setState({ changed: null })} data-testid="back-test-undo">
              As it was
            </Button>
          )}
        </div>
        {others.map((each) => (
          <p key={each} className="field-error" role="alert">
            {each}
          </p>
        ))}
      </div>
      <div className="back-test-found">
        {isRunning && (
          <Progress
            label={`Trying the limit${view?.session ? ` on ${nameOf(sessions, view.session)}` : ''}`}
            value={view?.progress ?? 0}
            onCancel={cancelBackTest}
          />
        )}
        {view === null || tried === null ? (
          !isRunning && (
            <p className="muted">
              Change the limit, choose sessions, and try it: what it would have done is set against what happened.
            </p>
          )
        ) : (
          <>
            <LaneKey />
            <BackTestResults view={view} rule={tried} {...{ id, sessions, onPick }} />
            {view.state === 'done' && <TakeOver rig={rig} rule={tried} saved={saved} />}
          </>
        )}
      </div>
    </div>
  );
}

function Draft({ rule, errors }: { readonly rule: LimitRule; readonly errors: ReadonlyMap<string, string> }) {
  const channels = useStream('replay', (s) => s.layout?.channels ?? noChannels);
  const byKey = useStream('replay', (s) => s.byKey);
  const inputs = useStream('replay', (s) => s.snapshot?.inputs ?? noInputs);
  const form = {
    ...{ rule, channels, inputs, errors, testId: 'back-test' },
    onChange: (to: LimitRule) => useBackTest.setState({ changed: to, saved: '' }),
  };
  const heard = ruleWords(rule, byKey, inputs);
  return (
    <>
      <div className="rule-fields">
        <RuleForm {...form} part="limit" />
      </div>
      <details className="back-test-watch">
        <summary>Watches {heard.watches}</summary>
        <div className="rule-fields">
          <RuleForm {...form} part="watch" />
        </div>
      </details>
      <p className="muted">
        Trips {heard.trips}. Judged {heard.judged}.
      </p>
    </>
  );
}

function Sessions({
  id,
  rows,
  chosen,
}: {
  readonly id: string;
  readonly rows: readonly SessionRow[];
  readonly chosen: readonly string[];
}) {
  const choose = (sessions: readonly string[]): void => useBackTest.setState({ sessions });
  return (
    <fieldset className="back-test-sessions">
      <legend>Sessions</legend>
      <div className="session-acts">
        <Button small onClick={() => choose([id])} data-testid="back-test-this">
          This one
        </Button>
        <Button small onClick={() => choose(rows.map((row) => row.id))} data-testid="back-test-all">
          All {rows.length}
        </Button>
      </div>
      <div className="back-test-session-list">
        {rows.map((row) => (
          <label key={row.id} className="check">
            <input
              type="checkbox"
              checked={chosen.includes(row.id)}
              onChange={(event) =>
                choose(event.target.checked ? [...chosen, row.id] : chosen.filter((each) => each !== row.id))
              }
              data-testid={`back-test-session-${row.id}`}
            />
            <span>
              {formatWallTime(row.startedAt_epochMs)}
              {row.id === id ? ' (this one)' : ''}
              <span className="muted">
                {' '}
                {formatClock(row.duration_us / 1e6)}, {runsWords(row)}, {alarmsWords(row)}
              </span>
            </span>
          </label>
        ))}
        {!rows.some((row) => row.id === id) && <p className="muted">This session is still being recorded.</p>}
      </div>
    </fieldset>
  );
}

function nameOf(sessions: readonly SessionRow[], session: string): string {
  const row = sessions.find((each) => each.id === session);
  return row === undefined ? session : formatWallTime(row.startedAt_epochMs);
}

/** Into the sheet that was saved last, which may have gone on since this session. */
function TakeOver({ rig, rule, saved }: { readonly rig: RigSheet; readonly rule: LimitRule; readonly saved: string }) {
  const isChanged = compareSheets(rig, sheetWith(rig, rule)).length > 0;
  if (!isChanged && saved === '')
    return <p className="muted">The limit was tried as it is: there is nothing to take over.</p>;
  const warnings = ruleWarnings(rule);
  return (
    <div className="back-test-take">
      {warnings.length > 0 && (
        <ul className="rule-warnings">
          {warnings.map((each) => (
            <li key={each}>{each}</li>
          ))}
        </ul>
      )}
      <div className="session-acts">
        <Button
          disabled={saved !== ''}
          onClick={async () => {
            const present = await ask('rig.get', {});
            if (present === null) return;
            const sheet = sheetWith(present.rig, rule);
            const words = compareSheets(present.rig, sheet).map((each) => each.words);
            if (words.length === 0) {
              useBackTest.setState({ saved: `Version ${present.rig.version} of the rig sheet has it already.` });
              return;
            }
            const change = `After a back-test: ${words.join(' ')}`.slice(0, 200);
            const done = await ask('rig.save', { sheet, by: signedOn(), change });
            if (done !== null) useBackTest.setState({ saved: done.sentence });
          }}
          data-testid="back-test-save"
        >
          Take it into the rig sheet
        </Button>
        <span role="status" data-testid="back-test-saved">
          {saved}
        </span>
      </div>
    </div>
  );
}
