/** The desktop's host, as bundled for Electron, run under Node: it loads, acquires, records, answers and ends. */
import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { expect, test } from 'vitest';
import { bundle, outFolder } from '../../build/bundle.ts';

test('given the bundled host process, when a page joins, then it is served live and answered by the reading worker, and the process ends when told', async () => {
  await bundle(['desktop']);
  const dataFolder = mkdtempSync(join(tmpdir(), 'runstand-bundle-'));
  try {
    // Ends with 0, or this throws with all that it printed.
    const { stdout } = await promisify(execFile)(
      process.execPath,
      [join(import.meta.dirname, 'host-bundle-child.ts'), join(outFolder, 'desktop'), dataFolder],
      { timeout: 25_000 },
    );
    const seen = JSON.parse(stdout.trim().split('\n').at(-1) ?? '') as { kinds: string[] };
    expect(seen.kinds).toEqual(['answered', 'display', 'hello', 'layout', 'reply', 'snapshot']);
  } finally {
    rmSync(dataFolder, { recursive: true, force: true });
  }
});
