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

/** @returns electron-builder's exit code, and what it printed */
export function packageApp(args: readonly string[], isShown = true): Promise<{ code: number; output: string }> {
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
      stdio: ['ignore', 'pipe', 'pipe'],
      // It calls npm and node by name: let it find the ones that came with the project.
      env: { ...process.env, PATH: `${join(root, 'node_modules', '.bin')}${delimiter}${process.env.PATH ?? ''}` },
    },
  );
  let output = '';
  for (const [stream, shown] of [
    [child.stdout, process.stdout],
    [child.stderr, process.stderr],
  ] as const) {
    stream.on('data', (chunk: Buffer) => {
      output += chunk.toString();
      if (isShown) shown.write(chunk);
    });
  }
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('exit', (code) => resolve({ code: code ?? 1, output }));
  });
}

/** What to do about a failure that electron-builder tells only by a stack; null where it speaks for itself. */
export function adviceFor(output: string): string | null {
  if (!/ENOTFOUND|EAI_AGAIN|ECONNREFUSED|ECONNRESET|ETIMEDOUT|ENETUNREACH/.test(output)) return null;
  return [
    'Not packaged: the Electron binary could not be downloaded, as this machine does not reach its host.',
    'Package on a machine with a network, or give a folder that holds the unpacked binary of the same version:',
    '  npm run package -- -c.electronDist=FOLDER',
  ].join('\n');
}

if (import.meta.main) {
  await bundle(['page', 'desktop']);
  const { code, output } = await packageApp(process.argv.slice(2));
  const advice = code === 0 ? null : adviceFor(output);
  if (advice !== null) process.stderr.write(`\n${advice}\n`);
  process.exit(code);
}
