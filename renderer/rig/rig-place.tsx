/**
 * The Rig place: what is connected and how well, and what the rig sheet says.
 * Left: source, bench, link, setting up. Right, in tabs: channels, limits in
 * force, calibration, checklists, the bench's lines, the sheet itself.
 */
import { useState } from 'react';
import { streamStore, useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { type Tab, Tabs } from '../ui/tabs.tsx';
import { CalibrationPanel } from './calibration/calibration-panel.tsx';
import { ChannelsPanel } from './channel-table.tsx';
import { ChecklistEditor } from './checklist-editor.tsx';
import { LimitsPanel } from './limits-panel.tsx';
import { LinesPanel } from './lines-panel.tsx';
import { IdentitySection, LinkSection } from './link-section.tsx';
import { ReadyPanel } from './ready-panel.tsx';
import './rig.css';
import './rig-guides.css';
import { SetupSection } from './setup-section.tsx';
import { SheetPanel } from './sheet-panel.tsx';
import { SourceSection } from './source-section.tsx';

type Panel = 'ready' | 'channels' | 'limits' | 'calibration' | 'checklists' | 'lines' | 'sheet';
const tabs: readonly Tab<Panel>[] = [
  { id: 'ready', title: 'First start' },
  { id: 'channels', title: 'Channels' },
  { id: 'limits', title: 'Limits in force' },
  { id: 'calibration', title: 'Calibration' },
  { id: 'checklists', title: 'Checklists' },
  { id: 'lines', title: 'Lines' },
  { id: 'sheet', title: 'Rig sheet' },
];

export function RigPlace({ rest }: { readonly rest: readonly string[] }) {
  // A newcomer begins with what is left; it stays in sight while a bench is connected from it.
  const [first] = useState<Panel>(() =>
    (streamStore('live').getState().snapshot?.source.kind ?? 'none') === 'none' ? 'ready' : 'channels',
  );
  const panel = tabs.find((t) => t.id === rest[0])?.id ?? first;
  const rigName = useStream('live', (s) => s.layout?.rig.name ?? '');
  const isDemo = useStream('live', (s) => s.layout?.rig.isDemo ?? false);
  return (
    <div className="rig" data-testid="rig">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a column that scrolls must be reachable by keyboard. */}
      <section className="rig-left" aria-label="Source and link" tabIndex={0}>
        <h1>
          Rig {rigName}
          {isDemo && <span className="rig-demo">invented demo</span>}
        </h1>
        <SourceSection />
        <IdentitySection />
        <LinkSection />
        <SetupSection />
      </section>
      <Tabs label="Parts of the rig" tabs={tabs} selected={panel} onSelect={(id) => goTo('rig', id)}>
        {panel === 'ready' && <ReadyPanel />}
        {panel === 'channels' && <ChannelsPanel />}
        {panel === 'limits' && <LimitsPanel />}
        {panel === 'calibration' && <CalibrationPanel chosen={rest[1] ?? null} />}
        {panel === 'checklists' && <ChecklistEditor />}
        {panel === 'lines' && <LinesPanel />}
        {panel === 'sheet' && <SheetPanel />}
      </Tabs>
    </div>
  );
}
