/**
 * The house's rules that no compiler holds: which room may import which, no
 * clock and no chance in the pure rooms, and what the product never says.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { builtinModules } from 'node:module';
import { extname, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  commentsOf,
  type Import,
  importsOf,
  root,
  type SourceFile,
  sourceFiles,
  usesOf,
} from './support/source-files.ts';

const rooms = ['shared-core', 'simulator', 'electron', 'renderer'];
const files = sourceFiles(rooms);
const imports = files.flatMap(importsOf);

/** The whole house in one table: a file in `room` may import what `may` accepts. The longest room that fits counts. */
const arrows: { room: string; may: (target: string) => boolean }[] = [
  { room: 'shared-core/', may: within('shared-core/', 'zod') },
  { room: 'simulator/', may: within('simulator/', 'shared-core/') },
  // The device is a program of its own: it has files, clocks and a pseudo-terminal.
  {
    room: 'simulator/device/',
    may: (target) => within('simulator/', 'shared-core/')(target) || isPackage(target, 'electron'),
  },
  {
    room: 'electron/host/',
    may: (target) => within('electron/host/', 'simulator/', 'shared-core/')(target) || isPackage(target, 'electron'),
  },
  // Programs of their own on top of the host.
  {
    room: 'electron/host/cli/',
    may: (target) =>
      within('electron/host/', 'electron/launch/', 'simulator/', 'shared-core/')(target) ||
      isPackage(target, 'electron'),
  },
  // What both doors need: no door, and no Electron.
  {
    room: 'electron/launch/',
    may: (target) =>
      within('electron/launch/', 'electron/host/', 'shared-core/')(target) || isPackage(target, 'electron'),
  },
  {
    room: 'electron/page/',
    may: (target) => within('electron/page/', 'shared-core/')(target) || isPackage(target, 'electron'),
  },
  {
    room: 'electron/browser/',
    may: (target) =>
      within('electron/browser/', 'electron/host/', 'electron/launch/', 'electron/page/', 'shared-core/')(target) ||
      isPackage(target, 'electron'),
  },
  {
    room: 'electron/desktop/',
    may: (target) =>
      within(
        'electron/desktop/',
        'electron/host/',
        'electron/launch/',
        'electron/page/',
        'electron/preload/channels.ts',
        'shared-core/',
      )(target) || isPackage(target),
  },
  { room: 'electron/preload/', may: within('electron/preload/', 'shared-core/bridge/', 'electron') },
  {
    room: 'renderer/',
    may: (target) =>
      within('renderer/', 'shared-core/')(target) ||
      (isPackage(target, 'electron', 'ws', 'serialport', 'better-sqlite3') && !isOfNode(target)),
  },
  // Runs at build time, not in the page.
  { room: 'renderer/vite.config.ts', may: within('node:path', 'vite', '@vitejs/plugin-react') },
];

describe('given the imports of every source file', () => {
  test('then all rooms were read', () => {
    for (const room of rooms)
      expect(
        files.some((file) => file.path.startsWith(`${room}/`)),
        room,
      ).toBe(true);
    expect(imports.length).toBeGreaterThan(files.length);
  });

  test('then each follows the arrows', () => {
    expect(imports.filter((each) => !isAllowed(each)).map(asText)).toEqual([]);
  });

  test("then only the renderer's plots use the chart library", () => {
    const outside = imports.filter(
      (each) => /^(echarts|zrender)$/.test(each.target) && !each.path.startsWith('renderer/plots/'),
    );
    expect(outside.map(asText)).toEqual([]);
  });

  test('then our own files are named with their extension, and exist', () => {
    const own = new Set(files.map((file) => file.path));
    const missing = imports.filter(
      (each) => each.specifier.startsWith('.') && /\.(ts|tsx)$|^[^.]*$/.test(each.target) && !own.has(each.target),
    );
    expect(missing.map(asText)).toEqual([]);
  });
});

describe('given made-up files, then the check sees what it must', () => {
  test.each([
    { path: 'shared-core/a.ts', text: "import { x } from '../electron/host/host.ts';" },
    { path: 'shared-core/a.ts', text: "import type { x } from '../renderer/app/a.ts';" },
    { path: 'shared-core/a.ts', text: "import 'node:fs';" },
    { path: 'shared-core/a.ts', text: "export * from 'react';" },
    { path: 'shared-core/a.ts', text: "export { x } from '../simulator/a.ts';" },
    { path: 'shared-core/a.ts', text: "const x = await import('node:os');" },
    { path: 'shared-core/a.ts', text: "const x = require('fs');" },
    { path: 'shared-core/a.ts', text: "type X = import('electron').App;" },
    { path: 'shared-core/a.ts', text: "import x = require('fs');" },
    { path: 'simulator/a.ts', text: "import { x } from './device/../../electron/host/host.ts';" },
    { path: 'simulator/a.ts', text: "import 'node:timers';" },
    { path: 'electron/host/a.ts', text: "import { app } from 'electron';" },
    { path: 'electron/host/a.ts', text: "import { x } from '../browser/main.ts';" },
    { path: 'electron/host/a.ts', text: "new Worker(new URL('../desktop/main.ts', import.meta.url));" },
    { path: 'electron/browser/a.ts', text: "import { x } from '../desktop/main.ts';" },
    { path: 'electron/browser/a.ts', text: "import { app } from 'electron/main';" },
    { path: 'electron/preload/a.ts', text: "import 'node:fs';" },
    { path: 'renderer/a.tsx', text: "import { x } from '../electron/host/host.ts'; const a = <b>{x}</b>;" },
    { path: 'renderer/a.ts', text: "import { x } from '../simulator/scenarios.ts';" },
    { path: 'renderer/a.ts', text: "import 'node:fs';" },
  ])('when $path holds $text', (file) => {
    const found = importsOf(file);
    expect(found.length).toBe(1);
    expect(found.some(isAllowed)).toBe(false);
  });

  test('when a module is named by anything but a literal, then that is an error', () => {
    expect(() => importsOf({ path: 'shared-core/a.ts', text: 'await import(name);' })).toThrow(/literal/);
  });

  test('when an import stands in a comment or a string, then it is none', () => {
    expect(importsOf({ path: 'shared-core/a.ts', text: '// import "fs";\nconst a = "require(\'fs\')";' })).toEqual([]);
  });
});

describe('given the pure rooms', () => {
  const pure = files.filter(
    (file) => /^(shared-core|simulator)\//.test(file.path) && !file.path.startsWith('simulator/device/'),
  );

  test('then no file reads a clock, waits, or throws dice', () => {
    const found = pure.flatMap((file) => usesOf(file, isClockOrChance));
    expect(found.map((use) => `${use.path}:${use.line} ${use.what}`)).toEqual([]);
  });

  test.each([
    'Date.now()',
    'const clock = Date.now;',
    'new Date()',
    'Date()',
    'performance.now()',
    'globalThis.performance.now()',
    'Math.random()',
    'const dice = Math . random;',
    'setTimeout(() => {}, 1)',
    'setInterval(() => {}, 1)',
    'queueMicrotask(() => {})',
    'crypto.randomUUID()',
    'crypto.getRandomValues(a)',
  ])('when a file held %s, then it would be found', (text) => {
    expect(usesOf({ path: 'shared-core/a.ts', text }, isClockOrChance).length).toBeGreaterThan(0);
  });

  test('when a time is given as an argument, then that is no clock', () => {
    const text = 'new Date(startedAt_epochMs).toISOString(); // Date.now()\nconst a = "Math.random()";';
    expect(usesOf({ path: 'shared-core/a.ts', text }, isClockOrChance)).toEqual([]);
  });
});

describe("given the desktop's files", () => {
  test('then ipcMain is heard through the one wrapper', () => {
    const found = files
      .filter((file) => file.path.startsWith('electron/') && file.path !== 'electron/desktop/sender-check.ts')
      .flatMap((file) => usesOf(file, (what) => /^ipcMain\./.test(what)));
    expect(found).toEqual([]);
  });

  test('then nothing opens an address outside, weakens a page, or evaluates text', () => {
    const found = files.flatMap((file) =>
      usesOf(file, (what) =>
        /^(shell\.open\w+|eval|Function|document\.write|\w+\.executeJavaScript|\w+\.insertAdjacentHTML)$/.test(what),
      ),
    );
    expect(found.map((use) => `${use.path}:${use.line} ${use.what}`)).toEqual([]);
    const raw = files.filter(
      (file) => file.path.startsWith('renderer/') && /dangerouslySetInnerHTML|<webview/.test(file.text),
    );
    expect(raw.map((file) => file.path)).toEqual([]);
  });
});

/**
 * The emergency stop is wired on the stand. Our words may name it only to say
 * that we are not it, or that it must be there.
 */
describe('given all that the product says', () => {
  const texts = [...files, ...documents()];

  test('then it never claims to be an emergency stop', () => {
    const claims = texts.flatMap((file) => sentencesNaming(file).filter((sentence) => !isDisclaimer(sentence)));
    expect(claims).toEqual([]);
  });

  test('then it does say that it is none', () => {
    expect(texts.some((file) => sentencesNaming(file).some(isDisclaimer))).toBe(true);
  });

  test.each([
    { text: 'Press the emergency stop on the screen.', isFound: true },
    { text: 'EMERGENCY-STOP', isFound: true },
    { text: 'E-Stop', isFound: true },
    { text: 'label: "Emergency\n stop"', isFound: true },
    { text: 'Runstand is not the emergency stop.', isFound: false },
    { text: 'The emergency stop is hard-wired on the stand.', isFound: false },
    { text: 'Nothing here is the emergency\n * stop: that is wired.', isFound: false },
  ])('when a text held "$text", then found is $isFound', ({ text, isFound }) => {
    expect(sentencesNaming({ path: 'a.md', text }).some((sentence) => !isDisclaimer(sentence))).toBe(isFound);
  });

  test('then no text speaks of a safety level, a certificate or compliance', () => {
    const claims = texts.filter((file) =>
      /\b(SIL ?[1-4]|PL ?[a-e] per|certified (for|to)|fully compliant|complies with (ISO|IEC|NFPA|FAA|EASA))\b/.test(
        file.text,
      ),
    );
    expect(claims.map((file) => file.path)).toEqual([]);
  });
});

test('given the comments, then none marks work left undone', () => {
  const left = files.flatMap((file) =>
    commentsOf(file)
      .filter((comment) => /\b(TODO|FIXME|XXX|HACK)\b/.test(comment))
      .map((comment) => `${file.path}: ${comment.trim().slice(0, 80)}`),
  );
  expect(left).toEqual([]);
});

function isAllowed(each: Import): boolean {
  const rule = arrows.filter(({ room }) => each.path.startsWith(room)).sort((a, b) => b.room.length - a.room.length)[0];
  return rule?.may(each.target) ?? false;
}

/** Rooms (ending in a slash), files, or packages by name. */
function within(...allowed: string[]): (target: string) => boolean {
  return (target) => allowed.some((each) => (each.endsWith('/') ? target.startsWith(each) : target === each));
}

/** A package or a Node module, none of our own rooms, and none of `except`. */
function isPackage(target: string, ...except: string[]): boolean {
  return !except.includes(target) && !target.startsWith('..') && !/^(build|tests)\//.test(target) && !isOwn(target);
}

function isOfNode(target: string): boolean {
  return target.startsWith('node:') || builtinModules.includes(target);
}

function isOwn(target: string): boolean {
  return rooms.some((room) => target.startsWith(`${room}/`));
}

function asText(each: Import): string {
  return `${each.path}:${each.line} imports ${each.specifier}`;
}

function isClockOrChance(what: string, node: { type: string; arguments?: unknown }): boolean {
  const name = what.replace(/^globalThis\./, '');
  if (name === 'Date') return node.type === 'CallExpression' || (node.arguments as unknown[]).length === 0;
  return /^(Date\.now|performance\.now|Math\.random|crypto\.(randomUUID|getRandomValues)|setTimeout|setInterval|setImmediate|queueMicrotask|requestAnimationFrame)$/.test(
    name,
  );
}

/** What people read: the documents beside the code. */
function documents(): SourceFile[] {
  const found: SourceFile[] = [];
  const visit = (folder: string): void => {
    for (const entry of readdirSync(join(root, folder), { withFileTypes: true })) {
      const path = folder === '' ? entry.name : `${folder}/${entry.name}`;
      if (entry.isDirectory()) {
        if (!/^(node_modules|\.git|out|dist)$/.test(entry.name)) visit(path);
      } else if (['.md', '.html', '.css', '.yml'].includes(extname(entry.name))) {
        found.push({ path, text: readFileSync(join(root, path), 'utf8') });
      }
    }
  };
  visit('');
  return found;
}

/** Each place where the words stand, with what stands around them up to the ends of the sentence. */
function sentencesNaming(file: SourceFile): string[] {
  // Line ends, comment stars and list marks do not part a sentence.
  const flat = file.text.replaceAll(/\s*\n\s*(\*|\/\/|>)?\s*/g, ' ');
  return [...flat.matchAll(/emergency[\s_-]*stop|\be[\s_-]?stop\b/gi)].map((match) => {
    const before = flat
      .slice(Math.max(0, match.index - 160), match.index)
      .split(/[.!?]\s/)
      .at(-1);
    const after = flat.slice(match.index, match.index + 160).split(/[.!?](\s|$)/)[0];
    return `${file.path}: ${before}${after}`;
  });
}

function isDisclaimer(sentence: string): boolean {
  return /\b(not|never|nothing|no|none|nor|neither)\b|hard-?wired|wired on the stand|physical|tested (by hand|today)|on the stand/i.test(
    sentence,
  );
}
