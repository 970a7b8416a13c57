/**
 * What a session's alarms were like: figures, the ten raised most often, and
 * every alarm from its raising to its end. For the session under way and for
 * recorded ones alike; the counting is `shared-core/limits`.
 */
import { useEffect, useMemo, useState } from 'react';
import type { JournalEvent } from '../../shared-core/journal.ts';
import { type AlarmSpell, alarmHistory } from '../../shared-core/limits/alarm-history.ts';
import { type AlarmStatistics, type AlarmTally, alarmStatistics } from '../../shared-core/limits/alarm-statistics.ts';
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';
import { request } from '../app/bridge-client.ts';
import { EventFeed } from '../app/event-feed.ts';
import { sessionOf, useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Dialog } from '../ui/dialog.tsx';
import { formatAge, formatClock, formatNumber, NO_VALUE } from '../ui/format.ts';
import { LevelMark, levelWords } from '../ui/level-mark.tsx';
import { Progress } from '../ui/progress.tsx';
import { type Fact, Facts } from '../ui/section.tsx';
import { Segments } from '../ui/segments.tsx';
import { type Column, Table } from '../ui/table.tsx';
import './alarm-history.css';

export interface AlarmHistoryProps {
  readonly events: readonly JournalEvent[];
  readonly duration_us: number;
  /** The session goes on. */
  readonly isLive?: boolean;
  /** Goes to that moment, where there is a way. */
  readonly onPick?: ((t_us: number) => void) | undefined;
}

type LevelChoice = AlarmLevel | 'all';
const levelChoices = [
  { value: 'all', text: 'All' },
  ...(['abort', 'warning', 'caution', 'notice'] as const).map((value) => ({ value, text: levelWords[value] })),
] as const;
/** A rate per hour of less than this is no rate. */
const SHORT_us = 600e6;
/** A change is in the recording a moment later; in a flood the host is not asked for each. */
const ASK_AGAIN_AFTER_MS = 1500;
/** Lines put on the page at first. */
const FIRST_LINES = 200;

export function AlarmHistory({ events, duration_us, isLive = false, onPick }: AlarmHistoryProps) {
  const [level, setLevel] = useState<LevelChoice>('all');
  const [most, setMost] = useState(FIRST_LINES);
  const statistics = useMemo(() => alarmStatistics(events, duration_us), [events, duration_us]);
  const spells = useMemo(() => [...alarmHistory(events)].reverse(), [events]);
  const shown = spells.filter((each) => level === 'all' || each.level === level);
  if (spells.length === 0) {
    return (
      <p className="side-empty" data-testid="no-alarm-history">
        No alarm was raised in this session.
      </p>
    );
  }
  return (
    <div className="alarm-history" data-testid="alarm-history">
      <div className="alarm-history-side">
        <h2 className="history-head">In figures</h2>
        <Facts facts={factsOf(statistics, isLive)} />
        <h2 className="history-head">Raised most often</h2>
        <Table caption="Alarms raised most often" columns={topColumns} rows={statistics.topTen} keyOf={(t) => t.id} />
      </div>
      <div className="alarm-history-main">
        <div className="alarm-history-bar">
          <h2 className="history-head">Every alarm, newest first</h2>
          <Segments
            label="Levels shown"
            options={levelChoices}
            value={level}
            onChoose={setLevel}
            testId="history-level"
          />
        </div>
        <Table
          caption="Every alarm of the session"
          columns={spellColumns(onPick)}
          rows={shown.slice(0, most)}
          keyOf={(each) => `${each.id}@${each.raisedAt_us}`}
          data-testid="history-table"
        />
        {shown.length === 0 && <p className="side-empty">None of this level.</p>}
        {shown.length > most && (
          <Button small onClick={() => setMost(most * 4)}>
            Show more of {shown.length}
          </Button>
        )}
      </div>
    </div>
  );
}

/** Where a chattering or standing alarm points to a limit that should be looked at, the sentence says so. */
function factsOf(statistics: AlarmStatistics, isLive: boolean): readonly Fact[] {
  const { byLevel } = statistics;
  const list = (ids: readonly string[]): string => {
    const titles = ids.map((id) => statistics.all.find((each) => each.id === id)?.title ?? id);
    return titles.length === 0 ? 'none' : titles.join(', ');
  };
  return [
    {
      term: 'Raised',
      value: `${statistics.raised} (${byLevel.abort} abort, ${byLevel.warning} warning, ${byLevel.caution} caution, ${byLevel.notice} notice)`,
      testId: 'alarms-raised',
    },
    {
      term: 'In an hour, on average',
      value: statistics.duration_us < SHORT_us ? 'too short to say' : formatNumber(statistics.perHour, 1),
      testId: 'alarms-per-hour',
    },
    { term: 'Most in ten minutes', value: statistics.mostInTenMinutes, testId: 'alarms-most' },
    {
      term: 'Floods',
      value:
        statistics.floods === 0 ? 'none' : `${statistics.floods}, ${formatClock(statistics.inFlood_us / 1e6)} in all`,
    },
    { term: 'Standing at once, at most', value: statistics.mostStanding },
    {
      term: isLive ? 'Standing now' : 'Standing at the end',
      value: list(statistics.standing),
      testId: 'alarms-standing',
    },
    { term: 'Chattering', value: list(statistics.chattering), testId: 'alarms-chattering' },
    { term: 'Gone within 10 s', value: statistics.fleeting },
    { term: 'Shelved, out of service', value: `${statistics.shelved}, ${statistics.outOfService}` },
    {
      term: 'Until acknowledged, median',
      value: statistics.medianToAcknowledged_s === null ? 'never' : formatAge(statistics.medianToAcknowledged_s),
    },
  ];
}

const topColumns: readonly Column<AlarmTally>[] = [
  {
    key: 'title',
    title: 'Alarm',
    cell: (tally) => (
      <span className="history-title">
        <LevelMark level={tally.level} size={16} />
        <span>
          {tally.title}
          {tally.isChattering && <span className="first-out">chatters</span>}
        </span>
      </span>
    ),
  },
  { key: 'raised', title: 'Times', isNumber: true, cell: (tally) => tally.raised },
  { key: 'share', title: 'Share', isNumber: true, cell: (tally) => `${formatNumber(tally.share_percent, 0)}\u2009%` },
  { key: 'stood', title: 'Stood', isNumber: true, cell: (tally) => formatAge(tally.active_us / 1e6) },
];

const endWords: Readonly<Record<NonNullable<AlarmSpell['end']>, string>> = {
  returned: 'gone',
  shelved: 'shelved',
  removed: 'out of service',
};

function spellColumns(onPick: AlarmHistoryProps['onPick']): readonly Column<AlarmSpell>[] {
  return [
    {
      key: 'at',
      title: 'Raised at',
      isNumber: true,
      cell: ({ raisedAt_us }) =>
        onPick === undefined ? (
          formatClock(raisedAt_us / 1e6)
        ) : (
          <button type="button" className="link" onClick={() => onPick(raisedAt_us)}>
            {formatClock(raisedAt_us / 1e6)}
          </button>
        ),
    },
    {
      key: 'title',
      title: 'Alarm',
      cell: (spell) => (
        <span className="history-title">
          <LevelMark level={spell.level} size={16} /> {spell.title}
          {spell.isFirstOut && <span className="first-out">first-out</span>}
        </span>
      ),
    },
    { key: 'value', title: 'Value', isNumber: true, cell: (spell) => figure(spell.value) },
    { key: 'limit', title: 'Limit', isNumber: true, cell: (spell) => figure(spell.limit) },
    {
      key: 'stood',
      title: 'Stood for',
      isNumber: true,
      cell: ({ raisedAt_us, endedAt_us }) =>
        endedAt_us === null ? 'stands' : formatAge((endedAt_us - raisedAt_us) / 1e6),
    },
    { key: 'end', title: 'Then', cell: ({ end }) => (end === null ? NO_VALUE : endWords[end]) },
    {
      key: 'ack',
      title: 'Acknowledged after',
      isNumber: true,
      cell: ({ raisedAt_us, acknowledgedAt_us }) =>
        acknowledgedAt_us === null ? NO_VALUE : formatAge((acknowledgedAt_us - raisedAt_us) / 1e6),
    },
  ];
}

/** Enough to see by how much a limit was passed. */
function figure(value: number | null): string {
  if (value === null) return NO_VALUE;
  const size = Math.abs(value);
  return formatNumber(value, size >= 1000 ? 0 : size >= 10 ? 1 : 2);
}

/** Behind the alarm list: the same for the session under way. */
export function LiveAlarmHistory() {
  const [isOpen, setOpen] = useState(false);
  return (
    <>
      <Button small tone="quiet" onClick={() => setOpen(true)} data-testid="alarm-history-open">
        History…
      </Button>
      {isOpen && <LiveDialog onClose={() => setOpen(false)} />}
    </>
  );
}

function LiveDialog({ onClose }: { readonly onClose: () => void }) {
  const session = useStream('live', (s) => sessionOf(s.snapshot));
  // Asked anew when an alarm changes. Every snapshot brings new objects: what they say is compared, not they.
  const alarms = useStream('live', (s) =>
    [...(s.snapshot?.alarms ?? []), ...(s.snapshot?.setAside ?? [])].map((each) => `${each.id} ${each.state}`).join(),
  );
  const duration_us = useStream('live', (s) => Math.floor((s.snapshot?.now_us ?? 0) / 5e6) * 5e6);
  const [events, setEvents] = useState<readonly JournalEvent[] | null>(null);
  const [failure, setFailure] = useState('');
  /** What happened just before it was opened may not be in the recording yet: it is asked for a second time. */
  const isFirst = events === null;
  const feed = useMemo(
    () => (session === null ? null : new EventFeed(session, (params) => request('sessions.events', params))),
    [session],
  );
  // biome-ignore lint/correctness/useExhaustiveDependencies: a change of the alarms is the reason to ask again.
  useEffect(() => {
    if (feed === null) return;
    let isWanted = true;
    const timer = setTimeout(
      async () => {
        const answer = await feed.refresh();
        if (!isWanted) return;
        if (answer.ok) setEvents(answer.value);
        else setFailure(`${answer.error.sentence} ${answer.error.remedy}`);
      },
      isFirst ? 0 : ASK_AGAIN_AFTER_MS,
    );
    return () => {
      isWanted = false;
      clearTimeout(timer);
    };
  }, [feed, alarms, isFirst]);
  return (
    <Dialog
      title="Alarms of this session"
      isOpen
      onClose={onClose}
      data-testid="alarm-history-dialog"
      foot={
        <Button tone="solid" onClick={onClose}>
          Close
        </Button>
      }
    >
      {session === null ? (
        <p>No session is being recorded, so there is no history yet.</p>
      ) : failure !== '' ? (
        <p role="alert">{failure}</p>
      ) : events === null ? (
        <Progress label="Reading the session's events" value={null} />
      ) : (
        <AlarmHistory events={events} duration_us={duration_us} isLive />
      )}
    </Dialog>
  );
}
