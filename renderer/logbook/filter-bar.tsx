/** The filter of the log book: words, rig sheet, engine, tag, days, and what a session must hold. */
import { Button } from '../ui/button.tsx';
import { type FilterChoices, noFilter, type SessionFilter } from './session-filter.ts';

export interface FilterBarProps {
  readonly filter: SessionFilter;
  readonly choices: FilterChoices;
  readonly onChange: (filter: SessionFilter) => void;
  readonly shown: number;
  readonly all: number;
  readonly binned: number;
  readonly isBin: boolean;
  readonly onBin: (isBin: boolean) => void;
}

export function FilterBar({ filter, choices, onChange, shown, all, binned, isBin, onBin }: FilterBarProps) {
  const change = (part: Partial<SessionFilter>): void => onChange({ ...filter, ...part });
  return (
    // biome-ignore lint/a11y/useSemanticElements: <search> is not yet known to every reader.
    <div className="logbook-filter" role="search">
      <label className="sr-only" htmlFor="logbook-text">
        Filter by text
      </label>
      <input
        id="logbook-text"
        className="input"
        type="search"
        placeholder="Filter: date, source, rig, tag, note"
        value={filter.text}
        onChange={(e) => change({ text: e.target.value })}
        data-testid="filter-text"
      />
      <Choice
        label="Rig sheet"
        all="Any rig sheet"
        value={filter.rig}
        options={choices.rigs}
        onChange={(rig) => change({ rig })}
        testId="filter-rig"
      />
      <Choice
        label="Engine"
        all="Any engine"
        value={filter.engine}
        options={choices.engines}
        onChange={(engine) => change({ engine })}
        testId="filter-engine"
      />
      <Choice
        label="Tag"
        all="Any tag"
        value={filter.tag}
        options={choices.tags}
        onChange={(tag) => change({ tag })}
        testId="filter-tag"
      />
      <label className="filter-day">
        From{' '}
        <input
          className="input"
          type="date"
          value={filter.fromDay}
          max={filter.toDay || undefined}
          onChange={(e) => change({ fromDay: e.target.value })}
          data-testid="filter-from"
        />
      </label>
      <label className="filter-day">
        to{' '}
        <input
          className="input"
          type="date"
          value={filter.toDay}
          min={filter.fromDay || undefined}
          onChange={(e) => change({ toDay: e.target.value })}
          data-testid="filter-to"
        />
      </label>
      <Check
        label="With runs"
        isOn={filter.onlyWithRuns}
        onChange={(onlyWithRuns) => change({ onlyWithRuns })}
        testId="filter-runs"
      />
      <Check
        label="With alarms"
        isOn={filter.onlyWithAlarms}
        onChange={(onlyWithAlarms) => change({ onlyWithAlarms })}
        testId="filter-alarms"
      />
      <Check
        label="Kept by hand"
        isOn={filter.onlyKept}
        onChange={(onlyKept) => change({ onlyKept })}
        testId="filter-kept"
      />
      <span className="muted" role="status" data-testid="filter-count">
        {countWords(shown, all)}
      </span>
      {shown < all && (
        <Button small tone="quiet" onClick={() => onChange(noFilter)} data-testid="filter-none">
          Show all
        </Button>
      )}
      {(binned > 0 || isBin) && (
        <Button small aria-pressed={isBin} onClick={() => onBin(!isBin)} data-testid="show-bin">
          Bin ({binned})
        </Button>
      )}
    </div>
  );
}

function countWords(shown: number, all: number): string {
  if (shown < all) return `${shown} of ${all} sessions`;
  return all === 1 ? '1 session' : `${all} sessions`;
}

interface ChoiceProps {
  readonly label: string;
  readonly all: string;
  readonly value: string;
  readonly options: readonly string[];
  readonly onChange: (value: string) => void;
  readonly testId: string;
}

/** Nothing is drawn where there is nothing to choose. */
function Choice({ label, all, value, options, onChange, testId }: ChoiceProps) {
  if (options.length < 2 && value === '' && !(testId === 'filter-tag' && options.length > 0)) return null;
  return (
    <select
      className="select"
      aria-label={label}
      value={value}
      onChange={(e) => onChange(e.target.value)}
      data-testid={testId}
    >
      <option value="">{all}</option>
      {options.map((option) => (
        <option key={option} value={option}>
          {option}
        </option>
      ))}
    </select>
  );
}

interface CheckProps {
  readonly label: string;
  readonly isOn: boolean;
  readonly onChange: (isOn: boolean) => void;
  readonly testId: string;
}

function Check({ label, isOn, onChange, testId }: CheckProps) {
  return (
    <label className="check">
      <input type="checkbox" checked={isOn} onChange={(e) => onChange(e.target.checked)} data-testid={testId} />
      {label}
    </label>
  );
}
