/** Checklists by stage, with live inputs beside the items that have one, and a recorded override. */
import { useEffect, useState } from 'react';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import type { Checklist, ChecklistItem } from '../../shared-core/program/checklist.ts';
import { SoundTest } from '../alarms/alarm-sound.tsx';
import { act } from '../app/bridge-client.ts';
import { useReading, useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatQuantity } from '../ui/format.ts';
import { channelAgrees, itemState, openItems } from './checklist-state.ts';
import { inputState, inputTitle, inputWord } from './input-words.ts';

const none: readonly string[] = [];
const noLists: readonly Checklist[] = [];
const noInputs: readonly DiscreteInput[] = [];

export function Checklists({ stream }: { readonly stream: StreamName }) {
  const lists = useStream(stream, (s) => s.layout?.rig.checklists ?? noLists);
  const done = useStream(stream, (s) => s.snapshot?.checklistDone ?? none);
  const inputs = useStream(stream, (s) => s.snapshot?.inputs ?? noInputs);
  const [chosen, setChosen] = useState<number | null>(null);
  // The lists of a build-up come first in the sheet; a day begins before the start.
  const usual = Math.max(
    0,
    lists.findIndex((each) => each.stage === 'before-start'),
  );
  const place = chosen !== null && chosen < lists.length ? chosen : usual;
  const list = lists[place];
  if (!list) return <p className="side-empty">This rig sheet has no checklists.</p>;
  const open = openItems(list, done);
  return (
    <div className="checklists">
      <div className="checklist-stages">
        <label className="sr-only" htmlFor={`stage-${stream}`}>
          Stage
        </label>
        <select
          id={`stage-${stream}`}
          className="select"
          value={place}
          onChange={(e) => setChosen(Number(e.target.value))}
          data-testid="checklist-stage"
        >
          {lists.map((l, i) => (
            <option key={l.stage} value={i}>
              {l.title} · {l.items.length - openItems(l, done).length} of {l.items.length}
            </option>
          ))}
        </select>
      </div>
      <ul className="checklist" data-testid="checklist">
        {list.items.map((item) => (
          <Item key={item.id} stream={stream} item={item} done={done} inputs={inputs} canAct={stream === 'live'} />
        ))}
      </ul>
      {stream === 'live' && list.stage === 'before-start' && open.length > 0 && <Override open={open.length} />}
    </div>
  );
}

/** The tick stands at once; if the host has not recorded it by then, it goes back. */
const ASKED_LASTS_MS = 1500;

interface ItemProps {
  readonly stream: StreamName;
  readonly item: ChecklistItem;
  readonly done: readonly string[];
  readonly inputs: readonly DiscreteInput[];
  readonly canAct: boolean;
}

function Item({ stream, item, done, inputs, canAct }: ItemProps) {
  const isDone = done.includes(item.id);
  const [asked, setAsked] = useState<boolean | null>(null);
  useEffect(() => {
    if (asked === null) return;
    if (asked === isDone) {
      setAsked(null);
      return;
    }
    const timer = setTimeout(() => setAsked(null), ASKED_LASTS_MS);
    return () => clearTimeout(timer);
  }, [asked, isDone]);
  const reading = useReading(stream, item.channel?.key ?? '');
  const shown = reading.state === 'good' ? reading.value : NaN;
  const state = itemState(
    item,
    done,
    item.input ? inputState(inputs, item.input.key) : null,
    item.channel ? shown : null,
  );
  const channel = useStream(stream, (s) => s.byKey.get(item.channel?.key ?? ''));
  const input = item.input ? inputs.find((i) => i.key === item.input?.key) : undefined;
  return (
    <li data-testid={`check-${item.id}`} data-state={state}>
      <label className="check" title={item.why}>
        <input
          type="checkbox"
          checked={asked ?? isDone}
          disabled={!canAct}
          onChange={(e) => {
            setAsked(e.target.checked);
            act({ kind: 'checklist', itemId: item.id, isDone: e.target.checked });
          }}
        />
        <span>
          {item.text}
          {item.input && (
            <i data-agrees={state !== 'contradicted' && state !== 'open-contradicted'}>
              {' '}
              {inputTitle(item.input.key)}: {input ? inputWord(input) : 'not known'}
            </i>
          )}
          {item.channel && (
            <i data-agrees={channelAgrees(item.channel, shown)}>
              {' '}
              {channel?.label ?? item.channel.key}:{' '}
              {channel && Number.isFinite(shown) ? formatQuantity(shown, channel.decimals, channel.unit) : 'not known'}
            </i>
          )}
        </span>
      </label>
      {item.act === 'sound-test' && canAct && <SoundTest />}
    </li>
  );
}

/** The starter stays off while items are open, unless somebody records why. */
function Override({ open }: { readonly open: number }) {
  const [reason, setReason] = useState<string | null>(null);
  const isOverridden = useStream('live', (s) => s.snapshot?.startLists.isOverridden ?? false);
  if (isOverridden) {
    return (
      <p className="muted" role="status" data-testid="overridden">
        {open} left open for this run; why is recorded.
      </p>
    );
  }
  if (reason === null) {
    return (
      <Button small onClick={() => setReason('')} data-testid="override">
        Start with {open} open…
      </Button>
    );
  }
  const isGiven = reason.trim().length >= 3;
  return (
    <form
      className="mark-entry"
      onSubmit={(e) => {
        e.preventDefault();
        if (!isGiven) return;
        act({ kind: 'checklist-override', reason: reason.trim() });
        setReason(null);
      }}
    >
      <label htmlFor="override-reason">Why the list is left open (recorded)</label>
      <input
        id="override-reason"
        className="input"
        maxLength={200}
        value={reason}
        onChange={(e) => setReason(e.target.value)}
        // biome-ignore lint/a11y/noAutofocus: it was opened by the button before it, to be written in.
        autoFocus
        data-testid="override-reason"
      />
      <div className="mark-entry-acts">
        <Button small tone="solid" type="submit" disabled={!isGiven}>
          Record
        </Button>
        <Button small onClick={() => setReason(null)}>
          Back
        </Button>
      </div>
    </form>
  );
}
