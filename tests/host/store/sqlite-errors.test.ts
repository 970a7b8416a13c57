import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { wordsOf } from '../../../electron/host/store/error-words.ts';
import { storeErrorOf } from '../../../electron/host/store/sqlite-errors.ts';
import type { StoreError } from '../../../electron/host/store/store-contract.ts';

const path = join(tmpdir(), 'runstand.sqlite');

// Result codes: sqlite.org/rescode.html. Codes of Node: errno(3).
test.each([
  ['SQLITE_NOTADB', 'not-a-database'],
  ['SQLITE_CORRUPT', 'damaged'],
  ['SQLITE_CORRUPT_INDEX', 'damaged'],
  ['SQLITE_FULL', 'disk-full'],
  ['ENOSPC', 'disk-full'],
  ['EDQUOT', 'disk-full'],
  ['SQLITE_READONLY', 'read-only'],
  ['SQLITE_READONLY_DIRECTORY', 'read-only'],
  ['SQLITE_READONLY_DBMOVED', 'read-only'],
  ['EACCES', 'read-only'],
  ['EROFS', 'read-only'],
  ['SQLITE_BUSY', 'locked'],
  ['SQLITE_BUSY_SNAPSHOT', 'locked'],
  ['SQLITE_LOCKED', 'locked'],
  ['SQLITE_IOERR_WRITE', 'io'],
  ['SQLITE_IOERR_FSYNC', 'io'],
  ['EIO', 'io'],
  ['EMFILE', 'io'],
  ['ENOENT', 'folder-missing'],
  ['SQLITE_CANTOPEN', 'io'],
])('given an error with code %s, then it is %s', (code, kind) => {
  expect(storeErrorOf(Object.assign(new Error('said so'), { code }), path).kind).toBe(kind);
});

test('given SQLITE_CANTOPEN where the folder does not exist, then it is folder-missing', () => {
  const error = Object.assign(new Error('unable to open'), { code: 'SQLITE_CANTOPEN' });
  expect(storeErrorOf(error, join(tmpdir(), 'no-such-folder', 'x.sqlite')).kind).toBe('folder-missing');
});

test.each([
  Object.assign(new Error('no such column'), { code: 'SQLITE_ERROR' }),
  Object.assign(new Error('UNIQUE'), { code: 'SQLITE_CONSTRAINT_UNIQUE' }),
  Object.assign(new TypeError('argument'), { code: 'ERR_INVALID_ARG_TYPE' }),
  new TypeError('x is not a function'),
])('given a mistake of ours (%s), then it is thrown on', (error) => {
  expect(() => storeErrorOf(error, path)).toThrow(error);
});

describe('given each store error', () => {
  const errors: StoreError[] = [
    { kind: 'not-a-database', path },
    { kind: 'foreign-database', path, applicationId: -1 },
    { kind: 'schema-too-new', path, found: 2, supported: 1 },
    { kind: 'damaged', path, detail: 'page 3', setAsideAs: null },
    { kind: 'damaged', path, detail: 'page 3', setAsideAs: `${path}.kept` },
    { kind: 'disk-full', path },
    { kind: 'read-only', path },
    { kind: 'folder-missing', path },
    { kind: 'locked', path },
    { kind: 'io', path, detail: 'EIO' },
  ];
  test.each(errors)('when put in words ($kind), then the file is named and there is something to do', (error) => {
    const words = wordsOf(error);
    expect(words.sentence).toContain(path);
    expect(words.sentence).toMatch(/\.$/);
    expect(words.remedy).toMatch(/\.$/);
  });

  test('when a session is missing, then its id is named', () => {
    expect(wordsOf({ kind: 'session-not-found', id: 's9' }).sentence).toContain('s9');
  });
});
