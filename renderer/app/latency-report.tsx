/** Tells the host when a change of alarms has been painted, so that the way from byte to screen is measured, not guessed. */
import { useEffect, useRef } from 'react';
import { request } from './bridge-client.ts';
import { useStream } from './stream-store.ts';

export function LatencyReport() {
  const stamp = useStream('live', (s) => s.snapshot?.alarmStamp ?? null);
  const told = useRef(-1);
  useEffect(() => {
    if (stamp === null || stamp.change === told.current) return;
    // The first stamp that a page meets is older than the page itself.
    const isFirst = told.current === -1;
    told.current = stamp.change;
    if (isFirst && Date.now() - stamp.postedAt_epochMs > 1000) return;
    // Two frames: the first draws it, the second begins when that has been handed to the screen.
    requestAnimationFrame(() =>
      requestAnimationFrame(() => {
        void request('latency.shown', {
          change: stamp.change,
          arrivedAt_epochMs: stamp.arrivedAt_epochMs,
          shownAt_epochMs: Date.now(),
        });
      }),
    );
  }, [stamp]);
  return null;
}
