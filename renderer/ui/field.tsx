/** A labelled field. The control is a child that takes the given id. */
import { type ReactNode, useId } from 'react';

export interface FieldProps {
  readonly label: string;
  readonly hint?: string;
  /** What is wrong with what was entered. */
  readonly error?: string;
  readonly children: (ids: {
    readonly id: string;
    readonly 'aria-describedby': string | undefined;
    readonly 'aria-invalid': boolean;
  }) => ReactNode;
}

export function Field({ label, hint, error, children }: FieldProps) {
  const id = useId();
  const below = error ?? hint;
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      {children({ id, 'aria-describedby': below ? `${id}-below` : undefined, 'aria-invalid': error !== undefined })}
      {below && (
        <p id={`${id}-below`} className={error ? 'field-error' : 'field-hint'} role={error ? 'alert' : undefined}>
          {below}
        </p>
      )}
    </div>
  );
}
