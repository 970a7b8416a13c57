/** Edits engine, propeller, stand, site, fuel and run detection of a rig sheet, or of a new one. */
import { useEffect, useMemo, useRef, useState } from 'react';
import { compareSheets } from '../../shared-core/rig/compare-sheets.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { Field } from '../ui/field.tsx';
import { SaveBar } from './save-bar.tsx';
import { draftOf, readDraft, sheetParts } from './sheet-fields.ts';

export interface SheetEditorProps {
  readonly sheet: RigSheet;
  /** Not saved yet: what it is, in a sentence. */
  readonly isNew: boolean;
  readonly onDone: () => void;
}

export function SheetEditor({ sheet, isNew, onDone }: SheetEditorProps) {
  const [draft, setDraft] = useState(() => draftOf(sheet));
  const [touched, setTouched] = useState<ReadonlySet<string>>(new Set());
  const { sheet: next, errors, others } = useMemo(() => readDraft(sheet, draft), [sheet, draft]);
  const said = next === null ? [] : compareSheets(sheet, next).map((each) => each.words);
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => head.current?.focus(), []);
  return (
    <form className="sheet-editor" data-testid="sheet-editor" onSubmit={(event) => event.preventDefault()}>
      <h2 ref={head} tabIndex={-1}>
        {isNew ? 'New rig' : `${sheet.name}, from version ${sheet.version}`}
      </h2>
      {isNew && (
        <p className="demo-notice">
          Limits, advisory plans and checklists are a start to edit: they are ours and invented.{' '}
          <b>Set every limit from the maker's manual before the first start.</b>
        </p>
      )}
      <div className="sheet-columns">
        {sheetParts.map((part) => (
          <fieldset key={part.title} className="sheet-part">
            <legend>{part.title}</legend>
            <div className="sheet-part-fields">
              {part.fields.map((field) => {
                const error = !isNew || touched.has(field.path) ? errors.get(field.path) : undefined;
                return (
                  <Field
                    key={field.path}
                    label={field.unit === '' ? field.label : `${field.label}, ${field.unit}`}
                    {...(field.hint === undefined ? {} : { hint: field.hint })}
                    {...(error === undefined ? {} : { error })}
                  >
                    {(ids) => (
                      <input
                        {...ids}
                        className="input"
                        inputMode={field.kind === 'number' ? 'decimal' : undefined}
                        maxLength={200}
                        value={draft[field.path] ?? ''}
                        onChange={(event) => {
                          setDraft({ ...draft, [field.path]: event.target.value });
                          setTouched(new Set([...touched, field.path]));
                        }}
                        data-testid={`sheet-${field.path}`}
                      />
                    )}
                  </Field>
                );
              })}
            </div>
          </fieldset>
        ))}
      </div>
      {others.length > 0 && (
        <ul className="rule-refused" role="alert" data-testid="sheet-refused">
          {others.map((each) => (
            <li key={each}>{each}</li>
          ))}
        </ul>
      )}
      {errors.size > 0 && (
        <p className="muted" data-testid="sheet-left">
          {errors.size} {errors.size === 1 ? 'field is' : 'fields are'} to be filled in or put right.
        </p>
      )}
      {next !== null && !isNew && said.length === 0 && <p className="muted">Nothing is changed yet.</p>}
      <SaveBar
        next={isNew || said.length > 0 ? next : null}
        change={isNew ? `New rig ${next?.name ?? ''}.` : said.join(' ')}
        onSaved={onDone}
        onLeave={onDone}
        leaveText={said.length > 0 || isNew ? 'Leave unchanged' : 'Back'}
        testId="sheet"
      />
    </form>
  );
}
