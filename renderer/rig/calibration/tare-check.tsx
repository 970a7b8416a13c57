/** Tare with a settle check, and how far the zero has gone since. What was tared is remembered while the page is open. */
import { useEffect, useState } from 'react';
import { create } from 'zustand';
import { driftSince, type Tare } from '../../../shared-core/calibration/reading.ts';
import { command } from '../../app/bridge-client.ts';
import { streamStore, useStream } from '../../app/stream-store.ts';
import { Button } from '../../ui/button.tsx';
import { formatAge, formatNumber, formatQuantity } from '../../ui/format.ts';
import { useSettled } from './guide-parts.tsx';

const WINDOW_S = 2;

/** Belongs to one session: its clock begins anew with the next. */
const useTares = create<Readonly<Record<string, Tare & { readonly session: string }>>>(() => ({}));

export function TareCheck({
  channel,
  command: name,
  span,
}: {
  readonly channel: string;
  readonly command: 'TARE-THRUST' | 'TARE-TORQUE';
  readonly span: number;
}) {
  const unit = useStream('live', (s) => s.byKey.get(channel)?.unit ?? '');
  const session = useStream('live', (s) => s.snapshot?.session?.id ?? '');
  const record = useStream(
    'live',
    (s) => s.snapshot?.outputs.commands.findLast((c) => c.command.name === name) ?? null,
  );
  const reading = useSettled(channel, {
    window_s: WINDOW_S,
    spread: Number.isFinite(span) ? span / 200 : Infinity,
    leastSamples: 10,
  });
  const known = useTares((s) => s[channel]);
  const tare = known?.session === session ? known : undefined;
  /** Asked for: the bench must accept it, and a whole window must pass on the new zero. */
  const [asked_us, setAsked] = useState<number | null>(null);
  const now_us = streamStore('live').getState().snapshot?.now_us ?? 0;
  const isAccepted = record?.outcome === 'accepted' && asked_us !== null && record.sentAt_us >= asked_us;
  const isNew = isAccepted && now_us > record.sentAt_us + (WINDOW_S + 1) * 1e6 && reading.isSettled;
  useEffect(() => {
    if (!isNew) return;
    setAsked(null);
    useTares.setState({ [channel]: { at_us: now_us, reading: reading.mean, u: reading.u, session } });
  }, [isNew, channel, now_us, reading, session]);
  const drift =
    tare && reading.isSettled && span > 0
      ? driftSince(tare, { at_us: now_us, reading: reading.mean, u: reading.u }, span)
      : null;
  return (
    <div className="tare-check" data-testid="tare-check">
      <Button
        small
        disabled={!reading.isSettled || asked_us !== null}
        onClick={() => {
          setAsked(now_us);
          command({ name });
        }}
        data-testid="tare-do"
      >
        Tare at no load
      </Button>
      <span role="status" data-testid="tare-words">
        {asked_us !== null && record?.outcome === 'refused' && record.sentAt_us >= asked_us
          ? `Refused: ${record.reason}`
          : asked_us !== null
            ? 'Tared; waiting for the new zero to settle.'
            : drift !== null
              ? `Zero has gone ${formatQuantity(drift.drift, 3, unit)} (${formatNumber(drift.percentOfSpan, 3)} % of span) since the tare ${formatAge(drift.since_h * 3600)} ago${drift.isReal ? '' : ', no more than its scatter'}.`
              : reading.isSettled
                ? `At rest at ${formatQuantity(reading.mean, 3, unit)}.`
                : reading.sentence}
      </span>
    </div>
  );
}
