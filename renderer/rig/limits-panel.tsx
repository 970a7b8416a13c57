/**
 * The limits in force: every rule of the rig sheet, gravest first, with what
 * happens and what the operator does. Editing one is in `rule-editor.tsx`.
 */
import { useEffect, useRef, useState } from 'react';
import { alarmLevels, type LimitRule } from '../../shared-core/limits/rules.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { ask } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { LevelMark } from '../ui/level-mark.tsx';
import { RuleEditor } from './rule-editor.tsx';
import { blankRule, freeId, kindTitles, type RuleKind } from './rule-fields.ts';
import { durationWords, HARD_WIRED_SENTENCE, needsHardWiredTrip, ruleWords } from './rule-words.ts';

const noRules: readonly LimitRule[] = [];
const noInputs: readonly DiscreteInput[] = [];

export function LimitsPanel() {
  const rules = useStream('live', (s) => s.layout?.rig.rules ?? noRules);
  const byKey = useStream('live', (s) => s.byKey);
  const inputs = useStream('live', (s) => s.snapshot?.inputs ?? noInputs);
  const [sheet, setSheet] = useState<RigSheet | null>(null);
  const [edited, setEdited] = useState<LimitRule | null>(null);
  const [told, setTold] = useState('');
  const leftAt = useRef<string | null>(null);
  const inForce = useStream('live', (s) => s.layout?.rig.version ?? 0);
  // biome-ignore lint/correctness/useExhaustiveDependencies: another version in force, or one just saved, is a reason to look again.
  useEffect(() => {
    void ask('rig.get', {}).then((answer) => setSheet(answer?.rig ?? null));
  }, [inForce, told]);
  useEffect(() => {
    if (edited !== null || leftAt.current === null) return;
    // Back to where the hand was, now that the list stands again.
    document.querySelector<HTMLElement>(`[data-testid="edit-${leftAt.current}"]`)?.focus();
    leftAt.current = null;
  }, [edited]);
  if (sheet !== null && edited !== null) {
    return (
      <RuleEditor
        sheet={sheet}
        rule={edited}
        onDone={(sentence) => {
          setEdited(null);
          leftAt.current = edited.id;
          if (sentence !== null) setTold(sentence);
        }}
      />
    );
  }
  const bar = (
    <LimitsBar
      sheet={sheet}
      inForce={inForce}
      told={told}
      onNew={(kind) => {
        const first = [...byKey.keys()][0] ?? 'rpm';
        if (sheet !== null) setEdited(blankRule(kind, freeId(kind, sheet.rules), first, inputs[0]?.key ?? 'stop'));
      }}
    />
  );
  if (rules.length === 0) {
    return (
      <>
        <Empty title="No limits" data-testid="no-limits">
          This rig sheet holds no limit rules, so nothing is judged. Do not run an engine on it.
        </Empty>
        {bar}
      </>
    );
  }
  // Those that come with the next session stand among the others, and say so.
  const added = sheet?.rules.filter((each) => !rules.some((rule) => rule.id === each.id)) ?? [];
  const inOrder = [...rules, ...added].sort((a, b) => alarmLevels.indexOf(b.level) - alarmLevels.indexOf(a.level));
  return (
    <>
      <p className="panel-lead">{rules.length} rules. A sensor that fails counts as over its limit.</p>
      {bar}
      <table className="table limit-table" data-testid="limit-table">
        <caption className="sr-only">Limits in force, gravest first</caption>
        <thead>
          <tr>
            <th scope="col">Level</th>
            <th scope="col">Limit</th>
            <th scope="col">Trips</th>
            <th scope="col">Resets</th>
            <th scope="col">Judged</th>
            <th scope="col">If nobody acts, and what to do</th>
            <th scope="col" className="number">
              Time to act
            </th>
          </tr>
        </thead>
        <tbody>
          {inOrder.map((rule) => {
            const words = ruleWords(rule, byKey, inputs);
            return (
              <tr key={rule.id} data-testid={`limit-${rule.id}`}>
                <td>
                  <LevelMark level={rule.level} withWord />
                </td>
                <th scope="row">
                  {rule.title}
                  <span className="muted below">{words.watches}</span>
                  {rule.latch && <span className="below">latched until reset by hand</span>}
                </th>
                <td>{words.trips}</td>
                <td>{words.resets}</td>
                <td>{words.judged}</td>
                <td>
                  {rule.consequence}
                  <span className="below">
                    <b>{rule.operatorAction}</b>
                  </span>
                  {needsHardWiredTrip(rule) && (
                    <span className="hard-wired" data-testid={`hard-wired-${rule.id}`}>
                      {HARD_WIRED_SENTENCE}
                    </span>
                  )}
                </td>
                <td className="number">
                  {durationWords(rule.timeToAct_s)}
                  <EditAct rule={rule} isAdded={added.includes(rule)} sheet={sheet} onEdit={setEdited} />
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </>
  );
}

/** What was saved last, and the way to a new limit. */
function LimitsBar({
  sheet,
  inForce,
  told,
  onNew,
}: {
  readonly sheet: RigSheet | null;
  readonly inForce: number;
  readonly told: string;
  readonly onNew: (kind: RuleKind) => void;
}) {
  const [kind, setKind] = useState<RuleKind>('threshold');
  return (
    <div className="limits-bar">
      <span role="status" data-testid="limits-told">
        {told !== ''
          ? told
          : sheet !== null && inForce !== 0 && sheet.version !== inForce
            ? `Version ${inForce} is in force; version ${sheet.version} was saved and comes with the next session.`
            : 'A changed limit is saved as a new version of the rig sheet, in force from the next session.'}
      </span>
      <select
        className="select"
        aria-label="Kind of the new limit"
        value={kind}
        onChange={(event) => setKind(event.target.value as RuleKind)}
        data-testid="new-limit-kind"
      >
        {Object.entries(kindTitles).map(([each, title]) => (
          <option key={each} value={each}>
            {title}
          </option>
        ))}
      </select>
      <Button small onClick={() => onNew(kind)} disabled={sheet === null} data-testid="new-limit">
        New limit…
      </Button>
    </div>
  );
}

/** Edits what was saved last, which may be newer than what is in force. */
function EditAct({
  rule,
  isAdded,
  sheet,
  onEdit,
}: {
  readonly rule: LimitRule;
  /** Not in force yet. */
  readonly isAdded: boolean;
  readonly sheet: RigSheet | null;
  readonly onEdit: (rule: LimitRule) => void;
}) {
  const saved = sheet?.rules.find((each) => each.id === rule.id);
  if (sheet !== null && saved === undefined) return <span className="below muted">removed in the next version</span>;
  const isOther = saved !== undefined && JSON.stringify(saved) !== JSON.stringify(rule);
  return (
    <>
      <Button
        small
        className="limit-edit"
        disabled={saved === undefined}
        onClick={() => saved !== undefined && onEdit(saved)}
        aria-label={`Edit ${rule.title}`}
        data-testid={`edit-${rule.id}`}
      >
        Edit…
      </Button>
      {isAdded && <span className="below muted">new in the next version</span>}
      {isOther && <span className="below muted">changed in the next version</span>}
    </>
  );
}
