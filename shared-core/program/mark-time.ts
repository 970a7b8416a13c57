/**
 * Of which moment a mark is: that of the key press where the page told it,
 * since words take time to write; never later than it was recorded.
 */
import type { OperatorAction } from '../journal.ts';

/** @param recordedAt_us session time of the event that carries the mark */
export function markedAt_us(mark: Extract<OperatorAction, { kind: 'mark' }>, recordedAt_us: number): number {
  const { t_us } = mark;
  return t_us !== undefined && t_us >= 0 && t_us <= recordedAt_us ? t_us : recordedAt_us;
}
