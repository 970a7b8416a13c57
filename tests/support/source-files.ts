/** Our own source files as syntax trees: who imports whom, and which expressions they hold. */
import { readdirSync, readFileSync } from 'node:fs';
import { extname, join, posix } from 'node:path';
import { parseSync } from 'vite';

export const root = join(import.meta.dirname, '..', '..');

export interface SourceFile {
  /** From the root, with forward slashes. */
  readonly path: string;
  readonly text: string;
}

export interface Use {
  readonly path: string;
  readonly line: number;
}

export interface Import extends Use {
  /** As written. */
  readonly specifier: string;
  /** Our own file as a path from the root, or the package's name. */
  readonly target: string;
}

interface Node {
  readonly type: string;
  readonly start: number;
  readonly [field: string]: unknown;
}

const extensions = new Set(['.ts', '.tsx', '.js', '.cjs', '.mjs']);

/** Every source file in the rooms, generated and installed ones left out. */
export function sourceFiles(rooms: readonly string[]): SourceFile[] {
  return rooms.flatMap((room) =>
    readdirSync(join(root, room), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && extensions.has(extname(entry.name)))
      .map((entry) =>
        join(entry.parentPath, entry.name)
          .slice(root.length + 1)
          .replaceAll('\\', '/'),
      )
      .filter((path) => !path.startsWith('build/out/'))
      .map((path) => ({ path, text: readFileSync(join(root, path), 'utf8') })),
  );
}

/**
 * Imports of every form: static, type-only, re-export, `import()`, import
 * types, `require`, `import x = require`, and `new URL(…, import.meta.url)`.
 * @throws Error where a module is named by anything but a literal: it could not be checked
 */
export function importsOf(file: SourceFile): Import[] {
  const found: Import[] = [];
  const add = (node: Node, source: unknown): void => {
    const specifier = literalOf(source);
    if (specifier === null) throw new Error(`${file.path}:${lineOf(file, node)}: a module is not named by a literal`);
    found.push({ path: file.path, line: lineOf(file, node), specifier, target: targetOf(file.path, specifier) });
  };
  walk(file, (node) => {
    switch (node.type) {
      case 'ImportDeclaration':
      case 'ExportAllDeclaration':
      case 'ImportExpression':
        return add(node, node.source);
      case 'ExportNamedDeclaration':
        if (node.source !== null) add(node, node.source);
        return;
      case 'TSImportType':
        return add(node, node.source ?? node.argument);
      case 'TSExternalModuleReference':
        return add(node, node.expression);
      case 'CallExpression':
        if (textOf(file, node.callee) === 'require') add(node, (node.arguments as unknown[])[0]);
        return;
      case 'NewExpression': {
        const [first, second] = node.arguments as unknown[];
        const isModuleUrl = textOf(file, node.callee) === 'URL' && textOf(file, second) === 'import.meta.url';
        // The argument may choose between a source and its bundle: each literal in it counts.
        if (isModuleUrl) for (const literal of literalsIn(first)) add(node, literal);
      }
    }
  });
  return found;
}

/**
 * Where one of the callees is used: `Date.now`, `setTimeout(`, `new Date(`
 * without arguments counts as `new Date()`. Comments and strings do not count.
 */
export function usesOf(file: SourceFile, forbidden: (text: string, node: Node) => boolean): (Use & { what: string })[] {
  const found: (Use & { what: string })[] = [];
  walk(file, (node) => {
    if (node.type !== 'CallExpression' && node.type !== 'NewExpression' && node.type !== 'MemberExpression') return;
    const what = textOf(file, node.type === 'MemberExpression' ? node : node.callee);
    if (forbidden(what, node)) found.push({ path: file.path, line: lineOf(file, node), what });
  });
  return found;
}

export function commentsOf(file: SourceFile): string[] {
  return parsed(file).comments.map((comment) => comment.value);
}

function parsed(file: SourceFile) {
  const result = parseSync(file.path, file.text);
  if (result.errors.length > 0) throw new Error(`${file.path}: ${result.errors[0]?.message}`);
  return result;
}

function walk(file: SourceFile, visit: (node: Node) => void): void {
  const step = (value: unknown): void => {
    if (typeof value !== 'object' || value === null) return;
    if (!Array.isArray(value) && isNode(value)) visit(value);
    Object.values(value).forEach(step);
  };
  step(parsed(file).program);
}

function literalsIn(value: unknown): unknown[] {
  if (Array.isArray(value)) return value.flatMap(literalsIn);
  if (typeof value !== 'object' || value === null) return [];
  return literalOf(value) === null ? Object.values(value).flatMap(literalsIn) : [value];
}

function isNode(value: object): value is Node {
  return 'type' in value && typeof value.type === 'string' && 'start' in value;
}

function literalOf(value: unknown): string | null {
  if (typeof value !== 'object' || value === null || !isNode(value)) return null;
  if (value.type === 'TSLiteralType') return literalOf(value.literal);
  return value.type === 'Literal' && typeof value.value === 'string' ? value.value : null;
}

function textOf(file: SourceFile, node: unknown): string {
  if (typeof node !== 'object' || node === null || !isNode(node)) return '';
  return file.text.slice(node.start, node.end as number).replaceAll(/\s/g, '');
}

function lineOf(file: SourceFile, node: Node): number {
  return file.text.slice(0, node.start).split('\n').length;
}

function targetOf(path: string, specifier: string): string {
  if (specifier.startsWith('.')) return posix.normalize(posix.join(posix.dirname(path), specifier));
  const parts = specifier.split('/');
  return specifier.startsWith('@') ? parts.slice(0, 2).join('/') : (parts[0] ?? specifier);
}
