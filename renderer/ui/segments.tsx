/** A row of buttons of which one holds: speeds, filters of one choice. */
import './parts.css';

export interface SegmentsProps<T extends string | number> {
  readonly label: string;
  readonly options: readonly { readonly value: T; readonly text: string }[];
  readonly value: T | null;
  readonly onChoose: (value: T) => void;
  readonly disabled?: boolean;
  /** Each button gets `${testId}-${value}`. */
  readonly testId: string;
}

export function Segments<T extends string | number>({
  label,
  options,
  value,
  onChoose,
  disabled = false,
  testId,
}: SegmentsProps<T>) {
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset's legend cannot stand in the line.
    <div className="segment-row" role="group" aria-label={label} data-testid={testId}>
      {options.map((option) => (
        <button
          key={option.value}
          type="button"
          className="button small"
          aria-pressed={option.value === value}
          disabled={disabled}
          data-testid={`${testId}-${option.value}`}
          onClick={() => onChoose(option.value)}
        >
          {option.text}
        </button>
      ))}
    </div>
  );
}
