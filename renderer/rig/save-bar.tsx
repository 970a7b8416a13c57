/** What a change is called, and the one button that saves it; errors stand beside it, nothing is lost. */
import { useState } from 'react';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { saveSheet, useSavedSheet } from './sheet-store.ts';

export interface SaveBarProps {
  /** The whole edited sheet; null while it cannot be saved. */
  readonly next: RigSheet | null;
  /** Words for the change unless the person writes others. */
  readonly change: string;
  readonly onSaved?: () => void;
  readonly onLeave?: () => void;
  readonly leaveText?: string;
  readonly testId: string;
}

export function SaveBar({ next, change, onSaved, onLeave, leaveText = 'Leave unchanged', testId }: SaveBarProps) {
  const [words, setWords] = useState<string | null>(null);
  const [trouble, setTrouble] = useState('');
  const [isBusy, setBusy] = useState(false);
  const shown = words ?? change.slice(0, 200);
  const save = async (): Promise<void> => {
    if (next === null) return;
    setBusy(true);
    const error = await saveSheet(next, shown);
    setBusy(false);
    setTrouble(error === null ? '' : `${error.sentence} ${error.remedy}`);
    if (error !== null) return;
    setWords(null);
    onSaved?.();
  };
  return (
    <div className="save-bar" data-testid={`${testId}-bar`}>
      <Field label="What was changed" hint="Kept with the version. It takes effect with the next session.">
        {(ids) => (
          <input
            {...ids}
            className="input"
            maxLength={200}
            value={shown}
            onChange={(event) => setWords(event.target.value)}
            data-testid={`${testId}-change`}
          />
        )}
      </Field>
      <div className="save-bar-acts">
        <Button
          tone="solid"
          disabled={next === null || isBusy || shown.trim() === ''}
          onClick={() => void save()}
          data-testid={`${testId}-save`}
        >
          Save
        </Button>
        {onLeave && (
          <Button onClick={onLeave} data-testid={`${testId}-leave`}>
            {leaveText}
          </Button>
        )}
      </div>
      {trouble !== '' && (
        <p className="field-error" role="alert" data-testid={`${testId}-trouble`}>
          {trouble}
        </p>
      )}
    </div>
  );
}

/** What was said on the last saving, and whether a newer version waits for the next session. */
export function SheetTold() {
  const { sheet, inForce, told } = useSavedSheet();
  const waits = sheet !== null && inForce !== null && sheet.version !== inForce;
  const words =
    told !== ''
      ? told
      : waits
        ? `Version ${inForce} is in force; version ${sheet.version} was saved and takes effect with the next session.`
        : '';
  return (
    <p className="sheet-told" role="status" data-testid="sheet-told">
      {words}
    </p>
  );
}
