/** Progress of long work, with a way to cancel it. */
import { Button } from './button.tsx';

export interface ProgressProps {
  readonly label: string;
  /** 0 to 1; null while its length is unknown. */
  readonly value: number | null;
  readonly onCancel?: () => void;
}

export function Progress({ label, value, onCancel }: ProgressProps) {
  return (
    <div className="progress">
      <span className="progress-label">{label}</span>
      <progress aria-label={label} max={1} {...(value === null ? {} : { value })} />
      <span className="progress-number">{value === null ? '' : `${Math.round(value * 100)}\u2009%`}</span>
      {onCancel && (
        <Button small onClick={onCancel}>
          Cancel
        </Button>
      )}
    </div>
  );
}
