/** What happened in the session, line by line, by group; a line is a way to go there. The present line is marked. */
import { useEffect, useMemo, useRef, useState } from 'react';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { type EventGroup, type EventLine, eventGroups, eventLines, groupTitles, lineAt } from './event-words.ts';
import { goToTime, useReview } from './review-store.ts';

/** Lines put on the page at first; a long session has thousands. */
const FIRST_LINES = 300;

export function EventList() {
  const events = useReview((s) => s.events);
  const rig = useStream('replay', (s) => s.layout?.rig ?? null);
  const [hidden, setHidden] = useState<readonly EventGroup[]>([]);
  const [most, setMost] = useState(FIRST_LINES);
  const byKey = useStream('replay', (s) => s.byKey);
  const all = useMemo(() => eventLines(events, rig, byKey), [events, rig, byKey]);
  const lines = useMemo(() => all.filter((l) => !hidden.includes(l.group)), [all, hidden]);
  const present = useStream('replay', (s) => lineAt(lines, s.snapshot?.now_us ?? 0));
  const list = useRef<HTMLOListElement>(null);

  useEffect(() => {
    const element = list.current?.children[present];
    // Not while somebody reads it by keyboard or pointer.
    if (element && !list.current?.matches(':hover, :focus-within')) element.scrollIntoView({ block: 'nearest' });
  }, [present]);

  return (
    <section className="events" aria-label="Events" data-testid="events">
      <fieldset className="event-groups">
        <legend className="sr-only">Events shown</legend>
        {eventGroups.map((group) => {
          const isShown = !hidden.includes(group);
          return (
            <label key={group} className="check">
              <input
                type="checkbox"
                checked={isShown}
                onChange={() => setHidden(isShown ? [...hidden, group] : hidden.filter((g) => g !== group))}
                data-testid={`events-${group}`}
              />
              {groupTitles[group]}
            </label>
          );
        })}
      </fieldset>
      {lines.length === 0 ? (
        <p className="muted events-none">
          {all.length === 0 ? 'Nothing is recorded besides the values.' : 'All events are hidden: choose some above.'}
        </p>
      ) : (
        <ol ref={list} className="event-list">
          {lines.slice(0, most).map((line, i) => (
            <EventRow key={line.ord} line={line} isPresent={i === present} />
          ))}
          {lines.length > most && (
            <li>
              <Button small onClick={() => setMost(most * 4)}>
                Show more of {lines.length} events
              </Button>
            </li>
          )}
        </ol>
      )}
    </section>
  );
}

function EventRow({ line, isPresent }: { readonly line: EventLine; readonly isPresent: boolean }) {
  return (
    <li>
      <button
        type="button"
        className="event-line"
        aria-current={isPresent ? 'step' : undefined}
        onClick={() => void goToTime(line.t_us)}
        data-testid={`event-${line.group}`}
        data-level={line.level ?? 'none'}
        data-us={line.t_us}
      >
        <time>{formatClock(line.t_us / 1e6)}</time>
        <span className="event-mark">{line.level && <LevelMark level={line.level} size={16} />}</span>
        <span className="event-text">
          {line.title}
          {(line.detail !== '' || line.by !== '') && (
            <span className="muted">
              {[line.detail, line.by === '' ? '' : `by ${line.by}`].filter(Boolean).join(', ')}
            </span>
          )}
        </span>
      </button>
    </li>
  );
}
