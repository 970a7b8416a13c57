/**
 * The trends of a stream: which bands, which window, following or held. While
 * following and for all that the ring still holds, frames come from the ring;
 * further back they come from the recording by `view`.
 */
import { useCallback, useEffect, useMemo, useState } from 'react';
import type { LimitMark, StreamName } from '../../shared-core/bridge/contract.ts';
import type { ChannelKey } from '../../shared-core/channels/channel.ts';
import { request } from '../app/bridge-client.ts';
import { sessionOf, streamStore, useStream } from '../app/stream-store.ts';
import { bandsOf, DEFAULT_BANDS, type TrendBand } from '../plots/bands.ts';
import { columnsOfView, joinColumns, makeColumns } from '../plots/decimate.ts';
import { type TrendFrame, TrendPlot } from '../plots/trend-plot.tsx';
import { Button } from '../ui/button.tsx';
import { Group } from '../ui/group.tsx';
import { useBandChoice } from './band-choice.ts';
import { followRing, ringFrame } from './follow-ring.ts';
import { moved, shown_us, type TrendWindow, windows_s, windowWord, zoomed } from './trend-window.ts';
import { useFlags } from './use-flags.ts';

export interface TrendsProps {
  readonly stream: StreamName;
  readonly onPick?: ((t_us: number) => void) | undefined;
}

const noChannels = [] as const;
const noLimits: ReadonlyMap<ChannelKey, readonly LimitMark[]> = new Map();

export function Trends({ stream, onPick }: TrendsProps) {
  const channels = useStream(stream, (s) => s.layout?.channels ?? noChannels);
  const limits = useStream(stream, (s) => s.limitsByKey) ?? noLimits;
  const [choice, setChoice] = useBandChoice(DEFAULT_BANDS);
  const [pixels, setPixels] = useState(600);
  const [window, setWindow] = useState<TrendWindow>({ span_s: 120, heldAt_us: null });

  const all = useMemo(() => bandsOf(channels, limits), [channels, limits]);
  const bands = useMemo(() => {
    const chosen = all.filter((b) => choice.includes(b.id));
    return chosen.length > 0 ? chosen : all.slice(0, 1);
  }, [all, choice]);
  const flags = useFlags(stream);
  const held = useHeldFrame(stream, bands, window, pixels);
  const isHeld = window.heldAt_us !== null;
  const follow = useMemo(
    () => (isHeld ? null : followRing(stream, bands, window.span_s, pixels)),
    [stream, bands, window.span_s, pixels, isHeld],
  );

  const newest = (): number => streamStore(stream).getState().ring?.newest_us ?? 0;
  const pan = useCallback(
    (by_us: number) => setWindow((w) => moved(w, by_us, streamStore(stream).getState().ring?.newest_us ?? 0)),
    [stream],
  );

  return (
    <section className="board-trends" aria-label="Trends">
      <div className="trend-bar">
        <Group className="segments" label="Length of the window">
          {windows_s.map((s) => (
            <Button
              key={s}
              small
              aria-pressed={window.span_s === s}
              onClick={() => setWindow((w) => ({ ...w, span_s: s }))}
              data-testid={`window-${s}`}
            >
              {windowWord(s)}
            </Button>
          ))}
        </Group>
        <Group className="segments" label="Move through time">
          <Button
            small
            onClick={() => pan(-window.span_s * 0.5e6)}
            aria-label="Back by half a window"
            data-testid="trend-back"
          >
            ◂
          </Button>
          <Button
            small
            onClick={() => pan(window.span_s * 0.5e6)}
            disabled={!isHeld}
            aria-label="Forward by half a window"
            data-testid="trend-forward"
          >
            ▸
          </Button>
          <Button
            small
            aria-pressed={isHeld}
            onClick={() => setWindow((w) => ({ ...w, heldAt_us: isHeld ? null : newest() }))}
            data-testid="trend-hold"
          >
            {isHeld ? 'Follow' : 'Hold'}
          </Button>
        </Group>
        <span className="trend-held" role="status" data-testid="trend-state">
          {isHeld ? (stream === 'live' ? 'Recording goes on' : 'Held') : ''}
        </span>
        <BandMenu all={all} bands={bands} onChange={setChoice} />
      </div>
      <div className="trend-area">
        <TrendPlot
          bands={bands}
          frame={held}
          follow={follow}
          flags={flags}
          onPixels={setPixels}
          onPan={pan}
          onZoom={(factor) => setWindow((w) => zoomed(w, factor))}
          onPick={onPick}
          label="Trends of the chosen bands"
          data-testid="trend-plot"
        />
      </div>
    </section>
  );
}

export interface BandMenuProps {
  readonly all: readonly TrendBand[];
  readonly bands: readonly TrendBand[];
  readonly onChange: (ids: readonly string[]) => void;
}

export function BandMenu({ all, bands, onChange }: BandMenuProps) {
  const shown = bands.map((b) => b.id);
  return (
    <details
      className="band-menu"
      onKeyDown={(e) => {
        if (e.key === 'Escape') e.currentTarget.open = false;
      }}
      onBlur={(e) => {
        if (!e.currentTarget.contains(e.relatedTarget)) e.currentTarget.open = false;
      }}
    >
      <summary className="button small" data-testid="band-menu">
        Bands
      </summary>
      <fieldset className="band-menu-list">
        <legend className="sr-only">Bands shown</legend>
        {all.map((b) => (
          <label key={b.id} className="check">
            <input
              type="checkbox"
              checked={shown.includes(b.id)}
              onChange={(e) => onChange(e.target.checked ? [...shown, b.id] : shown.filter((id) => id !== b.id))}
            />
            {b.title}
          </label>
        ))}
      </fieldset>
    </details>
  );
}

/** The frame of a held window: from the ring as far as it reaches back, further from the recording. Null while following. */
function useHeldFrame(
  stream: StreamName,
  bands: readonly TrendBand[],
  window: TrendWindow,
  pixels: number,
): TrendFrame | null {
  const [frame, setFrame] = useState<TrendFrame | null>(null);

  useEffect(() => {
    if (window.heldAt_us === null) return;
    const { from_us, to_us } = shown_us(window, window.heldAt_us);
    const state = streamStore(stream).getState();
    const columns = new Map(bands.flatMap((b) => b.channels.map((c) => [c.key, makeColumns(pixels + 2)] as const)));
    const held = ringFrame(stream, bands, columns, from_us, to_us, pixels);
    if (held) setFrame(held);
    // Before its own steps the ring holds coarse columns or nothing: there the recording knows more.
    const session = sessionOf(state.snapshot);
    const fineFrom_us = state.ring?.fineFrom_us ?? NaN;
    if (!session || from_us >= fineFrom_us) return;
    let isWanted = true;
    const timer = setTimeout(async () => {
      const keys = bands.flatMap((b) => b.channels.map((c) => c.key));
      const params = { session, channels: keys, from_us: Math.max(0, from_us), to_us, pixels: Math.round(pixels) };
      const result = await request('view', params);
      if (!isWanted || !result.ok) return;
      const joined = result.value.map((v) => {
        const own = held?.series.get(v.channel);
        const older = columnsOfView(v);
        return [v.channel, own && to_us > fineFrom_us ? joinColumns(older, own, fineFrom_us) : older] as const;
      });
      setFrame({ from_us, to_us, series: new Map(joined) });
    }, 150);
    return () => {
      isWanted = false;
      clearTimeout(timer);
    };
  }, [stream, bands, window, pixels]);

  return frame;
}
