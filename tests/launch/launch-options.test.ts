import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { defaultDataFolder } from '../../electron/launch/data-folder.ts';
import { DEFAULT_SCENARIO, parseLaunchOptions } from '../../electron/launch/launch-options.ts';
import { scenarioIds } from '../../simulator/scenarios.ts';

describe('given the command line', () => {
  test('when it is empty, then the simulator runs its usual scenario', () => {
    expect(parseLaunchOptions([])).toMatchObject({
      ok: true,
      value: {
        source: { kind: 'simulator', scenario: DEFAULT_SCENARIO, seed: 1, speed: 1 },
        browser: false,
        noOpen: false,
        httpPort: null,
      },
    });
    expect(scenarioIds).toContain(DEFAULT_SCENARIO);
  });

  test.each([
    { args: ['--port', '/dev/ttyUSB0'], value: { source: { kind: 'port', path: '/dev/ttyUSB0', baud: 115_200 } } },
    { args: ['--port', 'COM3', '--baud', '9600'], value: { source: { kind: 'port', path: 'COM3', baud: 9600 } } },
    { args: ['--scenario', 'overspeed', '--seed', '7'], value: { source: { scenario: 'overspeed', seed: 7 } } },
    { args: ['--speed', '0.5'], value: { source: { speed: 0.5 } } },
    { args: ['--no-source'], value: { source: { kind: 'none' } } },
    { args: ['--browser', '--no-open', '--http-port', '0'], value: { browser: true, noOpen: true, httpPort: 0 } },
    { args: ['--data', 'somewhere'], value: { dataFolder: resolve('somewhere') } },
  ])('when it is $args, then so it is', ({ args, value }) => {
    expect(parseLaunchOptions(args)).toMatchObject({ ok: true, value });
  });

  test.each([
    [['--prot', 'COM3']],
    [['COM3']],
    [['--port']],
    [['--port', '']],
    [['--baud', 'fast', '--port', 'COM3']],
    [['--baud', '49', '--port', 'COM3']],
    [['--seed', '-1']],
    [['--seed', '1.5']],
    [['--http-port', '65536']],
    [['--speed', 'NaN']],
    [['--speed', '0']],
    [['--port', 'COM3', '--scenario', 'overspeed']],
  ])('when it is %j, then it is refused in words', (args) => {
    expect(parseLaunchOptions(args)).toEqual({ ok: false, error: expect.stringMatching(/\w{3}/) });
  });
});

// XDG Base Directory Specification 0.8; Microsoft "Known folders", RoamingAppData; Apple "File System Programming Guide".
test.each([
  { platform: 'linux', env: {}, home: '/home/a', folder: '/home/a/.local/share/runstand' },
  { platform: 'linux', env: { XDG_DATA_HOME: '/data' }, home: '/home/a', folder: '/data/runstand' },
  { platform: 'linux', env: { XDG_DATA_HOME: 'relative' }, home: '/home/a', folder: '/home/a/.local/share/runstand' },
  { platform: 'darwin', env: {}, home: '/Users/a', folder: '/Users/a/Library/Application Support/Runstand' },
  {
    platform: 'win32',
    env: { APPDATA: 'C:\\U\\a\\AppData\\Roaming' },
    home: 'C:\\U\\a',
    folder: 'C:\\U\\a\\AppData\\Roaming\\Runstand',
  },
  { platform: 'win32', env: {}, home: 'C:\\U\\a', folder: 'C:\\U\\a\\AppData\\Roaming\\Runstand' },
] as const)('given $platform with $env, then recordings go to $folder', ({ platform, env, home, folder }) => {
  expect(defaultDataFolder(platform, env, home)).toBe(folder);
});
