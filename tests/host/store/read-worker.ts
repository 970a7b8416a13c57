/** The reader of `concurrent-reader.test.ts`: reads the session again and again, and says what it saw each time. */
import { parentPort, workerData } from 'node:worker_threads';
import { openStoreReadOnly } from '../../../electron/host/store/open-store.ts';

const { folder, id, passes } = workerData as { folder: string; id: string; passes: number };
const opened = openStoreReadOnly(folder);
if (!opened.ok) throw new Error(`open failed: ${opened.error.kind}`);
for (let pass = 0; pass < passes; pass++) {
  const ords: number[] = [];
  const done = opened.value.replay(id, {
    frame: (ord) => void ords.push(ord),
    tick: (ord) => void ords.push(ord),
    event: (ord) => void ords.push(ord),
  });
  if (!done.ok) throw new Error(`replay failed: ${done.error.kind}`);
  const verified = opened.value.verify(id);
  parentPort?.postMessage({
    entries: ords.length,
    isInOrder: ords.every((ord, i) => ord === i),
    isWhole: verified.ok && verified.value.isWhole,
  });
}
opened.value.close();
