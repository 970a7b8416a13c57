/** The alarm list: gravest on top, first-out named, acknowledge one or all, reset what is latched and gone. */
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import type { Alarm } from '../../shared-core/limits/rules.ts';
import { inListOrder, isActive, isUnacknowledged } from '../app/alarm-sight.ts';
import { act } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatAge, formatNumber, formatQuantity } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { LiveAlarmHistory } from './alarm-history.tsx';
import { SoundLine } from './alarm-sound.tsx';
import { FloodLine, RaiseFire, SetAsideList } from './set-aside.tsx';
import { SetAsideAct } from './set-aside-form.tsx';

const none: readonly Alarm[] = [];

export interface AlarmListProps {
  readonly stream: StreamName;
  /** Called with the time of an alarm whose time was clicked. */
  readonly onPick?: (t_us: number) => void;
}

export function AlarmList({ stream, onPick }: AlarmListProps) {
  const alarms = useStream(stream, (s) => s.snapshot?.alarms ?? none);
  const now_us = useStream(stream, (s) => s.snapshot?.now_us ?? 0);
  const canAct = stream === 'live';
  const waiting = alarms.filter(isUnacknowledged).length;
  const canReset = alarms.some((a) => a.state === 'latched');
  return (
    <section className="alarm-list" aria-label="Alarms" data-testid="alarm-list">
      <header className="side-head">
        <h2>Alarms</h2>
        <span className="side-count" data-testid="alarm-count">
          {alarms.length === 0 ? 'none' : `${alarms.length}${waiting > 0 ? `, ${waiting} new` : ''}`}
        </span>
        {canAct && (
          <span className="side-acts">
            <Button
              small
              onClick={() => act({ kind: 'acknowledge-all' })}
              disabled={waiting === 0}
              data-testid="acknowledge-all"
              title="Acknowledge all (A)"
            >
              Ack all
            </Button>
            <Button
              small
              onClick={() => act({ kind: 'reset-alarms' })}
              disabled={!canReset}
              data-testid="reset-alarms"
              title="Clear latched alarms whose cause has gone"
            >
              Reset
            </Button>
          </span>
        )}
      </header>
      {canAct && <SoundLine />}
      {canAct && <FloodLine />}
      <ul aria-live="polite">
        {inListOrder(alarms).map((alarm) => (
          <AlarmRow key={alarm.id} stream={stream} alarm={alarm} now_us={now_us} canAct={canAct} onPick={onPick} />
        ))}
      </ul>
      {alarms.length === 0 && <p className="side-empty">Nothing abnormal.</p>}
      {canAct && <SetAsideList />}
      {canAct && (
        <div className="alarm-foot">
          <LiveAlarmHistory />
          <RaiseFire />
        </div>
      )}
    </section>
  );
}

const stateWords: Readonly<Record<Alarm['state'], string>> = {
  'active-unacknowledged': 'now',
  'active-acknowledged': 'now, acknowledged',
  'returned-unacknowledged': 'gone',
  latched: 'gone, latched',
};

function AlarmRow({
  stream,
  alarm,
  now_us,
  canAct,
  onPick,
}: {
  readonly stream: StreamName;
  readonly alarm: Alarm;
  readonly now_us: number;
  readonly canAct: boolean;
  readonly onPick: ((t_us: number) => void) | undefined;
}) {
  const label = useStream(stream, (s) => (alarm.subject === null ? undefined : s.byKey.get(alarm.subject)?.label));
  const title = titleWithSubject(alarm, label);
  const age = formatAge(Math.floor(Math.max(0, now_us - alarm.trippedAt_us) / 1e6));
  return (
    <li
      className="alarm-row"
      data-testid={`alarm-${alarm.id}`}
      data-level={alarm.level}
      data-state={alarm.state}
      data-active={isActive(alarm)}
    >
      <LevelMark level={alarm.level} isBlinking={isUnacknowledged(alarm)} />
      <div className="alarm-text">
        <p className="alarm-title">
          <b>{title}</b>
          {alarm.isFirstOut && <span className="first-out">first-out</span>}
        </p>
        <p className="alarm-detail">
          {Number.isFinite(alarm.limit)
            ? `${formatNumber(alarm.value, decimalsFor(alarm))} / limit ${formatQuantity(alarm.limit, decimalsFor(alarm), alarm.unit)} · `
            : ''}
          {stateWords[alarm.state]} ·{' '}
          {onPick ? (
            <button type="button" className="link" onClick={() => onPick(alarm.trippedAt_us)}>
              {age} ago
            </button>
          ) : (
            `${age} ago`
          )}
        </p>
        {isActive(alarm) && <p className="alarm-action">{alarm.operatorAction}</p>}
        {canAct && <SetAsideAct alarm={alarm} title={title} />}
      </div>
      {canAct && isUnacknowledged(alarm) && (
        <Button
          small
          onClick={() => act({ kind: 'acknowledge', alarmId: alarm.id })}
          data-testid={`ack-${alarm.id}`}
          aria-label={`Ack ${title}`}
        >
          Ack
        </Button>
      )}
    </li>
  );
}

/** A rule over several channels has one title: the channel that tripped it is added. */
function titleWithSubject(alarm: Alarm, label: string | undefined): string {
  return label === undefined || alarm.id === alarm.rule || alarm.title.includes(label)
    ? alarm.title
    : `${alarm.title} · ${label}`;
}

function decimalsFor(alarm: Alarm): number {
  return Math.abs(alarm.limit) >= 1000 || alarm.unit === '' ? 0 : 1;
}
