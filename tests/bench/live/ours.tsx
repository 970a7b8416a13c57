/**
 * Our side of the live benchmark: the page's own bridge, credits, ring and
 * trend plot on the real host, 16 lines in 8 bands of two. Every frame that
 * the plot draws is logged with the newest running number in it.
 */
import { useMemo } from 'react';
import { createRoot } from 'react-dom/client';
import '../../../renderer/app/tokens.css';
import '../../../renderer/plots/plots.css';
import { startBridge } from '../../../renderer/app/bridge-client.ts';
import { connectCarrier } from '../../../renderer/app/carrier.ts';
import { streamStore, useStream } from '../../../renderer/app/stream-store.ts';
import { bandsOf } from '../../../renderer/plots/bands.ts';
import { type FrameSource, TrendPlot } from '../../../renderer/plots/trend-plot.tsx';
import { followRing } from '../../../renderer/run/follow-ring.ts';
import type { Channel } from '../../../shared-core/channels/channel.ts';
import { benchLines, MARKER_KEY, POINTS } from './bench-channels.ts';
import { logFrame, startFrameLog } from './frame-log.ts';

/** 50 ms for each of the 1,200 columns. */
const SPAN_S = 60;
const log = startFrameLog();
const noFlags = [] as const;
const noLimits = new Map();
const noChannels: readonly Channel[] = [];

function Lines() {
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  const bands = useMemo(() => {
    const lines = channels.filter((c) => benchLines.some((line) => line.key === c.key));
    return bandsOf(lines, noLimits);
  }, [channels]);
  const follow = useMemo(() => logged(followRing('live', bands, SPAN_S, POINTS), channels), [bands, channels]);
  return (
    <div style={{ position: 'relative', width: 1378, height: 740 }}>
      <TrendPlot bands={bands} frame={null} follow={follow} flags={noFlags} label="Lines" data-testid="lines" />
    </div>
  );
}

function logged(source: FrameSource, channels: readonly Channel[]): FrameSource {
  const marker = channels.find((c) => c.key === MARKER_KEY);
  return (draw) =>
    source((frame) => {
      draw(frame);
      const { ring } = streamStore('live').getState();
      if (!ring || !marker) return;
      logFrame(log, ring.last[marker.ordinal]![ring.at(ring.count - 1)]!);
    });
}

/** Lines of full length from the first second on, as in an hour-long run. */
function fillPast(): void {
  const { ring, layout } = streamStore('live').getState();
  if (!ring || !layout || ring.count === 0) {
    setTimeout(fillPast, 50);
    return;
  }
  const step_us = (SPAN_S * 1e6) / POINTS;
  const from_us = ring.oldest_us - POINTS * step_us;
  const t_us = Float64Array.from({ length: POINTS }, (_, i) => from_us + i * step_us);
  const min = Float64Array.from(t_us, (t) => 200 + 40 * Math.sin(t / 3e6));
  const max = min.map((value, i) => value + (i % 7));
  const view = { channel: '', from_us, to_us: ring.oldest_us, t_us, min, max };
  ring.backfill(layout.channels.map((c) => ({ ordinal: c.ordinal, view })));
}

startBridge(connectCarrier);
createRoot(document.getElementById('root') as HTMLElement).render(<Lines />);
fillPast();
