/** Browser tests over the system's own Chromium; and over Electron, where its binary is present. */
import { join } from 'node:path';
import { defineConfig } from '@playwright/test';
import { chromiumArguments, findChromium } from './support/chromium.ts';

export default defineConfig({
  testDir: import.meta.dirname,
  outputDir: join(import.meta.dirname, '..', '..', 'test-results'),
  timeout: 60_000,
  expect: { timeout: 10_000 },
  // Two shared cores: a second browser would only make both late.
  workers: 1,
  fullyParallel: false,
  forbidOnly: process.env.CI !== undefined,
  reporter: [['list'], ...(process.env.E2E_JSON ? [['json', { outputFile: process.env.E2E_JSON }] as const] : [])],
  use: {
    viewport: { width: 1280, height: 800 },
    trace: 'retain-on-failure',
    launchOptions: { executablePath: findChromium() ?? undefined, args: chromiumArguments },
  },
  projects: [
    { name: 'browser', testMatch: '*.spec.ts', testIgnore: 'desktop*.spec.ts' },
    { name: 'desktop', testMatch: 'desktop*.spec.ts' },
  ],
});
