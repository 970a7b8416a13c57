/** What a mark says; of which moment it is travels beside it. Pure. */

/** Enter alone makes a quick mark. */
export function markText(text: string): string {
  return text.trim() === '' ? 'Mark' : text.trim();
}
