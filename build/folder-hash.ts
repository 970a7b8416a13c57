/** One hash over all that a build is made from, so that an unchanged build is not made again. */
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';

/**
 * @param root folder that `paths` are relative to; files or folders, missing ones count as such
 * @returns hex; depends on names and contents, not on times
 */
export function hashOf(root: string, paths: readonly string[]): string {
  const hash = createHash('sha256');
  for (const path of paths) addTo(hash, root, path);
  return hash.digest('hex');
}

function addTo(hash: ReturnType<typeof createHash>, root: string, path: string): void {
  const full = join(root, path);
  if (!existsSync(full)) {
    hash.update(`missing ${path}\0`);
  } else if (statSync(full).isDirectory()) {
    for (const name of readdirSync(full).sort()) addTo(hash, root, `${path}/${name}`);
  } else {
    const content = readFileSync(full);
    hash.update(`file ${path} ${content.length}\0`).update(content);
  }
}
