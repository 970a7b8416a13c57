/**
 * The desktop door with a real Electron, where there is one: sandbox, bridge
 * and page together. Unpackaged, because Playwright drives Electron by an
 * argument that the packaged one's fuses refuse.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { _electron, expect, test } from '@playwright/test';
import { bundle } from '../../build/bundle.ts';
import { electronBinary, obstacle, thisMachine } from '../../build/desktop-runtime.ts';

const root = join(import.meta.dirname, '..', '..');
const binary = electronBinary(root);
const reason = binary === null ? 'the Electron binary is not installed' : obstacle(thisMachine());

test.skip(reason !== null, `desktop: ${reason}`);

test('given the desktop, when it opens, then the page is sandboxed, ours, and live', async () => {
  await bundle(['page', 'desktop']);
  const dataFolder = mkdtempSync(join(tmpdir(), 'runstand-desktop-'));
  const app = await _electron.launch({ executablePath: binary ?? undefined, args: [root, '--', '--data', dataFolder] });
  try {
    const page = await app.firstWindow();
    await expect(page.getByText('SIMULATED').first()).toBeVisible();
    expect(page.url()).toMatch(/^app:\/\/runstand\//);
    const reach = await page.evaluate(() => ({
      require: typeof Reflect.get(globalThis, 'require'),
      process: typeof Reflect.get(globalThis, 'process'),
      bridge: Object.keys(Reflect.get(globalThis, 'runstand') as object),
    }));
    expect(reach).toEqual({ require: 'undefined', process: 'undefined', bridge: ['requestPort'] });
  } finally {
    await app.close();
    rmSync(dataFolder, { recursive: true, force: true });
  }
});
