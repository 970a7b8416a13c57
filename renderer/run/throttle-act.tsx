/** Throttle demand: a slider and steps. What the bench reports stands beside what was asked. */
import { useEffect, useRef, useState } from 'react';
import { command } from '../app/bridge-client.ts';
import { firstOf, useReading, useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatNumber } from '../ui/format.ts';
import { Group } from '../ui/group.tsx';

/** While dragging, at most ten demands a second leave the page. */
const SEND_MS = 100;
/** After the last act of the operator, the slider follows the bench again. */
const FOLLOW_AFTER_MS = 2000;

export function ThrottleAct({ isLive }: { readonly isLive: boolean }) {
  // A bench calls its channels as it likes: the quantity says which it is.
  const key = useStream('live', (s) => firstOf(s, 'throttle-demand')) ?? 'throttle';
  const reading = useReading('live', key);
  const [asked, setAsked] = useState<number | null>(null);
  const sentAt_ms = useRef(-Infinity);
  const sendTimer = useRef<ReturnType<typeof setTimeout> | null>(null);
  const followTimer = useRef<ReturnType<typeof setTimeout> | null>(null);
  /** Null where neither the bench nor an act says it: a step from an assumed zero would close a throttle that is open. */
  const demand = asked ?? (reading.state === 'good' ? reading.value : null);

  useEffect(
    () => () => {
      if (sendTimer.current) clearTimeout(sendTimer.current);
      if (followTimer.current) clearTimeout(followTimer.current);
    },
    [],
  );

  const send = (percent: number): void => {
    const held = Math.max(0, Math.min(100, percent));
    setAsked(held);
    if (followTimer.current) clearTimeout(followTimer.current);
    followTimer.current = setTimeout(() => setAsked(null), FOLLOW_AFTER_MS);
    if (sendTimer.current) clearTimeout(sendTimer.current);
    const wait_ms = Math.max(0, sentAt_ms.current + SEND_MS - performance.now());
    sendTimer.current = setTimeout(() => {
      sentAt_ms.current = performance.now();
      command({ name: 'THROTTLE', permille: Math.round(held * 10) });
    }, wait_ms);
  };

  return (
    <Group className="throttle-act" label="Throttle">
      <p>
        Throttle <b data-testid="throttle-shown">{formatNumber(reading.state === 'good' ? reading.value : NaN, 1)} %</b>
        {asked !== null && <span> asked {formatNumber(asked, 0)} %</span>}
      </p>
      <div>
        <Step by={-5} demand={demand} isLive={isLive} onSend={send} />
        <Step by={-1} demand={demand} isLive={isLive} onSend={send} />
        <input
          type="range"
          min={0}
          max={100}
          step={1}
          value={Math.round(demand ?? 0)}
          disabled={!isLive || demand === null}
          aria-label="Throttle demand, percent"
          onChange={(e) => send(Number(e.target.value))}
          data-testid="throttle-slider"
        />
        <Step by={1} demand={demand} isLive={isLive} onSend={send} />
        <Step by={5} demand={demand} isLive={isLive} onSend={send} />
      </div>
    </Group>
  );
}

interface StepProps {
  readonly by: number;
  readonly demand: number | null;
  readonly isLive: boolean;
  readonly onSend: (percent: number) => void;
}

function Step({ by, demand, isLive, onSend }: StepProps) {
  const sign = by < 0 ? '\u2212' : '+';
  return (
    <Button
      className="step"
      disabled={!isLive || demand === null}
      onClick={() => demand !== null && onSend(Math.round(demand) + by)}
      aria-label={`Throttle ${by < 0 ? 'less' : 'more'} by ${Math.abs(by)} percent`}
      data-testid={`throttle-${by < 0 ? 'minus' : 'plus'}-${Math.abs(by)}`}
    >
      {sign}
      {Math.abs(by)}
    </Button>
  );
}
