/** The packaged desktop, made by electron-builder around a stand-in for Electron. */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { extractAll, listPackage } from '@electron/asar';
import { FuseState, FuseV1Options, getCurrentFuseWire } from '@electron/fuses';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { bundle } from '../../build/bundle.ts';
import { adviceFor, packageApp } from '../../build/package.ts';
import { makeStandIn } from './electron-stand-in.ts';

// The stand-in is a Linux one; the packages of other systems are made on those.
describe.skipIf(process.platform !== 'linux')('given the packaged desktop', () => {
  const folder = mkdtempSync(join(tmpdir(), 'runstand-package-'));
  const app = join(folder, 'dist', 'linux-unpacked');
  const asar = join(app, 'resources', 'app.asar');
  const electronVersion = (
    JSON.parse(readFileSync('node_modules/electron/package.json', 'utf8')) as { version: string }
  ).version;
  let listed: string[] = [];

  beforeAll(async () => {
    await bundle(['page', 'desktop']);
    makeStandIn(join(folder, 'standin'), electronVersion);
    const { code, output } = await packageApp(
      ['--linux', 'dir', `-c.electronDist=${join(folder, 'standin')}`, `-c.directories.output=${join(folder, 'dist')}`],
      false,
    );
    expect(code, output).toBe(0);
    listed = listPackage(asar, { isPack: false }).map((path) => path.replaceAll('\\', '/'));
  }, 120_000);

  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test('when its fuses are read back, then all nine stand as decided', async () => {
    const wire = await getCurrentFuseWire(join(app, 'runstand'));
    expect(wire).toEqual({
      version: '1',
      [FuseV1Options.RunAsNode]: FuseState.DISABLE,
      [FuseV1Options.EnableCookieEncryption]: FuseState.ENABLE,
      [FuseV1Options.EnableNodeOptionsEnvironmentVariable]: FuseState.DISABLE,
      [FuseV1Options.EnableNodeCliInspectArguments]: FuseState.DISABLE,
      [FuseV1Options.EnableEmbeddedAsarIntegrityValidation]: FuseState.ENABLE,
      [FuseV1Options.OnlyLoadAppFromAsar]: FuseState.ENABLE,
      [FuseV1Options.LoadBrowserProcessSpecificV8Snapshot]: FuseState.DISABLE,
      [FuseV1Options.GrantFileProtocolExtraPrivileges]: FuseState.DISABLE,
      [FuseV1Options.WasmTrapHandlers]: FuseState.ENABLE,
    });
  });

  test('when the installed fuse list is read, then it has no fuse that was not decided about', () => {
    const known = Object.values(FuseV1Options).filter((value) => typeof value === 'number');
    expect(known.length).toBe(9);
  });

  test.each([
    '/package.json',
    '/build/out/desktop/main.cjs',
    '/build/out/desktop/preload.cjs',
    '/build/out/desktop/host-process.js',
    '/build/out/desktop/reading-worker.js',
    '/build/out/desktop/backtest-worker.js',
    '/build/out/renderer/index.html',
    '/node_modules/better-sqlite3/package.json',
    '/node_modules/serialport/package.json',
  ])('when its archive is listed, then %s is in it', (path) => {
    expect(listed).toContain(path);
  });

  test.each([
    { what: 'source', pattern: /^\/(shared-core|simulator|electron|renderer|tests)\// },
    { what: 'source maps of the desktop', pattern: /^\/build\/out\/desktop\/.*\.map$/ },
    { what: 'what the page has in its bundle', pattern: /^\/node_modules\/(react|react-dom|echarts|zrender|zod|ws)\// },
    { what: 'development tools', pattern: /^\/node_modules\/(vite|vitest|typescript|electron|playwright|esbuild)\// },
    { what: 'native parts of other systems', pattern: /(darwin|win32|android)[^/]*(\.node|\/)/ },
    { what: 'C sources of the database', pattern: /better-sqlite3\/(deps|src)\// },
  ])('when its archive is listed, then $what is not in it', ({ pattern }) => {
    expect(listed.filter((path) => pattern.test(path))).toEqual([]);
  });

  test('when its native modules are looked for, then they lie outside the archive, where they can be loaded', () => {
    const unpacked = readdirSync(join(`${asar}.unpacked`), { recursive: true }).map(String);
    expect(unpacked.filter((path) => path.endsWith('.node')).length).toBeGreaterThanOrEqual(2);
  });

  test('when the archive is unpacked, then its database module loads and its main program is named rightly', () => {
    const out = join(folder, 'extracted');
    extractAll(asar, out);
    const manifest = JSON.parse(readFileSync(join(out, 'package.json'), 'utf8')) as { main: string; type: string };
    expect(existsSync(join(out, manifest.main))).toBe(true);
    expect(manifest.type).toBe('module');
    const script =
      "const D = require('better-sqlite3'); console.log(new D(':memory:').pragma('user_version', { simple: true })); require('serialport');";
    expect(execFileSync(process.execPath, ['-e', script], { cwd: out, encoding: 'utf8' }).trim()).toBe('0');
  });

  test('when the preload is read, then it is CommonJS and asks for nothing but Electron', () => {
    const text = readFileSync(join('build', 'out', 'desktop', 'preload.cjs'), 'utf8');
    expect([...text.matchAll(/require\("([^"]+)"\)/g)].map((match) => match[1])).toEqual(['electron']);
    expect(text).not.toMatch(/^\s*(import|export) /m);
  });

  test('when the page is read, then it names no remote address and holds no inline script or style', () => {
    const html = readFileSync(join('build', 'out', 'renderer', 'index.html'), 'utf8');
    expect(html).not.toMatch(/https?:\/\//);
    expect(html).not.toMatch(/<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=/);
  });

  test('when its languages are listed, then only the one that we speak is there', () => {
    expect(readdirSync(join(app, 'locales'))).toEqual(['en-US.pak']);
    expect(statSync(join(app, 'runstand')).mode & 0o111).not.toBe(0);
  });
});

test.each([
  ['RequestError: getaddrinfo ENOTFOUND host.example', 'npm run package -- -c.electronDist=FOLDER'],
  ['connect ECONNREFUSED 10.0.0.1:443', 'could not be downloaded'],
])('given electron-builder ends with "%s", then it is said what to do', (output, words) => {
  expect(adviceFor(output)).toContain(words);
});
test('given electron-builder ends for a reason that it names, then nothing is added', () => {
  expect(adviceFor('cannot find icon')).toBeNull();
});
