/**
 * The board: values left, trends in the middle, alarms, marks and program
 * right. Driven by the live stream in Run and by a recording in Review.
 */
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { AlarmList } from '../alarms/alarm-list.tsx';
import { useStream } from '../app/stream-store.ts';
import { Value } from '../ui/value.tsx';
import { type BoardGroup, boardGroups, primaryKeys, shortLabel } from './board-groups.ts';
import { Inputs } from './inputs.tsx';
import { ProgramPanel } from './program-panel.tsx';
import { Trends } from './trends.tsx';

export interface BoardProps {
  readonly stream: StreamName;
  /** A time in the trends, the alarm list or the marks was picked: Review moves there. */
  readonly onPick?: (t_us: number) => void;
}

export function Board({ stream, onPick }: BoardProps) {
  return (
    <div className="board" data-stream={stream} data-testid={`board-${stream}`}>
      <Values stream={stream} />
      <Trends stream={stream} onPick={onPick} />
      <aside className="board-side" aria-label="Alarms and program">
        <AlarmList stream={stream} onPick={onPick} />
        <ProgramPanel stream={stream} onPick={onPick} />
      </aside>
    </div>
  );
}

function Values({ stream }: { readonly stream: StreamName }) {
  const channels = useStream(stream, (s) => s.layout?.channels);
  if (!channels) return <section className="board-values" aria-label="Values" />;
  const primaries = primaryKeys(channels);
  const groups = boardGroups(channels, primaries);
  const beforeInputs = groups.filter((g) => g.isWatchedFirst).length;
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, so keys must reach it.
    <section className="board-values" aria-label="Values" tabIndex={0}>
      {primaries.map((key) => (
        <Value key={key} stream={stream} channel={key} size="large" />
      ))}
      {groups.slice(0, beforeInputs).map((group) => (
        <Group key={group.title} stream={stream} group={group} />
      ))}
      <Inputs stream={stream} />
      {groups.slice(beforeInputs).map((group) => (
        <Group key={group.title} stream={stream} group={group} />
      ))}
    </section>
  );
}

function Group({ stream, group }: { readonly stream: StreamName; readonly group: BoardGroup }) {
  return (
    <section className="value-group" aria-label={group.title}>
      <h2>{group.title}</h2>
      <div className="value-group-lines">
        {group.channels.map((c) => (
          <Value key={c.key} stream={stream} channel={c.key} size="line" label={shortLabel(c.label)} />
        ))}
      </div>
    </section>
  );
}
