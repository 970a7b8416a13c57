/**
 * The built page's files, by URL path. Both doors ask here, so a path that
 * climbs out of the folder is refused in one place. Headers are in
 * `content-policy.ts`.
 */
import { realpath, stat } from 'node:fs/promises';
import { extname, join, sep } from 'node:path';

export interface PageFile {
  /** Absolute, inside the folder, links followed. */
  readonly path: string;
  readonly contentType: string;
  readonly cacheControl: string;
  readonly bytes: number;
}

const contentTypes: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff': 'font/woff',
  '.woff2': 'font/woff2',
  '.wav': 'audio/wav',
};

/**
 * The file that a URL path names, or null: not there, not of a kind that the
 * page has, or outside the folder. `/` is `index.html`.
 * @param urlPath as it stands in the URL, still percent-encoded, without query
 */
export async function findPageFile(folder: string, urlPath: string): Promise<PageFile | null> {
  const segments = segmentsOf(urlPath);
  if (segments === null) return null;
  const relative = segments.length === 0 ? 'index.html' : segments.join(sep);
  const contentType = contentTypes[extname(relative)];
  if (contentType === undefined) return null;
  try {
    const root = await realpath(folder);
    const path = await realpath(join(root, relative));
    // A link inside the folder may point out of it.
    if (!path.startsWith(root + sep)) return null;
    const info = await stat(path);
    if (!info.isFile()) return null;
    // Vite names what it puts in assets/ by its content, so those never change; the rest is asked for anew.
    const cacheControl = segments[0] === 'assets' ? 'public, max-age=31536000, immutable' : 'no-store';
    return { path, contentType, cacheControl, bytes: info.size };
  } catch {
    return null;
  }
}

/** True once the page has been built. */
export async function isPageBuilt(folder: string): Promise<boolean> {
  return (await findPageFile(folder, '/')) !== null;
}

/** Decoded path segments; null for a path that no page of ours has. */
function segmentsOf(urlPath: string): string[] | null {
  if (!urlPath.startsWith('/')) return null;
  let decoded: string;
  try {
    decoded = decodeURIComponent(urlPath);
  } catch {
    return null;
  }
  const segments = decoded.split('/').slice(1);
  if (segments.at(-1) === '') segments.pop();
  // Plain names only: no `..`, no empty or hidden names, no drive letters, no other separators.
  return segments.every((segment) => /^[A-Za-z0-9_][A-Za-z0-9_.-]*$/.test(segment) && !segment.includes('..'))
    ? segments
    : null;
}
