import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openStore } from '../../../electron/host/store/open-store.ts';
import { sessionStoreContract } from '../../contracts/session-store.ts';

sessionStoreContract('SQLite', () => {
  const folder = mkdtempSync(join(tmpdir(), 'runstand-store-'));
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(`open failed: ${opened.error.kind}`);
  const store = opened.value;
  return {
    store,
    dispose: () => {
      store.close();
      rmSync(folder, { recursive: true });
    },
  };
});
