/** Alarms set aside: how many, which, why, by whom, how long still; and the way back. */
import { useState } from 'react';
import type { Alarm, SetAsideAlarm } from '../../shared-core/limits/rules.ts';
import { act } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';

const none: readonly SetAsideAlarm[] = [];
/** The longest that the core takes. */
const shelfMinutes = [5, 15, 30];

export function SetAsideList() {
  const setAside = useStream('live', (s) => s.snapshot?.setAside ?? none);
  const now_us = useStream('live', (s) => s.snapshot?.now_us ?? 0);
  if (setAside.length === 0) return null;
  return (
    <section className="set-aside" aria-label="Set aside" data-testid="set-aside">
      <h3>{setAside.length} set aside</h3>
      <ul>
        {setAside.map((each) => (
          <li key={each.id} data-testid={`set-aside-${each.id}`} data-state={each.state}>
            <LevelMark level={each.level} size={16} />
            <span>
              <b>{each.title}</b>
              {each.isTripped ? ' (its condition holds)' : ''}
              <br />
              <span className="muted">
                {each.state === 'shelved' ? 'shelved' : 'out of service'} by {each.by}: {each.reason}
                {each.until_us === null ? '' : ` · ${formatClock(Math.max(0, (each.until_us - now_us) / 1e6))} left`}
              </span>
            </span>
            <Button
              small
              onClick={() =>
                act(
                  each.state === 'shelved'
                    ? { kind: 'unshelve', alarmId: each.id }
                    : { kind: 'back-in-service', alarmId: each.id },
                )
              }
              data-testid={`put-back-${each.id}`}
            >
              Put back
            </Button>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Behind each alarm: set a nuisance aside for a while, with a reason. An abort alarm never. */
export function ShelveAct({ alarm }: { readonly alarm: Alarm }) {
  const [isOpen, setOpen] = useState(false);
  const [reason, setReason] = useState('');
  const [minutes, setMinutes] = useState(15);
  if (alarm.level === 'abort') {
    return isOpen ? (
      <p className="shelve-refused" role="status" data-testid={`shelve-refused-${alarm.id}`}>
        An abort alarm is never set aside.
      </p>
    ) : (
      <Button small tone="quiet" onClick={() => setOpen(true)} data-testid={`shelve-${alarm.id}`}>
        Shelve…
      </Button>
    );
  }
  if (!isOpen) {
    return (
      <Button small tone="quiet" onClick={() => setOpen(true)} data-testid={`shelve-${alarm.id}`}>
        Shelve…
      </Button>
    );
  }
  return (
    <form
      className="shelve-form"
      onSubmit={(event) => {
        event.preventDefault();
        act({ kind: 'shelve', alarmId: alarm.id, reason: reason.trim(), for_min: minutes });
        setOpen(false);
      }}
    >
      <input
        className="input"
        aria-label={`Why ${alarm.title} is set aside`}
        placeholder="Why?"
        value={reason}
        maxLength={200}
        onChange={(event) => setReason(event.target.value)}
        data-testid={`shelve-reason-${alarm.id}`}
      />
      <select
        className="select"
        aria-label="For how long"
        value={minutes}
        onChange={(event) => setMinutes(Number(event.target.value))}
        data-testid={`shelve-for-${alarm.id}`}
      >
        {shelfMinutes.map((each) => (
          <option key={each} value={each}>
            {each} min
          </option>
        ))}
      </select>
      <Button small type="submit" disabled={reason.trim() === ''} data-testid={`shelve-do-${alarm.id}`}>
        Shelve
      </Button>
      <Button small tone="quiet" onClick={() => setOpen(false)}>
        Not now
      </Button>
    </form>
  );
}

/** More alarms than a person can take in. */
export function FloodLine() {
  const flood = useStream('live', (s) => s.snapshot?.flood ?? null);
  if (flood === null) return null;
  return (
    <p className="flood" role="status" data-testid="flood">
      <LevelMark level="warning" size={16} /> Flood: {flood.alarms} alarms in ten minutes. See to the gravest first.
    </p>
  );
}

/** What no channel shows. A deliberate act in two steps; it opens the advisory, it does nothing to the engine. */
export function RaiseFire() {
  const [isAsking, setAsking] = useState(false);
  return isAsking ? (
    <div className="raise-fire">
      <span>Open the fire advisory?</span>
      <Button
        small
        tone="solid"
        onClick={() => {
          setAsking(false);
          act({ kind: 'raise-advisory', cause: 'fire' });
        }}
        data-testid="raise-fire-do"
      >
        Fire: what to do
      </Button>
      <Button small tone="quiet" onClick={() => setAsking(false)}>
        No
      </Button>
    </div>
  ) : (
    <Button small tone="quiet" onClick={() => setAsking(true)} data-testid="raise-fire">
      Fire seen…
    </Button>
  );
}
