/** Checklist, marks and points, one at a time under the alarms. */
import { useState } from 'react';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { useKeys } from '../app/keys.ts';
import { useStream } from '../app/stream-store.ts';
import { Checklists } from './checklists.tsx';
import { Marks, momentNow_us } from './marks.tsx';
import { Points } from './points.tsx';

const tabs = ['checklist', 'marks', 'points'] as const;
type Tab = (typeof tabs)[number];
const tabTitles: Readonly<Record<Tab, string>> = { checklist: 'Checklist', marks: 'Marks', points: 'Points' };

export interface PanelProps {
  readonly stream: StreamName;
  readonly onPick?: ((t_us: number) => void) | undefined;
}

export function ProgramPanel({ stream, onPick }: PanelProps) {
  const [tab, setTab] = useState<Tab>('checklist');
  /** Session time of the key press that opened the entry; null while closed. */
  const [marking_us, setMarking] = useState<number | null>(null);
  const marks = useStream(stream, (s) => s.snapshot?.marks.length ?? 0);
  const points = useStream(stream, (s) => s.snapshot?.points.length ?? 0);
  const counts: Readonly<Record<Tab, number>> = { checklist: 0, marks, points };
  useKeys(
    {
      m: () => {
        setTab('marks');
        setMarking(momentNow_us());
      },
    },
    stream === 'live',
  );
  return (
    <section className="program" aria-label="Program">
      <div className="tabs" role="tablist" aria-label="Program">
        {tabs.map((t, i) => (
          <button
            key={t}
            type="button"
            role="tab"
            id={`tab-${stream}-${t}`}
            aria-selected={t === tab}
            aria-controls={`panel-${stream}`}
            tabIndex={t === tab ? 0 : -1}
            data-testid={`tab-${t}`}
            onClick={() => setTab(t)}
            onKeyDown={(e) => {
              const by = e.key === 'ArrowRight' ? 1 : e.key === 'ArrowLeft' ? -1 : 0;
              if (by === 0) return;
              e.preventDefault();
              const next = tabs[(i + by + tabs.length) % tabs.length] ?? t;
              setTab(next);
              document.getElementById(`tab-${stream}-${next}`)?.focus();
            }}
          >
            {tabTitles[t]}
            {counts[t] > 0 && <span> {counts[t]}</span>}
          </button>
        ))}
      </div>
      <div className="tab-panel" role="tabpanel" id={`panel-${stream}`} aria-labelledby={`tab-${stream}-${tab}`}>
        {tab === 'checklist' && <Checklists stream={stream} />}
        {tab === 'marks' && <Marks stream={stream} onPick={onPick} marking_us={marking_us} onMarking={setMarking} />}
        {tab === 'points' && <Points stream={stream} onPick={onPick} />}
      </div>
    </section>
  );
}
