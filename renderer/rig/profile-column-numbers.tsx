/** Scale, offset, decimals, range and "no reading" marks of one column of a foreign bench. */
import type { MissingState, ProfileColumn } from '../../shared-core/line/profile/line-profile.ts';
import { Button } from '../ui/button.tsx';
import { NumberInput } from './number-input.tsx';

const states: readonly { readonly state: MissingState; readonly words: string }[] = [
  { state: 'open', words: 'open circuit' },
  { state: 'short', words: 'short circuit' },
  { state: 'over', words: 'over range' },
  { state: 'under', words: 'under range' },
  { state: 'stale', words: 'no reading' },
];

export function ColumnNumbers({
  column,
  onChange,
  onLeaveOut,
}: {
  readonly column: ProfileColumn;
  readonly onChange: (part: Partial<ProfileColumn>) => void;
  readonly onLeaveOut: (() => void) | undefined;
}) {
  const { missing } = column;
  const number = (key: 'scale' | 'offset' | 'decimals' | 'low' | 'high', label: string) => (
    <NumberInput
      key={key}
      label={label}
      value={column[key]}
      onChange={(value) => onChange({ [key]: value })}
      testId={`profile-${key}`}
    />
  );
  return (
    <fieldset className="column-numbers" data-testid="column-numbers">
      <legend>Numbers of {column.key}: value × scale + offset, in the unit</legend>
      <div>
        {number('scale', 'Scale')}
        {number('offset', 'Offset')}
        {number('decimals', 'Decimals kept')}
        {number('low', 'Range from')}
        {number('high', 'Range to')}
      </div>
      <div>
        {missing.map((mark, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: marks have nothing of their own but their place.
          <div key={i} className="missing-mark">
            <input
              className="input"
              aria-label={`Mark ${i + 1} for no reading`}
              value={mark.text}
              maxLength={24}
              onChange={(e) =>
                onChange({ missing: missing.map((each, k) => (k === i ? { ...each, text: e.target.value } : each)) })
              }
            />
            <select
              className="select"
              aria-label={`Meaning of mark ${i + 1}`}
              value={mark.state}
              onChange={(e) =>
                onChange({
                  missing: missing.map((each, k) =>
                    k === i ? { ...each, state: e.target.value as MissingState } : each,
                  ),
                })
              }
            >
              {states.map(({ state, words }) => (
                <option key={state} value={state}>
                  {words}
                </option>
              ))}
            </select>
          </div>
        ))}
        <Button small onClick={() => onChange({ missing: [...missing, { text: '', state: 'stale' }] })}>
          Add a mark for “no reading”
        </Button>
        {onLeaveOut && (
          <Button small tone="quiet" onClick={onLeaveOut} data-testid="leave-column-out">
            Leave this column out
          </Button>
        )}
      </div>
    </fieldset>
  );
}
