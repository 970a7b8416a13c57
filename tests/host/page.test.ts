/** One page behind a carrier: what it gets within its credits, and what becomes of the rest. */
import { describe, expect, test } from 'vitest';
import { Page } from '../../electron/host/page.ts';
import { DISPLAY_EVERY_MS } from '../../electron/host/page-stream.ts';
import type {
  DisplayBatch,
  HostCarrier,
  HostMessage,
  Layout,
  RendererMessage,
} from '../../shared-core/bridge/contract.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

const hello: HostMessage = { type: 'hello', contract: 1, appVersion: '0', door: 'memory', notice: '' };
const layout: Layout = { stream: 'live', layoutVersion: 1, channels: [], limits: [], rig: lapwing120 };

function openPage() {
  const sent: HostMessage[] = [];
  const hearers: ((message: RendererMessage) => void)[] = [];
  const carrier: HostCarrier = {
    post: (message) => sent.push(message),
    onMessage: (hear) => hearers.push(hear),
    onClose: () => {},
    close: () => {},
  };
  const page = new Page(carrier, hello, {
    onRequest: async () => ({ ok: true, value: null }),
    onGone: () => {},
    log: () => {},
  });
  page.layout(layout);
  return {
    page,
    credit: (count: number) => hearers[0]!({ type: 'credit', stream: 'live', count }),
    batches: () => sent.flatMap((message) => (message.type === 'display' ? [message.batch] : [])),
  };
}

/** Step i of one channel: from i to i + 1, with a peak at step 77. */
function step(i: number): DisplayBatch {
  const value = i === 77 ? 7000 : 1900 + (i % 5);
  return {
    stream: 'live',
    layoutVersion: 1,
    from_us: i * 1000,
    to_us: (i + 1) * 1000,
    merged: 1,
    min: Float64Array.of(1900),
    max: Float64Array.of(value),
    last: Float64Array.of(value),
    quality: Uint8Array.of(0),
    updated_us: Float64Array.of((i + 1) * 1000),
    arrivedAt_epochMs: i,
  };
}

describe('given a page that gives no credit for ten seconds', () => {
  const steps = Math.round(10_000 / DISPLAY_EVERY_MS);

  test('when the steps of that time come, then none is sent, and a credit brings them as one, counted, peak and all', () => {
    const { page, credit, batches } = openPage();
    for (let i = 0; i < steps; i++) page.display(step(i));
    expect(batches()).toEqual([]);
    credit(1);
    expect(batches()).toHaveLength(1);
    expect(batches()[0]).toMatchObject({
      merged: steps,
      from_us: 0,
      to_us: steps * 1000,
      max: Float64Array.of(7000),
      min: Float64Array.of(1900),
      arrivedAt_epochMs: steps - 1,
    });
  });

  test('when it gives credits again, then steps come one by one and nothing of the pause is sent after', () => {
    const { page, credit, batches } = openPage();
    for (let i = 0; i < steps; i++) page.display(step(i));
    credit(4);
    for (let i = steps; i < steps + 3; i++) page.display(step(i));
    expect(batches().map((batch) => batch.merged)).toEqual([steps, 1, 1, 1]);
  });

  test('when it hoards credits, then no more than two seconds of steps are ever under way', () => {
    const { page, credit, batches } = openPage();
    for (let i = 0; i < 100; i++) credit(1000);
    for (let i = 0; i < steps; i++) page.display(step(i));
    expect(batches().length).toBeLessThanOrEqual(2000 / DISPLAY_EVERY_MS);
  });
});
