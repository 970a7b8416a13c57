/** A field for one number: what is written stays as written until it is one. */
import { useState } from 'react';
import { Field } from '../ui/field.tsx';
import { numberIn } from './sheet-fields.ts';

export interface NumberInputProps {
  readonly label: string;
  readonly value: number;
  readonly onChange: (value: number) => void;
  readonly hint?: string;
  /** Why the number cannot be used; shown only once it is one. */
  readonly error?: string | undefined;
  readonly testId: string;
}

/** Calls back with NaN while what stands there is no number. */
export function NumberInput({ label, value, onChange, hint, error, testId }: NumberInputProps) {
  const [written, setWritten] = useState<string | null>(null);
  const shown =
    written !== null && Object.is(numberIn(written), value)
      ? written
      : Number.isFinite(value)
        ? String(value)
        : (written ?? '');
  const wrong = shown !== '' && Number.isNaN(numberIn(shown)) ? `“${shown}” is no number.` : error;
  return (
    <Field label={label} {...(hint === undefined ? {} : { hint })} {...(wrong === undefined ? {} : { error: wrong })}>
      {(ids) => (
        <input
          {...ids}
          className="input"
          inputMode="decimal"
          value={shown}
          maxLength={24}
          autoComplete="off"
          onChange={(event) => {
            setWritten(event.target.value);
            onChange(numberIn(event.target.value));
          }}
          data-testid={testId}
        />
      )}
    </Field>
  );
}
