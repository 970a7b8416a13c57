/**
 * The rig sheet of this data folder and all its versions. Saving writes the
 * version's own file first, then `rig-sheet.json`, each whole or not at all;
 * no version file is ever written over, and a sheet that could not be read is
 * set aside, named and kept.
 *
 * Reading at start is in `rig-file.ts`. A saved sheet is in force from the next
 * session; that is the host's to see to.
 */
import { createHash } from 'node:crypto';
import {
  closeSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError, RigVersionRow, Trouble } from '../../shared-core/bridge/contract.ts';
import { importRigSheet, parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { nextVersion } from '../../shared-core/rig/sheet-versions.ts';
import { loadRig, RIG_FILE } from './rig-file.ts';

export const VERSIONS_FOLDER = 'rig-versions';

export class RigFolder {
  readonly #folder: string;
  #current: RigSheet;
  #trouble: Trouble | null;

  constructor(folder: string) {
    this.#folder = folder;
    const { rig, trouble } = loadRig(folder);
    this.#current = rig;
    this.#trouble = trouble;
  }

  /** As saved last; the demo sheet where none was. */
  get current(): RigSheet {
    return this.#current;
  }
  /** Why the sheet in the folder is not used; null once a good one is saved. */
  get trouble(): Trouble | null {
    return this.#trouble;
  }

  /**
   * Saves the edited sheet as the next version.
   * Errors: `invalid` with every finding, `conflict` when it was edited from
   * another version than the one saved last, `disk`.
   */
  save(edited: unknown, by: string, change: string, at_epochMs: number): Result<RigSheet, BridgeError> {
    const parsed = parseRigSheet(edited);
    if (!parsed.ok) return err(invalid(parsed.error));
    const sheet = parsed.value;
    const current = this.#current;
    if (sheet.id === current.id && sheet.version !== current.version) {
      return err({
        kind: 'conflict',
        sentence: `Not saved: this sheet was edited from version ${sheet.version}, and version ${current.version} was saved meanwhile.`,
        remedy: 'Load the saved version, compare, and make the change again.',
      });
    }
    try {
      // Another rig goes on from its own last version here.
      const from = sheet.id === current.id ? sheet.version : Math.max(sheet.version, this.#lastVersionOf(sheet.id));
      const next = nextVersion({ ...sheet, version: from }, change, by, at_epochMs);
      const valid = parseRigSheet(next);
      if (!valid.ok) return err(invalid(valid.error));
      mkdirSync(join(this.#folder, VERSIONS_FOLDER), { recursive: true });
      if (this.#trouble !== null) this.#setRefusedAside(at_epochMs);
      this.#keep(current);
      this.#keep(next);
      writeWhole(this.#folder, RIG_FILE, textOf(next));
      this.#current = next;
      this.#trouble = null;
      return ok(next);
    } catch (error) {
      return err({
        kind: 'disk',
        sentence: `Not saved: the data folder cannot be written (${(error as Error).message}). The sheet before is untouched.`,
        remedy: 'Free the disk or mend the rights of the folder, then save again.',
      });
    }
  }

  /** Versions of the present rig, newest first. Files that cannot be read are listed with what is wrong. */
  versions(): readonly RigVersionRow[] {
    const rows: RigVersionRow[] = [];
    for (const file of this.#filesOf(this.#current.id)) {
      const read = this.#read(file);
      const version = versionOfFile(file);
      if (!read.ok) {
        rows.push({
          version,
          at_epochMs: 0,
          by: '',
          change: '',
          trouble: `${file}: ${read.error[0]}`,
          isCurrent: false,
        });
        continue;
      }
      rows.push(rowOf(read.value, this.#current.version));
    }
    if (!rows.some((each) => each.isCurrent)) rows.push(rowOf(this.#current, this.#current.version));
    return rows.sort((a, b) => b.version - a.version);
  }

  version(version: number): Result<RigSheet, BridgeError> {
    if (version === this.#current.version) return ok(this.#current);
    const file = this.#filesOf(this.#current.id).find((each) => versionOfFile(each) === version);
    if (file === undefined) {
      return err({
        kind: 'not-found',
        sentence: `There is no version ${version} of this rig here.`,
        remedy: 'Choose one from the list.',
      });
    }
    const read = this.#read(file);
    return read.ok ? read : err(invalid(read.error));
  }

  #read(file: string): Result<RigSheet, readonly string[]> {
    return importRigSheet(readFileSync(join(this.#folder, VERSIONS_FOLDER, file), 'utf8'));
  }

  /** Version files of a rig; none where there is no folder yet. */
  #filesOf(id: string): readonly string[] {
    const start = `${fileStem(id)}-v`;
    try {
      return readdirSync(join(this.#folder, VERSIONS_FOLDER)).filter(
        (each) => each.startsWith(start) && /^\d+(-[0-9a-f]{8})?\.json$/.test(each.slice(start.length)),
      );
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      if (code === 'ENOENT' || code === 'ENOTDIR') return [];
      throw error;
    }
  }

  #lastVersionOf(id: string): number {
    return this.#filesOf(id).reduce((last, file) => Math.max(last, versionOfFile(file)), 0);
  }

  /** The version's own file, unless it is there; one of the same number that says something else is kept beside it. */
  #keep(sheet: RigSheet): void {
    const text = textOf(sheet);
    const name = `${fileStem(sheet.id)}-v${String(sheet.version).padStart(4, '0')}`;
    const there = this.#filesOf(sheet.id).filter((each) => versionOfFile(each) === sheet.version);
    const isKept = there.some((file) => readFileSync(join(this.#folder, VERSIONS_FOLDER, file), 'utf8') === text);
    if (isKept) return;
    const suffix = there.length === 0 ? '' : `-${createHash('sha256').update(text).digest('hex').slice(0, 8)}`;
    writeWhole(join(this.#folder, VERSIONS_FOLDER), `${name}${suffix}.json`, text);
  }

  #setRefusedAside(at_epochMs: number): void {
    const stamp = new Date(at_epochMs).toISOString().replace(/[-:]/g, '').slice(0, 15);
    try {
      renameSync(join(this.#folder, RIG_FILE), join(this.#folder, `rig-sheet.refused-${stamp}.json`));
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    }
  }
}

/** An id may hold anything; a file name may not. */
function fileStem(id: string): string {
  const plain = id.replaceAll(/[^A-Za-z0-9_-]/g, '_');
  return plain === id ? plain : `${plain}-${createHash('sha256').update(id).digest('hex').slice(0, 8)}`;
}

function versionOfFile(file: string): number {
  return Number(/-v(\d+)(?:-[0-9a-f]{8})?\.json$/.exec(file)?.[1] ?? Number.NaN);
}

function rowOf(sheet: RigSheet, current: number): RigVersionRow {
  const last = sheet.history?.at(-1);
  const said = last?.version === sheet.version ? last : undefined;
  return {
    version: sheet.version,
    at_epochMs: said?.at_epochMs ?? 0,
    by: said?.by ?? '',
    change: said?.change ?? '',
    trouble: '',
    isCurrent: sheet.version === current,
  };
}

function textOf(sheet: RigSheet): string {
  return `${JSON.stringify(sheet, null, 2)}\n`;
}

/** The file whole under its name, or not at all, whatever is switched off meanwhile. */
function writeWhole(folder: string, name: string, text: string): void {
  const path = join(folder, name);
  const unfinished = `${path}.unfinished`;
  const file = openSync(unfinished, 'w');
  try {
    // Goes on until all of it is written: a single write may take only a part.
    writeFileSync(file, text);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
  renameSync(unfinished, path);
  // The name itself is safe only once its folder is; Windows cannot open folders and needs not.
  if (process.platform !== 'win32') {
    const directory = openSync(folder, 'r');
    try {
      fsyncSync(directory);
    } finally {
      closeSync(directory);
    }
  }
}

function invalid(findings: readonly string[]): BridgeError {
  const more = findings.length > 5 ? ` And ${findings.length - 5} more.` : '';
  return {
    kind: 'invalid',
    sentence: `Not saved, nothing was changed: ${findings.slice(0, 5).join('; ')}.${more}`,
    remedy: 'Mend what is named, then save again.',
  };
}
