/**
 * A folder that electron-builder takes for an Electron distribution: a shell
 * script in the binary's place, ending in a fuse wire, so that packaging and
 * fuses are proved where the real binary cannot be had. It proves
 * configuration only: that sandbox and fuses act, only Electron can show.
 */
import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Marks the fuse wire in every Electron binary. Source: @electron/fuses, constants. */
const SENTINEL = 'dL7pKGdnNz796PbbjQWNKmHXBZaB9tsX';
/** Version 1 with nine fuses, in Electron 45's defaults; each test expects some of them changed. */
const WIRE = Buffer.concat([Buffer.from(SENTINEL), Buffer.from([1, 9]), Buffer.from('101100011')]);

export function makeStandIn(folder: string, version: string): void {
  mkdirSync(join(folder, 'locales'), { recursive: true });
  // electron-builder fills it; a default_app.asar that is none would stop it.
  mkdirSync(join(folder, 'resources'));
  writeFileSync(join(folder, 'electron'), Buffer.concat([Buffer.from('#!/bin/sh\nexit 0\n'), WIRE, Buffer.from('\n')]));
  chmodSync(join(folder, 'electron'), 0o755);
  writeFileSync(join(folder, 'version'), version);
  writeFileSync(join(folder, 'LICENSE'), 'stand-in\n');
  writeFileSync(join(folder, 'LICENSES.chromium.html'), '<!doctype html>\n');
  for (const locale of ['en-US', 'de']) writeFileSync(join(folder, 'locales', `${locale}.pak`), 'pak');
}
