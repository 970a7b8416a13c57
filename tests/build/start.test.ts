/** `npm start` as a newcomer types it; and what keeps the desktop from opening, in words. */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { obstacle } from '../../build/desktop-runtime.ts';
import { hashOf } from '../../build/folder-hash.ts';
import { openCommand } from '../../build/open-address.ts';
import { root } from '../support/source-files.ts';

const dataFolder = mkdtempSync(join(tmpdir(), 'runstand-start-'));
afterAll(() => rmSync(dataFolder, { recursive: true, force: true }));

describe('given npm start', () => {
  // Windows has no SIGINT to send to another process.
  test.skipIf(process.platform === 'win32')(
    'when the desktop is not to open, then one line says why, the address follows and serves the page, and Ctrl-C ends it cleanly',
    async () => {
      const { output, code } = await started(
        ['--no-open', '--http-port', '0', '--data', dataFolder],
        async (address) => {
          const answer = await fetch(address);
          expect(answer.status).toBe(200);
          expect(await answer.text()).toContain('<title>Runstand</title>');
        },
      );
      expect(output.match(/^The desktop did not open: .+\. Serving your browser instead\.$/gm)?.length, output).toBe(1);
      expect(code, output).toBe(0);
    },
    60_000,
  );

  test.each([
    { args: ['--bogus'], words: /bogus/ },
    { args: ['--baud', 'fast'], words: /--baud takes a whole number/ },
  ])('when it is given $args, then it says what is wrong, starts nothing and ends with 2', async ({ args, words }) => {
    const { output, code } = await started(args, async () => {});
    expect(output).toMatch(words);
    expect(output).not.toMatch(/Runstand is at/);
    expect(code).toBe(2);
  });

  test('when it is asked for help, then it names every option and ends with 0', async () => {
    const { output, code } = await started(['--help'], async () => {});
    for (const option of [
      '--port',
      '--baud',
      '--scenario',
      '--seed',
      '--data',
      '--browser',
      '--http-port',
      '--no-open',
    ]) {
      expect(output).toContain(option);
    }
    expect(code).toBe(0);
  });
});

describe('given a machine', () => {
  test.each([
    {
      what: 'Linux without a display',
      platform: 'linux',
      environment: {},
      isRoot: false,
      reason: 'there is no display',
    },
    {
      what: 'Linux as root',
      platform: 'linux',
      environment: { DISPLAY: ':0' },
      isRoot: true,
      reason: 'it does not run as root',
    },
    { what: 'Linux with X11', platform: 'linux', environment: { DISPLAY: ':0' }, isRoot: false, reason: null },
    {
      what: 'Linux with Wayland',
      platform: 'linux',
      environment: { WAYLAND_DISPLAY: 'wayland-0' },
      isRoot: false,
      reason: null,
    },
    { what: 'Windows', platform: 'win32', environment: {}, isRoot: false, reason: null },
    { what: 'macOS', platform: 'darwin', environment: {}, isRoot: false, reason: null },
  ] as const)('when it is $what, then what keeps a window from opening is: $reason', ({ reason, ...machine }) => {
    expect(obstacle(machine)).toBe(reason);
  });

  test.each([
    { platform: 'linux', command: 'xdg-open' },
    { platform: 'darwin', command: 'open' },
    { platform: 'win32', command: 'rundll32' },
  ] as const)('when it is $platform, then $command opens the address, whole and unread', ({ platform, command }) => {
    const address = 'http://127.0.0.1:4870/#token=a&b';
    const opened = openCommand(platform, address);
    expect(opened.command).toBe(command);
    expect(opened.args.at(-1)).toBe(address);
  });
});

test('given sources, when a name, a content or a file changes, then so does their hash, and otherwise not', () => {
  const hashes = [['build/start.ts'], ['build/test.ts'], ['build'], ['build', 'LICENSE'], ['missing']].map((paths) =>
    hashOf(root, paths),
  );
  expect(new Set(hashes).size).toBe(hashes.length);
  expect(hashOf(root, ['build/start.ts'])).toBe(hashes[0]);
});

/** Runs it; once it prints its address, calls `meanwhile` and then sends Ctrl-C. */
function started(
  args: string[],
  meanwhile: (address: string) => Promise<void>,
): Promise<{ output: string; code: number | null }> {
  const child = spawn(process.execPath, [join(root, 'build', 'start.ts'), ...args], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  return new Promise((resolve, reject) => {
    let output = '';
    let isServing = false;
    const read = (chunk: Buffer): void => {
      output += chunk.toString();
      const address = /Runstand is at (\S+)\n/.exec(output)?.[1];
      if (address === undefined || isServing) return;
      isServing = true;
      meanwhile(address).then(
        () => child.kill('SIGINT'),
        (error: unknown) => {
          child.kill('SIGKILL');
          reject(error);
        },
      );
    };
    child.stdout.on('data', read);
    child.stderr.on('data', read);
    child.on('error', reject);
    child.on('exit', (code) => resolve({ output, code }));
  });
}
