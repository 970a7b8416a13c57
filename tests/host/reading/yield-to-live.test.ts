/** A reading worker steps back; the thread that acquires does not. */
import { getPriority } from 'node:os';
import { Worker } from 'node:worker_threads';
import { expect, test } from 'vitest';

const source = new URL('../../../electron/host/reading/yield-to-live.ts', import.meta.url).href;
const code = `
  import { getPriority } from 'node:os';
  import { parentPort } from 'node:worker_threads';
  import { yieldToLive } from ${JSON.stringify(source)};
  const before = getPriority(0);
  yieldToLive();
  parentPort.postMessage({ before, after: getPriority(0) });
`;

test.skipIf(process.platform !== 'linux')(
  'given a worker that yields, then its own thread waits for others, and the one that started it does not',
  async () => {
    const before = getPriority(0);
    const worker = new Worker(new URL(`data:text/javascript,${encodeURIComponent(code)}`));
    const said = await new Promise<{ before: number; after: number }>((resolve, reject) => {
      worker.once('message', resolve);
      worker.once('error', reject);
    });
    await worker.terminate();
    expect(said.after).toBeGreaterThan(said.before);
    expect(getPriority(0)).toBe(before);
  },
);
