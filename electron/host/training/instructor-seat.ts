/**
 * Which pages hold the instructor's panel open in an assessment. Keeps a
 * trainee from opening it by the way, and makes sure that it is told when
 * somebody does; it is no security: whoever sits at the machine can read its
 * memory, its disk and this program.
 */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';

export class InstructorSeat {
  #pages = new WeakSet<object>();
  /** Of the word; kept for the time of one assessment, never written. Null where none was chosen. */
  #hash: Buffer | null = null;
  #salt = Buffer.alloc(0);

  get asksWord(): boolean {
    return this.#hash !== null;
  }

  /** Another lesson: nobody holds it, and the word is this one. */
  begin(word: string | undefined): void {
    this.#pages = new WeakSet();
    this.#salt = randomBytes(16);
    this.#hash = word === undefined ? null : this.#hashOf(word);
  }

  /** False where the word is not the one that was chosen. */
  open(page: object, word: string | undefined): boolean {
    if (this.#hash !== null && !timingSafeEqual(this.#hash, this.#hashOf(word ?? ''))) return false;
    this.#pages.add(page);
    return true;
  }

  isOpenFor(page: object): boolean {
    return this.#pages.has(page);
  }

  #hashOf(word: string): Buffer {
    return createHash('sha256').update(this.#salt).update(word.normalize('NFC')).digest();
  }
}
