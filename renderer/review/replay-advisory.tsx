/**
 * An abort advisory of the recording. In a replay nothing is to be done, so it
 * is one line, marked REPLAY; the whole band, as the operator saw it, opens on
 * demand. An advisory of the live stand comes above it, from the shell.
 */
import { useState } from 'react';
import { AbortBand } from '../alarms/abort-band.tsx';
import { currentSteps, useOpenAdvisories } from '../alarms/advisory-sight.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';

export function ReplayAdvisory() {
  const lead = useOpenAdvisories('replay')[0];
  const now_us = useStream('replay', (s) => s.snapshot?.now_us ?? 0);
  const [isWhole, setWhole] = useState(false);
  if (!lead) return null;
  const done = lead.steps.filter((s) => s.state === 'done-by-channel' || s.state === 'done-by-operator').length;
  const current = currentSteps(lead)[0];
  return (
    <div className="replay-advisory" data-testid="replay-advisory" data-cause={lead.cause}>
      <div className="replay-advisory-line">
        <span className="frame-word" data-provenance="REPLAY">
          REPLAY
        </span>
        <LevelMark level="abort" withWord />
        <p>
          <b>{lead.title}:</b> {lead.causeText}. {formatClock((now_us - lead.openedAt_us) / 1e6)} since the trip, {done}{' '}
          of {lead.steps.length} steps done{current ? `, now: ${current.step.imperative}` : ''}
          {current?.isOverdue ? ' (overdue)' : ''}.
        </p>
        <Button small onClick={() => setWhole(!isWhole)} aria-expanded={isWhole} data-testid="advisory-whole">
          {isWhole ? 'One line' : 'As the operator saw it'}
        </Button>
      </div>
      {isWhole && <AbortBand stream="replay" />}
    </div>
  );
}
