/** Strips under the top line: connection lost, other version, and messages of the page. */
import { useEffect, useState } from 'react';
import type { Trouble } from '../../shared-core/bridge/contract.ts';
import { Button } from '../ui/button.tsx';
import { formatAge } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { reconnectNow, useConnection } from './bridge-client.ts';
import { dismiss, useMessages } from './messages.ts';
import { useStream } from './stream-store.ts';

export function Strips() {
  return (
    <>
      <ConnectionStrip />
      <TroubleStrips />
      <MessageStrips />
    </>
  );
}

function ConnectionStrip() {
  const connection = useConnection();
  const [, look] = useState(0);
  const isLost = connection.state === 'lost';
  useEffect(() => {
    if (!isLost) return;
    const timer = setInterval(() => look((n) => n + 1), 1000);
    return () => clearInterval(timer);
  }, [isLost]);

  if (connection.state === 'other-version') {
    return (
      <div className="strip lost" role="alert" data-testid="other-version">
        <p>
          <b>This page is of another version than the host.</b> Nothing is shown, so that nothing is shown wrongly. Load
          the page again.
        </p>
        <Button small onClick={() => location.reload()}>
          Load again
        </Button>
      </div>
    );
  }
  if (!isLost) return null;
  if (connection.fault && !connection.hello) {
    return (
      <div className="strip lost" role="alert" data-testid="connection-lost">
        <p>
          <b>{connection.fault.sentence}</b> {connection.fault.remedy}
        </p>
        <Button small onClick={reconnectNow}>
          Try now
        </Button>
      </div>
    );
  }
  const now_ms = performance.now();
  const lost_s = connection.lostAt_ms === null ? 0 : (now_ms - connection.lostAt_ms) / 1000;
  const next_s =
    connection.nextAttemptAt_ms === null ? null : Math.max(0, Math.ceil((connection.nextAttemptAt_ms - now_ms) / 1000));
  return (
    <div className="strip lost" role="alert" data-testid="connection-lost">
      <p>
        <b>The page has lost the host for {formatAge(Math.floor(lost_s))}.</b> Values on it are old, and nothing can be
        commanded from here: use the stand's own controls.{' '}
        {connection.fault ? `${connection.fault.sentence} ${connection.fault.remedy} ` : ''}
        {next_s === null ? 'Trying now.' : `Next attempt in ${next_s}\u2009s.`}
      </p>
      <Button small onClick={reconnectNow}>
        Try now
      </Button>
    </div>
  );
}

const noTroubles: readonly Trouble[] = [];

/** What the host says of itself. Put aside for this visit only: the host says it again at the next. */
function TroubleStrips() {
  const troubles = useStream('live', (s) => s.snapshot?.troubles ?? noTroubles);
  const [aside, setAside] = useState<readonly string[]>([]);
  return (
    <div role="status" aria-live="polite">
      {troubles
        .filter((t) => !aside.includes(t.id))
        .map((t) => (
          <div key={t.id} className="strip" data-testid="trouble">
            <LevelMark level="caution" withWord />
            <p>
              <b>{t.sentence}</b> {t.remedy}
            </p>
            <Button small onClick={() => setAside([...aside, t.id])} aria-label={`Put aside: ${t.sentence}`}>
              Put aside
            </Button>
          </div>
        ))}
    </div>
  );
}

function MessageStrips() {
  const list = useMessages((m) => m.list);
  return (
    <div role="status" aria-live="polite">
      {list.map((m) => (
        <div key={m.id} className="strip" data-testid="message">
          <p>
            <b>{m.sentence}</b> {m.remedy}
          </p>
          <Button small onClick={() => dismiss(m.id)} aria-label={`Dismiss: ${m.sentence}`}>
            Dismiss
          </Button>
        </div>
      ))}
    </div>
  );
}
