/**
 * Behind each alarm: set a nuisance aside for at most half an hour, or a
 * broken part out of service until it is put back; with a reason, signed. What
 * is refused, and why, is the core's (`limits/set-aside.ts`), said here before
 * anything is sent; the host refuses it again.
 */
import { useEffect, useRef, useState } from 'react';
import type { Alarm } from '../../shared-core/limits/rules.ts';
import { LONGEST_SHELF_min, removeRefusal, shelveRefusal } from '../../shared-core/limits/set-aside.ts';
import { act } from '../app/bridge-client.ts';
import { useSettings } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';

const shelfMinutes = [5, 10, 15, LONGEST_SHELF_min];
const OUT = 0;

export function SetAsideAct({ alarm, title }: { readonly alarm: Alarm; readonly title: string }) {
  const [isOpen, setOpen] = useState(false);
  return isOpen ? (
    <SetAsideForm alarm={alarm} title={title} onClose={() => setOpen(false)} />
  ) : (
    <Button
      small
      tone="quiet"
      onClick={() => setOpen(true)}
      data-testid={`shelve-${alarm.id}`}
      aria-label={`Set aside ${title}`}
    >
      Set aside…
    </Button>
  );
}

function SetAsideForm({
  alarm,
  title,
  onClose,
}: {
  readonly alarm: Alarm;
  readonly title: string;
  readonly onClose: () => void;
}) {
  const [reason, setReason] = useState('');
  const [minutes, setMinutes] = useState(15);
  const by = useSettings((s) => s.by);
  const state = useStream('live', (s) => s.snapshot?.run.state ?? 'running');
  const standing = { title, level: alarm.level, life: alarm.state };
  // A reason is still being written: what else stands in the way is said at once.
  const because = reason.trim() === '' ? 'to be written' : reason;
  const refusal = minutes === OUT ? removeRefusal(standing, because, state) : shelveRefusal(standing, because, minutes);
  const id = alarm.id;
  const form = useRef<HTMLFormElement>(null);
  // The list scrolls: what was opened must be in sight.
  useEffect(() => {
    // In braces: newer browsers answer with a promise, which is no cleanup.
    form.current?.scrollIntoView({ block: 'nearest' });
  }, []);
  return (
    <form
      ref={form}
      className="shelve-form"
      aria-label={`Set aside ${title}`}
      onSubmit={(event) => {
        event.preventDefault();
        if (refusal !== null || reason.trim() === '') return;
        act(
          minutes === OUT
            ? { kind: 'out-of-service', alarmId: id, reason: reason.trim() }
            : { kind: 'shelve', alarmId: id, reason: reason.trim(), for_min: minutes },
        );
        onClose();
      }}
      onKeyDown={(event) => {
        if (event.key !== 'Escape') return;
        event.stopPropagation();
        onClose();
      }}
    >
      <select
        className="select"
        aria-label="For how long"
        value={minutes}
        onChange={(event) => setMinutes(Number(event.target.value))}
        data-testid={`shelve-for-${id}`}
      >
        {shelfMinutes.map((each) => (
          <option key={each} value={each}>
            Shelve {each} min
          </option>
        ))}
        <option value={OUT}>Out of service</option>
      </select>
      {refusal === null ? (
        <input
          className="input"
          aria-label={`Why ${title} is set aside`}
          placeholder={minutes === OUT ? 'What is broken?' : 'Why does it mislead?'}
          value={reason}
          maxLength={200}
          // biome-ignore lint/a11y/noAutofocus: it was opened by the button before it, to be written in.
          autoFocus
          onChange={(event) => setReason(event.target.value)}
          data-testid={`shelve-reason-${id}`}
        />
      ) : (
        <p className="shelve-refused" role="status" data-testid={`shelve-refused-${id}`}>
          {refusal}
        </p>
      )}
      <Button small type="submit" disabled={refusal !== null || reason.trim() === ''} data-testid={`shelve-do-${id}`}>
        {minutes === OUT ? 'Take out of service' : 'Shelve'}
      </Button>
      <Button small tone="quiet" onClick={onClose}>
        Not now
      </Button>
      {refusal === null && (
        <p className="muted">
          {minutes === OUT
            ? 'It neither shows nor sounds until it is put back.'
            : `It neither shows nor sounds for ${minutes} min, then comes back by itself.`}{' '}
          Recorded as by {by}.
        </p>
      )}
    </form>
  );
}
