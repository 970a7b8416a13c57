/**
 * Editor of one limit: its fields, what it would do at this moment, what the
 * rig sheet's reader refuses, what a person must be told. It edits the sheet
 * that was saved last; saving makes the next version, in force from the next
 * session. Parts of the form are in `rule-form.tsx` and `rule-base-form.tsx`.
 */
import { useEffect, useMemo, useRef, useState } from 'react';
import { ruleWarnings } from '../../shared-core/limits/rule-warnings.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import { compareSheets } from '../../shared-core/rig/compare-sheets.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { request } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Confirm } from '../ui/confirm.tsx';
import { Field } from '../ui/field.tsx';
import { LevelMark } from '../ui/level-mark.tsx';
import { RuleBaseForm } from './rule-base-form.tsx';
import './rule-editor.css';
import { kindTitles } from './rule-fields.ts';
import { findingsOf, sheetWith } from './rule-findings.ts';
import { RuleForm } from './rule-form.tsx';
import { RuleMoment } from './rule-moment.tsx';
import { ruleWords } from './rule-words.ts';

const noInputs: readonly DiscreteInput[] = [];
const noChannels: readonly never[] = [];

export interface RuleEditorProps {
  /** Saved last. */
  readonly sheet: RigSheet;
  /** As it is in the sheet, or a new one. */
  readonly rule: LimitRule;
  readonly onDone: (sentence: string | null) => void;
}

export function RuleEditor({ sheet, rule, onDone }: RuleEditorProps) {
  const [draft, setDraft] = useState(rule);
  const [words, setWords] = useState<string | null>(null);
  const [trouble, setTrouble] = useState<readonly string[]>([]);
  const [isBusy, setBusy] = useState(false);
  const [isRemoving, setRemoving] = useState(false);
  /** Nothing is red before it was touched or sent. */
  const [isShown, setShown] = useState(false);
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  const byKey = useStream('live', (s) => s.byKey);
  const inputs = useStream('live', (s) => s.snapshot?.inputs ?? noInputs);
  const isNew = !sheet.rules.some((each) => each.id === rule.id);
  const next = useMemo(() => sheetWith(sheet, draft), [sheet, draft]);
  const { byField, others } = useMemo(() => findingsOf(next, draft), [next, draft]);
  const isRefused = byField.size > 0 || others.length > 0;
  const said = isRefused ? [] : compareSheets(sheet, next).map((each) => each.words);
  const change = words ?? said.join(' ').slice(0, 200);
  const errors = isNew && !isShown ? new Map<string, string>() : byField;
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    // The list that was left may have been scrolled far down.
    head.current?.focus();
    head.current?.scrollIntoView({ block: 'end' });
  }, []);

  const edit = (to: LimitRule): void => {
    setDraft(to);
    setTrouble([]);
  };
  const save = async (to: RigSheet, why: string): Promise<void> => {
    setBusy(true);
    const answer = await request('rig.save', { sheet: to, by: signedOn(), change: why });
    setBusy(false);
    if (answer.ok) onDone(answer.value.sentence);
    else setTrouble([answer.error.sentence, answer.error.remedy].filter((each) => each !== ''));
  };
  const heard = ruleWords(draft, byKey, inputs);

  return (
    <form
      className="rule-editor"
      data-testid="rule-editor"
      data-rule={rule.id}
      onSubmit={(event) => {
        event.preventDefault();
        setShown(true);
        if (!isRefused && said.length > 0 && change.trim() !== '') void save(next, change.trim());
      }}
    >
      <header className="rule-editor-head">
        <LevelMark level={draft.level} size={24} />
        <h2 ref={head} tabIndex={-1}>
          {isNew ? `New limit: ${kindTitles[draft.kind].toLowerCase()}` : draft.title || rule.title}
        </h2>
        <span className="muted">
          {kindTitles[draft.kind]} · sheet version {sheet.version}
        </span>
      </header>
      <div className="rule-editor-body">
        <div className="rule-editor-form">
          <fieldset className="rule-part">
            <legend>What it watches, and when it trips</legend>
            <div className="rule-fields">
              {(['watch', 'limit'] as const).map((part) => (
                <RuleForm
                  key={part}
                  {...{ rule: draft, onChange: edit, channels, inputs, part, errors, testId: 'rule' }}
                />
              ))}
            </div>
          </fieldset>
          <RuleBaseForm rule={draft} onChange={edit} plans={sheet.plans} errors={errors} />
        </div>
        <aside className="rule-editor-side" aria-label="What this limit does">
          <RuleMoment rule={draft} />
          <dl className="rule-heard">
            <dt>Trips</dt>
            <dd>{heard.trips}</dd>
            <dt>Resets</dt>
            <dd>
              {heard.resets}
              {draft.latch ? ', and by hand' : ''}
            </dd>
            <dt>Judged</dt>
            <dd>{heard.judged}</dd>
          </dl>
          {!isRefused && <Warnings rule={draft} />}
          {isShown && others.length > 0 && (
            <ul className="rule-refused" role="alert" data-testid="rule-refused">
              {others.map((each) => (
                <li key={each}>{each}</li>
              ))}
            </ul>
          )}
          <Field label="What was changed" hint="Kept with the version, and shown in its history.">
            {(ids) => (
              <textarea
                {...ids}
                className="input"
                rows={3}
                maxLength={200}
                value={change}
                onChange={(event) => setWords(event.target.value)}
                data-testid="rule-change"
              />
            )}
          </Field>
          {trouble.length > 0 && (
            <p className="field-error" role="alert" data-testid="rule-trouble">
              {trouble.join(' ')}
            </p>
          )}
          <div className="rule-editor-acts">
            <Button
              tone="solid"
              type="submit"
              disabled={isBusy || (!isNew && (isRefused || said.length === 0))}
              data-testid="rule-save"
            >
              Save as version {sheet.version + 1}
            </Button>
            <Button onClick={() => onDone(null)} data-testid="rule-leave">
              {said.length > 0 ? 'Leave unchanged' : 'Back'}
            </Button>
            {!isNew && (
              <Button tone="quiet" onClick={() => setRemoving(true)} data-testid="rule-remove">
                Remove…
              </Button>
            )}
          </div>
          {said.length === 0 && !isRefused && <p className="muted">Nothing is changed yet.</p>}
          {isShown && isRefused && (
            <p className="field-error" role="alert">
              Not saved: {byField.size + others.length} {byField.size + others.length === 1 ? 'thing is' : 'things are'}{' '}
              to be put right.
            </p>
          )}
        </aside>
      </div>
      <Confirm
        title={`Remove “${rule.title}”?`}
        isOpen={isRemoving}
        actText="Remove this limit"
        onClose={() => setRemoving(false)}
        onAct={() => {
          const left = { ...sheet, rules: sheet.rules.filter((each) => each.id !== rule.id) };
          void save(left, `Rule “${rule.title}” removed.`.slice(0, 200));
        }}
      >
        <p>
          From the next session nothing watches for it: {rule.consequence} Recorded sessions and earlier versions of the
          sheet keep it.
        </p>
      </Confirm>
    </form>
  );
}

function Warnings({ rule }: { readonly rule: LimitRule }) {
  const warnings = ruleWarnings(rule);
  if (warnings.length === 0) return null;
  return (
    <ul className="rule-warnings" data-testid="rule-warnings">
      {warnings.map((each) => (
        <li key={each}>{each}</li>
      ))}
    </ul>
  );
}
