/** What became of the newest commands: sent, accepted, refused with the bench's reason, unanswered. */
import type { CommandRecord } from '../../shared-core/bridge/contract.ts';
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { commandWord } from './command-word.ts';

const outcomeWords: Readonly<Record<CommandRecord['outcome'], string>> = {
  sent: 'sent',
  accepted: 'accepted',
  refused: 'refused',
  unanswered: 'timed out',
};

export function CommandLine({ commands }: { readonly commands: readonly CommandRecord[] }) {
  const newest = [...commands].reverse().slice(0, 5);
  return (
    <ol className="command-line" aria-label="Newest commands" aria-live="polite" data-testid="commands">
      {newest.map((c) => (
        <li key={c.id} data-outcome={c.outcome} data-command={c.command.name}>
          {(c.outcome === 'refused' || c.outcome === 'unanswered') && <LevelMark level="caution" size={16} />}
          <time>{formatClock(c.sentAt_us / 1e6)}</time> {commandWord(c.command)}: <b>{outcomeWords[c.outcome]}</b>
          {c.reason !== '' && ` (${c.reason})`}
        </li>
      ))}
      {newest.length === 0 && <li>No commands yet in this session.</li>}
    </ol>
  );
}
