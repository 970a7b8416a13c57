/** Checklists in stages: each item with its reason and, where an input or channel can show it, a live check. They are signed in Run. */
import { useEffect, useMemo, useState } from 'react';
import type { Channel } from '../../shared-core/channels/channel.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import type { ChecklistItem, ChecklistStage } from '../../shared-core/program/checklist.ts';
import { compareSheets } from '../../shared-core/rig/compare-sheets.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { Segments } from '../ui/segments.tsx';
import {
  allStages,
  itemFindings,
  itemMoved,
  keptLists,
  stageTitles,
  withItems,
  withNewItem,
} from './checklist-edits.ts';
import { ItemCheck } from './checklist-item-check.tsx';
import { SaveBar, SheetTold } from './save-bar.tsx';
import { loadSheet, useSavedSheet } from './sheet-store.ts';

const noChannels: readonly Channel[] = [];
const noInputs: readonly DiscreteInput[] = [];

export function ChecklistEditor() {
  const sheet = useSavedSheet((s) => s.sheet);
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  const inputs = useStream('live', (s) => s.snapshot?.inputs ?? noInputs);
  const [stage, setStage] = useState<ChecklistStage>('before-start');
  const [edited, setEdited] = useState<ReturnType<typeof allStages> | null>(null);
  const [isSent, setSent] = useState(false);
  useEffect(() => void loadSheet(), []);
  const saved = useMemo(() => allStages(sheet?.checklists ?? []), [sheet]);
  if (sheet === null)
    return <Empty title="Waiting for the rig sheet">It comes with the first word from the host.</Empty>;
  const lists = edited ?? saved;
  const list = lists.find((each) => each.stage === stage)!;
  const next = { ...sheet, checklists: keptLists(lists) };
  const said = edited === null ? [] : compareSheets(sheet, next).map((each) => each.words);
  const findings = itemFindings(lists);
  const edit = (items: (before: readonly ChecklistItem[]) => readonly ChecklistItem[]): void => {
    setSent(false);
    setEdited(withItems(lists, stage, items));
  };
  return (
    <div className="checklist-editor" data-testid="checklist-editor">
      <p className="panel-lead">
        In the order of the work. Run shows the lists that are in force, and each tick is recorded with who made it.
      </p>
      <Segments
        label="Stage"
        options={lists.map((each) => ({
          value: each.stage,
          text: `${stageTitles[each.stage]} ${each.items.length}`,
        }))}
        value={stage}
        onChoose={setStage}
        testId="edit-stage"
      />
      {list.items.length === 0 && <p className="muted">No items yet.</p>}
      <ol className="edit-items" data-testid="edit-items">
        {list.items.map((item, i) => {
          const change = (part: Partial<ChecklistItem>): void =>
            edit((items) => items.map((each, k) => (k === i ? { ...each, ...part } : each)));
          return (
            <li key={item.id} data-testid={`edit-${item.id}`}>
              <div className="edit-item-words">
                <label>
                  <span>Item {i + 1}</span>
                  <input
                    className="input"
                    value={item.text}
                    maxLength={200}
                    onChange={(e) => change({ text: e.target.value })}
                    data-testid={`text-${item.id}`}
                  />
                </label>
                <label>
                  <span>Why</span>
                  <input
                    className="input"
                    value={item.why}
                    maxLength={200}
                    onChange={(e) => change({ why: e.target.value })}
                    data-testid={`why-${item.id}`}
                  />
                </label>
              </div>
              <ItemCheck item={item} inputs={inputs} channels={channels} onChange={change} />
              <div className="order-acts">
                <Button
                  small
                  disabled={i === 0}
                  aria-label={`Item ${i + 1} up`}
                  onClick={() => edit((items) => itemMoved(items, i, -1))}
                >
                  ↑
                </Button>
                <Button
                  small
                  disabled={i === list.items.length - 1}
                  aria-label={`Item ${i + 1} down`}
                  onClick={() => edit((items) => itemMoved(items, i, 1))}
                >
                  ↓
                </Button>
                <Button
                  small
                  tone="quiet"
                  aria-label={`Remove item ${i + 1}`}
                  onClick={() => edit((items) => items.filter((_, k) => k !== i))}
                  data-testid={`remove-${item.id}`}
                >
                  Remove
                </Button>
              </div>
            </li>
          );
        })}
      </ol>
      <Button
        small
        onClick={() => {
          setSent(false);
          setEdited(withNewItem(lists, stage));
        }}
        data-testid="add-item"
      >
        Add an item
      </Button>
      {said.length > 0 && findings.length > 0 && (
        <ul className="rule-refused" role={isSent ? 'alert' : undefined} data-testid="item-findings">
          {findings.map((each) => (
            <li key={each}>{each}</li>
          ))}
        </ul>
      )}
      <SheetTold />
      <SaveBar
        next={said.length > 0 && findings.length === 0 ? next : null}
        change={said.join(' ')}
        onSaved={() => setEdited(null)}
        {...(edited === null ? {} : { onLeave: () => setEdited(null) })}
        testId="checklists"
      />
    </div>
  );
}
