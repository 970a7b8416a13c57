/**
 * Each store error in plain words: what happened and what was kept, then what
 * to do. The sentences are shown to the operator as they stand.
 */
import { assertNever } from '../../../shared-core/base/result.ts';
import type { ErrorWords, StoreError } from './store-contract.ts';

export function wordsOf(error: StoreError): ErrorWords {
  switch (error.kind) {
    case 'not-a-database':
      return {
        sentence: `${error.path} is not a database of recordings. It was left untouched.`,
        remedy: 'Move the file elsewhere, or choose another data folder.',
      };
    case 'foreign-database':
      return {
        sentence: `${error.path} is a database of another program (application id ${hex(error.applicationId)}). It was left untouched.`,
        remedy: 'Move the file elsewhere, or choose another data folder.',
      };
    case 'schema-too-new':
      return {
        sentence: `${error.path} was written by a newer version (format ${error.found}; this version knows up to ${error.supported}). It was left untouched.`,
        remedy: 'Install the newer version, or choose another data folder.',
      };
    case 'damaged':
      return {
        sentence:
          error.setAsideAs === null
            ? `The recordings in ${error.path} are damaged: ${error.detail}. Nothing was deleted.`
            : `The recordings in ${error.path} were damaged: ${error.detail}. They were set aside as ${error.setAsideAs} and kept; new sessions go into a fresh file.`,
        remedy:
          error.setAsideAs === null
            ? 'Copy the file to another disk before anything else is tried with it.'
            : 'Copy the file set aside to another disk, then read from it what can be read.',
      };
    case 'disk-full':
      return {
        sentence: `The disk that holds ${error.path} is full. Data is held in memory until it can be written.`,
        remedy: 'Free space on that disk now; recording then goes on by itself and nothing is missing.',
      };
    case 'read-only':
      return {
        sentence: `${error.path} cannot be written: the file, its folder or its disk is read-only.`,
        remedy: 'Give yourself the right to write there, or choose another data folder.',
      };
    case 'folder-missing':
      return {
        sentence: `${error.path} does not exist.`,
        remedy: 'Connect the disk that holds the folder, or choose another data folder.',
      };
    case 'locked':
      return {
        sentence: `${error.path} is in use by another copy of this program.`,
        remedy: 'Close the other copy, or choose another data folder.',
      };
    case 'session-not-found':
      return {
        sentence: `There is no session ${error.id} in the logbook.`,
        remedy: 'Look at the list again: it may have been let go by the retention rule.',
      };
    case 'session-in-use':
      return error.why === 'recording'
        ? {
            sentence: `Session ${error.id} is being recorded and cannot be put into the bin.`,
            remedy: 'Disconnect the bench first.',
          }
        : {
            sentence: `Session ${error.id} is kept by hand and cannot be put into the bin.`,
            remedy: 'Take back the keeping first.',
          };
    case 'exists':
      return error.id === null
        ? {
            sentence: `${error.path} is there already. It was left untouched.`,
            remedy: 'Choose another name or folder.',
          }
        : {
            sentence: `${error.path} has another session named ${error.id}. Both were left untouched.`,
            remedy: 'Take the file into another data folder.',
          };
    case 'io':
      return {
        sentence: `Reading or writing ${error.path} failed: ${error.detail}. What was written before is kept.`,
        remedy: 'Check that the disk is connected and healthy.',
      };
    default:
      return assertNever(error);
  }
}

function hex(id: number): string {
  return `0x${(id >>> 0).toString(16).toUpperCase().padStart(8, '0')}`;
}
