/** How outputs stand, in a few words: for how long, until when, or why they are locked. Pure. */
import type { OutputsView } from '../../shared-core/bridge/contract.ts';
import { formatClock } from '../ui/format.ts';

export function outputsWord(outputs: OutputsView): string {
  if (outputs.unavailable !== undefined) return outputs.unavailable;
  const falls = outputs.falls_s === null ? null : formatClock(Math.ceil(outputs.falls_s));
  if (outputs.live) {
    const live = `Live for ${formatClock(outputs.liveFor_s)}`;
    return falls === null ? `${live}, while the engine turns.` : `${live}, locks in ${falls} without a command.`;
  }
  if (outputs.kept) return `Locked: ${outputs.why}${falls === null ? '' : `, at most ${falls} more`}.`;
  return outputs.why === '' ? 'Locked since the start.' : `Locked: ${outputs.why}.`;
}
