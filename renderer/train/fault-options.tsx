/** What can be set before a fault goes in: onset, severity, ramp, and what is its own. */
import { useState } from 'react';
import type { FaultInfo } from '../../shared-core/bridge/contract.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { optionFault, optionsOf } from './fault-option-values.ts';

function labelOf({ label, unit }: FaultInfo['parameters'][number]): string {
  const word = label.charAt(0).toUpperCase() + label.slice(1);
  return unit === '1' ? word : `${word}, ${unit}`;
}

export function FaultOptions({
  fault,
  onPutIn,
}: {
  readonly fault: FaultInfo;
  readonly onPutIn: (options: Record<string, number>) => void;
}) {
  const [texts, setTexts] = useState<Readonly<Record<string, string>>>({});
  const options = optionsOf(fault.parameters, texts);
  return (
    <form
      className="fault-options"
      onSubmit={(e) => {
        e.preventDefault();
        if (options !== null) onPutIn(options);
      }}
    >
      <p className="muted">
        <b>Betrays itself:</b> {fault.trace}
      </p>
      <div className="fault-fields">
        {fault.parameters.map((each) => {
          const text = texts[each.key] ?? String(each.usual);
          const wrong = optionFault(each, text);
          return (
            <Field
              key={each.key}
              label={labelOf(each)}
              {...(wrong === '' ? { hint: `${each.low} to ${each.high}` } : { error: wrong })}
            >
              {(ids) => (
                <input
                  {...ids}
                  className="input"
                  inputMode="decimal"
                  value={text}
                  onChange={(e) => setTexts({ ...texts, [each.key]: e.target.value })}
                  data-testid={`option-${each.key}`}
                />
              )}
            </Field>
          );
        })}
      </div>
      <Button type="submit" small tone="solid" disabled={options === null} data-testid="put-in-with-options">
        Put in so
      </Button>
    </form>
  );
}
