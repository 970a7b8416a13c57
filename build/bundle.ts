/**
 * Builds what runs outside Node's own TypeScript: the page (Vite) and the
 * desktop's three programs (esbuild), into build/out. A part whose sources
 * have not changed since is left as it is.
 *
 *   node build/bundle.ts [--force]
 */
import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { BuildOptions } from 'esbuild';
import { hashOf } from './folder-hash.ts';
import { oneAtATime } from './one-at-a-time.ts';

const root = join(import.meta.dirname, '..');
export const outFolder = join(root, 'build', 'out');

/** Never bundled: they find their native parts beside their own files. */
const nativeModules = ['better-sqlite3', 'serialport', '@serialport/bindings-cpp'];

export type Part = 'page' | 'desktop';

const sources: Record<Part, readonly string[]> = {
  page: ['renderer', 'shared-core', 'build/bundle.ts', 'package-lock.json'],
  desktop: ['electron', 'shared-core', 'simulator', 'build/bundle.ts', 'package-lock.json'],
};

/** @returns the parts that were built; the others were up to date */
export function bundle(parts: readonly Part[], force = false): Promise<Part[]> {
  return oneAtATime(join(outFolder, 'building'), () => buildParts(parts, force));
}

async function buildParts(parts: readonly Part[], force: boolean): Promise<Part[]> {
  const built: Part[] = [];
  for (const part of parts) {
    const hash = hashOf(root, sources[part]);
    const stamp = join(outFolder, `${part}.hash`);
    if (!force && existsSync(stamp) && readFileSync(stamp, 'utf8') === hash) continue;
    // Without its stamp, a build that breaks off is not taken for a good one.
    rmSync(stamp, { force: true });
    await (part === 'page' ? buildPage() : buildDesktop());
    writeFileSync(stamp, hash);
    built.push(part);
  }
  return built;
}

async function buildPage(): Promise<void> {
  const { build } = await import('vite');
  await build({ configFile: join(root, 'renderer', 'vite.config.ts'), logLevel: 'warn' });
}

async function buildDesktop(): Promise<void> {
  const { build } = await import('esbuild');
  const out = join(outFolder, 'desktop');
  rmSync(out, { recursive: true, force: true });
  const common: BuildOptions = {
    bundle: true,
    platform: 'node',
    target: 'node24',
    external: ['electron', ...nativeModules],
    sourcemap: 'linked',
    logLevel: 'warning',
  };
  const source = (path: string): string => join(root, 'electron', path);
  await build({
    ...common,
    format: 'cjs',
    entryPoints: {
      main: source('desktop/main.ts'),
      // CommonJS by name too: a sandboxed preload is never loaded as a module.
      preload: source('preload/preload.ts'),
    },
    outdir: out,
    outExtension: { '.js': '.cjs' },
  });
  await build({
    ...common,
    format: 'esm',
    entryPoints: {
      'host-process': source('desktop/host-process.ts'),
      'reading-worker': source('host/reading/worker.ts'),
      'backtest-worker': source('host/reading/backtest-worker.ts'),
    },
    outdir: out,
    // Packages written as CommonJS call require, which a module lacks.
    banner: { js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);" },
  });
  // Says that these are modules wherever the folder is put.
  writeFileSync(join(out, 'package.json'), '{ "type": "module" }\n');
}

if (import.meta.main) {
  const built = await bundle(['page', 'desktop'], process.argv.includes('--force'));
  console.log(built.length === 0 ? 'Up to date.' : `Built: ${built.join(', ')}.`);
}
