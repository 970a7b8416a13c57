/** What is left before the first start, point by point, with the way to where it is done. */
import { useEffect } from 'react';
import type { Channel } from '../../shared-core/channels/channel.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { dayOf } from './calibration/calibration-list.ts';
import { goodValue } from './live-values.ts';
import { type ReadyPoint, readyPoints } from './readiness.ts';
import { loadSheet, useSavedSheet } from './sheet-store.ts';

const noChannels: readonly Channel[] = [];

export function ReadyPanel() {
  const { sheet } = useSavedSheet();
  const inForce = useStream('live', (s) => (s.snapshot?.session ? (s.layout?.rig.version ?? null) : null));
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  const bench = useStream('live', (s) => s.snapshot?.identity?.bench ?? null);
  const isLinkOpen = useStream('live', (s) => s.snapshot?.source.state === 'open');
  const loss_percent = useStream('live', (s) => s.snapshot?.link.loss_percent ?? NaN);
  useStream('live', (s) => s.beat);
  // biome-ignore lint/correctness/useExhaustiveDependencies: another session may be on another sheet.
  useEffect(() => void loadSheet(), [inForce]);
  if (sheet === null)
    return <Empty title="Waiting for the rig sheet">It comes with the first word from the host.</Empty>;
  const points = readyPoints({
    sheet,
    inForce,
    channels,
    bench,
    isLinkOpen,
    loss_percent,
    notGood: channels
      .filter((each) => each.origin.kind === 'bench' && Number.isNaN(goodValue(each.key)))
      .map((each) => each.key),
    today: dayOf(Date.now()),
  });
  const left = points.filter((each) => !each.isDone).length;
  return (
    <div className="ready" data-testid="ready" data-left={left}>
      <p className="ready-sum" role="status">
        <b>{left === 0 ? 'The rig is ready for its checklists.' : `${left} of ${points.length} points are open.`}</b>
      </p>
      <p className="panel-lead">
        This says that sheet, signals and calibrations are in order. Whether an engine may be started is for the
        checklists in Run and the person who signs them.
      </p>
      <ol className="ready-points">
        {points.map((point) => (
          <Point key={point.id} point={point} />
        ))}
      </ol>
    </div>
  );
}

function Point({ point }: { readonly point: ReadyPoint }) {
  const { tab } = point;
  return (
    <li data-testid={`ready-${point.id}`} data-done={point.isDone}>
      <span className="ready-mark" aria-hidden="true">
        {point.isDone ? '✓' : '○'}
      </span>
      <div>
        <b>{point.title}</b>
        <span className="sr-only">{point.isDone ? ', done' : ', open'}</span>
        <p className="muted">{point.words}</p>
      </div>
      {tab !== null && (
        <Button small tone={point.isDone ? 'quiet' : 'plain'} onClick={() => goTo('rig', tab)}>
          Go there<span className="sr-only">: {point.title}</span>
        </Button>
      )}
    </li>
  );
}
