/** Alarms set aside: how many, which, why, by whom, how long still; and the way back. Flood marker and the operator's fire call. */
import { useState } from 'react';
import type { SetAsideAlarm } from '../../shared-core/limits/rules.ts';
import { act } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';

const none: readonly SetAsideAlarm[] = [];

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
