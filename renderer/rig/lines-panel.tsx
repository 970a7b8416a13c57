/**
 * The bench's lines as they come: raw, taken apart, and what became of each.
 * Asked for four times a second while this is looked at; the newest 200 are
 * kept. Pausing stops the picture, not the acquisition.
 */
import { useEffect, useRef, useState } from 'react';
import type { HeardLine } from '../../shared-core/bridge/contract.ts';
import { request } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { Segments } from '../ui/segments.tsx';
import { faultWords } from './fault-words.ts';
import { readLine } from './line-fields.ts';

const ASK_EVERY_MS = 250;
const KEPT = 200;
/** Drawn at once; the rest is there when paused. */
const SHOWN_LIVE = 60;

type Filter = 'all' | 'faults' | 'others';
const filters = [
  { value: 'all', text: 'All' },
  { value: 'faults', text: 'Faults' },
  { value: 'others', text: 'No samples' },
] as const;

const noChannels: readonly never[] = [];

export function LinesPanel() {
  const isPort = useStream('live', (s) => (s.snapshot?.source.kind ?? 'none') !== 'none');
  const bench = useStream('live', (s) => s.snapshot?.identity?.firmware ?? '');
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  const profile = useStream('live', (s) => (bench === 'by-profile' ? (s.layout?.rig.profile ?? null) : null));
  const [lines, setLines] = useState<readonly HeardLine[]>([]);
  const [isPaused, setPaused] = useState(false);
  const [filter, setFilter] = useState<Filter>('all');
  const since = useRef(0);

  useEffect(() => {
    if (isPaused || !isPort) return;
    let isGone = false;
    const look = async (): Promise<void> => {
      const answer = await request('rig.lines', { since: since.current });
      if (isGone || !answer.ok) return;
      const { lines: more, next } = answer.value;
      // A new session counts from the beginning again.
      const isNew = next < since.current;
      since.current = next;
      if (isNew) setLines([]);
      else if (more.length > 0) setLines((before) => [...before, ...more].slice(-KEPT));
    };
    void look();
    const timer = setInterval(() => void look(), ASK_EVERY_MS);
    return () => {
      isGone = true;
      clearInterval(timer);
    };
  }, [isPaused, isPort]);

  if (!isPort) {
    return (
      <Empty title="No lines" data-testid="no-lines">
        Connect a bench at the left: each of its lines then stands here, taken apart.
      </Empty>
    );
  }
  const fitting = lines.filter((line) =>
    filter === 'faults' ? isFault(line) : filter === 'others' ? isFault(line) || !line.text.startsWith('S ') : true,
  );
  const shown = isPaused ? fitting : fitting.slice(-SHOWN_LIVE);
  return (
    <div className="lines" data-testid="lines">
      <div className="lines-bar">
        <Button small aria-pressed={isPaused} onClick={() => setPaused(!isPaused)} data-testid="lines-pause">
          {isPaused ? 'Go on' : 'Pause'}
        </Button>
        <Segments label="Which lines" options={filters} value={filter} onChoose={setFilter} testId="lines-filter" />
        <span className="muted" role="status" data-testid="lines-count">
          {isPaused ? `Paused at ${lines.length} lines; the recording goes on.` : 'Newest first, as they come.'}
        </span>
      </div>
      <table className="table lines-table" data-testid="lines-table">
        <caption className="sr-only">Lines of the bench, newest first</caption>
        <thead>
          <tr>
            <th scope="col" className="number">
              No.
            </th>
            <th scope="col">What became of it</th>
            <th scope="col">Raw, and taken apart</th>
          </tr>
        </thead>
        <tbody>
          {shown.toReversed().map((line) => {
            const reading = isFault(line) ? { kind: '', fields: [] } : readLine(line.text, channels, profile);
            return (
              <tr key={line.n} data-outcome={line.outcome} data-testid={isFault(line) ? 'line-fault' : 'line'}>
                <td className="number">{line.n}</td>
                <td>
                  <Outcome line={line} kind={reading.kind} />
                </td>
                <td>
                  <code>{line.text === '' ? '(empty)' : line.text}</code>
                  {reading.fields.length > 0 && (
                    <span className="line-fields">
                      {reading.fields.map((field, i) => (
                        // biome-ignore lint/suspicious/noArrayIndexKey: fields have no names of their own but their place.
                        <span key={i}>
                          <span className="muted">{field.name}</span> {field.text}
                        </span>
                      ))}
                    </span>
                  )}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
      {shown.length === 0 && <p className="muted">{lines.length === 0 ? 'Nothing has come yet.' : 'None of these.'}</p>}
    </div>
  );
}

function isFault(line: HeardLine): boolean {
  return line.outcome !== 'used' && line.outcome !== 'passed';
}

function Outcome({ line, kind }: { readonly line: HeardLine; readonly kind: string }) {
  const { outcome } = line;
  return (
    <>
      {outcome === 'used' ? (
        kind || 'used'
      ) : outcome === 'passed' ? (
        <span className="muted">{kind || 'passed over'}</span>
      ) : (
        <b>
          <span className="hatch" aria-hidden="true" /> {faultWords[outcome].title}
        </b>
      )}
      {line.missing > 0 && <span className="below">{line.missing} missing before it</span>}
    </>
  );
}
