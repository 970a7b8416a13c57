/** What the command-line programs share: exits with a sentence, lines on the terminal. */
import { wordsOf } from '../store/error-words.ts';
import type { StoreError } from '../store/store-contract.ts';

/** Ends the program with what happened and what to do. */
export function fail(sentence: string, remedy = ''): never {
  process.stderr.write(`${sentence}${remedy === '' ? '' : ` ${remedy}`}\n`);
  process.exit(1);
}

export function failWith(error: StoreError): never {
  const { sentence, remedy } = wordsOf(error);
  fail(sentence, remedy);
}

export function say(text: string): void {
  process.stdout.write(`${text}\n`);
}
