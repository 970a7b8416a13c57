/**
 * `npm run package [-- electron-builder's arguments]`: builds everything, then
 * installers for this system through electron-builder. `packageApp` is also
 * what the packaging test calls, with a stand-in for Electron.
 */
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { delimiter, join } from 'node:path';
import { bundle } from './bundle.ts';

const root = join(import.meta.dirname, '..');

/** @returns electron-builder's exit code */
export function packageApp(
  args: readonly string[],
  stdio: 'inherit' | 'pipe' = 'inherit',
): Promise<{ code: number; output: string }> {
  const require = createRequire(import.meta.url);
  const builder = require.resolve('electron-builder/cli.js');
  const electron = JSON.parse(readFileSync(require.resolve('electron/package.json'), 'utf8')) as { version: string };
  const child = spawn(
    process.execPath,
    [
      builder,
      '--config',
      join('build', 'electron-builder.yml'),
      `-c.electronVersion=${electron.version}`,
      '--publish',
      'never',
      ...args,
    ],
    {
      cwd: root,
      stdio: ['ignore', stdio, stdio],
      // It calls npm and node by name: let it find the ones that came with the project.
      env: { ...process.env, PATH: `${join(root, 'node_modules', '.bin')}${delimiter}${process.env.PATH ?? ''}` },
    },
  );
  let output = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream?.on('data', (chunk: Buffer) => {
      output += chunk.toString();
    });
  }
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('exit', (code) => resolve({ code: code ?? 1, output }));
  });
}

if (import.meta.main) {
  await bundle(['page', 'desktop']);
  process.exit((await packageApp(process.argv.slice(2))).code);
}
