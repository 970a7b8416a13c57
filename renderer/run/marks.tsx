/** Marks: the operator's timed notes. Key M opens a line; Enter without words makes a quick mark. */
import { useEffect, useRef } from 'react';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { act } from '../app/bridge-client.ts';
import { sessionNow_us, streamStore, useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { markText } from './mark-text.ts';

export interface MarksProps {
  readonly stream: StreamName;
  readonly onPick?: ((t_us: number) => void) | undefined;
  readonly marking_us: number | null;
  readonly onMarking: (at_us: number | null) => void;
}

/** Session time of this moment, as far as the page knows: what a key press means. */
export function momentNow_us(): number {
  return sessionNow_us(streamStore('live').getState(), 'live', performance.now());
}

type Mark = { readonly t_us: number; readonly text: string; readonly by: string };
const none: readonly Mark[] = [];

export function Marks({ stream, onPick, marking_us, onMarking }: MarksProps) {
  const marks = useStream(stream, (s) => s.snapshot?.marks ?? none);
  const canAct = stream === 'live';
  return (
    <div className="marks">
      {canAct &&
        (marking_us === null ? (
          <Button onClick={() => onMarking(momentNow_us())} data-testid="mark">
            Mark <kbd>M</kbd>
          </Button>
        ) : (
          <MarkEntry
            at_us={marking_us}
            onDone={(text) => {
              onMarking(null);
              if (text !== null) act({ kind: 'mark', text: markText(text), t_us: marking_us });
            }}
          />
        ))}
      <ol className="mark-list" data-testid="marks">
        {[...marks].reverse().map((m) => (
          <li key={`${m.t_us}${m.text}`}>
            {onPick ? (
              <button type="button" className="link" onClick={() => onPick(m.t_us)}>
                {formatClock(m.t_us / 1e6)}
              </button>
            ) : (
              <time>{formatClock(m.t_us / 1e6)}</time>
            )}
            <span>{m.text}</span>
            <i>{m.by}</i>
          </li>
        ))}
      </ol>
      {marks.length === 0 && (
        <p className="side-empty">No marks yet. {canAct ? 'Press M to note something at this moment.' : ''}</p>
      )}
    </div>
  );
}

function MarkEntry({ at_us, onDone }: { readonly at_us: number; readonly onDone: (text: string | null) => void }) {
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => input.current?.focus(), []);
  return (
    <form
      className="mark-entry"
      onSubmit={(e) => {
        e.preventDefault();
        onDone(input.current?.value ?? '');
      }}
    >
      <label htmlFor="mark-entry">Mark at {formatClock(at_us / 1e6)}</label>
      <input
        id="mark-entry"
        ref={input}
        className="input"
        maxLength={200}
        placeholder="Enter alone makes a quick mark"
        autoComplete="off"
        data-testid="mark-entry"
        onKeyDown={(e) => {
          if (e.key !== 'Escape') return;
          e.stopPropagation();
          onDone(null);
        }}
      />
      <div className="mark-entry-acts">
        <Button small tone="solid" type="submit">
          Keep
        </Button>
        <Button small onClick={() => onDone(null)}>
          Discard
        </Button>
      </div>
    </form>
  );
}
