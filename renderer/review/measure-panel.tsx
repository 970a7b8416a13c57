/**
 * Trends of the whole session with zoom, two cursors A and B with what lies
 * between them, and the list of events. Lines come from the host's `view`, so
 * that a session of hours is as quick as one of minutes.
 */
import { useCallback, useEffect, useMemo, useState } from 'react';
import type { LimitMark, RunRow, SessionRow } from '../../shared-core/bridge/contract.ts';
import type { Channel, ChannelKey } from '../../shared-core/channels/channel.ts';
import { request } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';
import { streamStore, useStream } from '../app/stream-store.ts';
import { bandsOf, DEFAULT_BANDS, type TrendBand } from '../plots/bands.ts';
import { columnsOfView } from '../plots/decimate.ts';
import { flagsOfEvents } from '../plots/flags.ts';
import { type TrendFrame, type TrendPin, TrendPlot } from '../plots/trend-plot.tsx';
import { useBandChoice } from '../run/band-choice.ts';
import { BandMenu } from '../run/trends.tsx';
import { Button } from '../ui/button.tsx';
import { formatClock } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { EventList } from './event-list.tsx';
import { pannedStretch, type Stretch, thinned, within, zoomedStretch } from './measure.ts';
import { MeasureTable } from './measure-table.tsx';
import { goToTime, setCursor, useReview } from './review-store.ts';

const noChannels: readonly Channel[] = [];
const noLimits: ReadonlyMap<ChannelKey, readonly LimitMark[]> = new Map();
/** A wheel turns many times a second; the host is asked when it rests. */
const ASK_AFTER_MS = 120;
const SHOW_PROGRESS_AFTER_MS = 500;
const MOST_RUN_BUTTONS = 3;

export function MeasurePanel({ id, row }: { readonly id: string; readonly row: SessionRow | null }) {
  const channels = useStream('replay', (s) => s.layout?.channels ?? noChannels);
  const limits = useStream('replay', (s) => s.limitsByKey) ?? noLimits;
  const duration_us = useStream('replay', (s) => s.snapshot?.replay?.duration_us ?? 0);
  const now_us = useStream('replay', (s) => s.snapshot?.now_us ?? 0);
  const events = useReview((s) => s.events);
  const a_us = useReview((s) => s.a_us);
  const b_us = useReview((s) => s.b_us);
  const [choice, setChoice] = useBandChoice(DEFAULT_BANDS);
  const [pixels, setPixels] = useState(600);
  const [wished, setWished] = useState<Stretch | null>(null);

  const whole: Stretch = useMemo(() => ({ from_us: 0, to_us: duration_us }), [duration_us]);
  const stretch = wished ?? whole;
  const all = useMemo(() => bandsOf(channels, limits), [channels, limits]);
  const bands = useMemo(() => {
    const chosen = all.filter((b) => choice.includes(b.id));
    return chosen.length > 0 ? chosen : all.slice(0, 1);
  }, [all, choice]);
  const { frame, isReading } = useViewFrame(id, bands, stretch, pixels);
  const flags = useMemo(() => {
    const inSight = flagsOfEvents(events).filter((f) => f.t_us >= stretch.from_us && f.t_us <= stretch.to_us);
    return thinned(inSight, (22 / pixels) * (stretch.to_us - stretch.from_us)).map((g) => g.flag);
  }, [events, stretch, pixels]);
  const pins = useMemo((): readonly TrendPin[] => {
    const found: TrendPin[] = [];
    if (a_us !== null) found.push({ letter: 'A', t_us: a_us });
    if (b_us !== null) found.push({ letter: 'B', t_us: b_us });
    return found;
  }, [a_us, b_us]);

  const pan = useCallback((by_us: number) => setWished((w) => pannedStretch(w ?? whole, by_us, whole.to_us)), [whole]);
  const zoom = useCallback(
    (factor: number, around_us: number) => setWished((w) => zoomedStretch(w ?? whole, factor, around_us, whole.to_us)),
    [whole],
  );
  const show = (from_us: number, to_us: number): void => {
    const margin_us = Math.max(2e6, (to_us - from_us) * 0.03);
    setWished(within({ from_us: from_us - margin_us, to_us: to_us + margin_us }, duration_us));
  };
  const here = (): number => streamStore('replay').getState().snapshot?.now_us ?? 0;

  return (
    <div className="measure" data-testid="measure">
      <div className="measure-main">
        <div className="measure-bar">
          <Button
            small
            onClick={() => zoom(0.5, now_us)}
            data-testid="zoom-in"
            aria-label="Zoom in on the present time"
          >
            Zoom in
          </Button>
          <Button small onClick={() => zoom(2, now_us)} disabled={wished === null} data-testid="zoom-out">
            Zoom out
          </Button>
          <Button small onClick={() => setWished(null)} disabled={wished === null} data-testid="zoom-whole">
            Whole session
          </Button>
          <RunChoice runs={row?.runs ?? []} onChoose={(run) => show(run.from_us, run.to_us ?? duration_us)} />
          <span className="measure-gap" />
          <Button small onClick={() => setCursor('a', here())} data-testid="set-a">
            A here
          </Button>
          <Button small onClick={() => setCursor('b', here())} data-testid="set-b">
            B here
          </Button>
          {a_us !== null && b_us !== null && (
            <Button small onClick={() => show(Math.min(a_us, b_us), Math.max(a_us, b_us))} data-testid="zoom-ab">
              A to B
            </Button>
          )}
          {(a_us !== null || b_us !== null) && (
            <Button
              small
              tone="quiet"
              onClick={() => {
                setCursor('a', null);
                setCursor('b', null);
              }}
              data-testid="clear-ab"
            >
              Clear
            </Button>
          )}
          <BandMenu all={all} bands={bands} onChange={setChoice} />
        </div>
        <div className="measure-plot">
          <TrendPlot
            bands={bands}
            frame={frame}
            flags={flags}
            onPixels={setPixels}
            onPan={pan}
            onZoom={zoom}
            onPick={(t_us) => void goToTime(t_us)}
            marker_us={now_us}
            pins={pins}
            label={`Trends of the session from ${formatClock(stretch.from_us / 1e6)} to ${formatClock(stretch.to_us / 1e6)}. Plus and minus zoom, Enter goes to the cursor`}
            data-testid="measure-plot"
          />
          {isReading && (
            <div className="measure-reading">
              <Progress label="Reading the recording" value={null} />
            </div>
          )}
        </div>
        <MeasureTable id={id} bands={bands} />
      </div>
      <EventList />
    </div>
  );
}

/** One button per run; a list where they would not fit. */
function RunChoice({ runs, onChoose }: { readonly runs: readonly RunRow[]; readonly onChoose: (run: RunRow) => void }) {
  if (runs.length <= MOST_RUN_BUTTONS) {
    return runs.map((run) => (
      <Button key={run.run} small onClick={() => onChoose(run)} data-testid={`zoom-run-${run.run}`}>
        Run {run.run}
      </Button>
    ));
  }
  return (
    <select
      className="select run-choice"
      aria-label="Show a run"
      value=""
      onChange={(e) => {
        const run = runs.find((r) => String(r.run) === e.target.value);
        if (run) onChoose(run);
      }}
      data-testid="zoom-run"
    >
      <option value="">Run …</option>
      {runs.map((run) => (
        <option key={run.run} value={run.run}>
          Run {run.run}, at {formatClock(run.from_us / 1e6)}
        </option>
      ))}
    </select>
  );
}

/** The frame of a stretch, from the recording. What was drawn before stays until the new one has come. */
function useViewFrame(
  session: string,
  bands: readonly TrendBand[],
  stretch: Stretch,
  pixels: number,
): { readonly frame: TrendFrame | null; readonly isReading: boolean } {
  const [frame, setFrame] = useState<TrendFrame | null>(null);
  const [isReading, setReading] = useState(false);
  const isFirst = frame === null;

  // What is drawn moves with the window at once; its columns follow.
  useEffect(() => {
    setFrame((f) => (f ? { ...f, from_us: stretch.from_us, to_us: stretch.to_us } : f));
  }, [stretch]);

  // biome-ignore lint/correctness/useExhaustiveDependencies: that there was no frame yet decides the wait only.
  useEffect(() => {
    if (bands.length === 0 || !(stretch.to_us > stretch.from_us)) return;
    let isWanted = true;
    let slow: ReturnType<typeof setTimeout> | null = null;
    const timer = setTimeout(
      async () => {
        slow = setTimeout(() => isWanted && setReading(true), SHOW_PROGRESS_AFTER_MS);
        const channels = [...new Set(bands.flatMap((b) => b.channels.map((c) => c.key)))];
        const found = await request('view', { session, channels, ...stretch, pixels: Math.round(pixels) });
        clearTimeout(slow);
        if (!isWanted) return;
        setReading(false);
        if (!found.ok) return tellError(found.error);
        setFrame({ ...stretch, series: new Map(found.value.map((v) => [v.channel, columnsOfView(v)])) });
      },
      isFirst ? 0 : ASK_AFTER_MS,
    );
    return () => {
      isWanted = false;
      clearTimeout(timer);
      if (slow) clearTimeout(slow);
      setReading(false);
    };
  }, [session, bands, stretch, pixels]);

  return { frame, isReading };
}
