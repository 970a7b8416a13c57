/**
 * JSON that loses nothing: plain JSON turns NaN, infinities and −0 into `null`
 * and 0, so these travel as `{"$number":"NaN"}`. A `null` in the text is
 * therefore always a null.
 */
const TAG = '$number';

export function encodeJson(value: unknown): string {
  return JSON.stringify(value, (_key, part: unknown) =>
    typeof part === 'number' && (!Number.isFinite(part) || Object.is(part, -0))
      ? { [TAG]: Object.is(part, -0) ? '-0' : String(part) }
      : part,
  );
}

/** @throws SyntaxError where the text is no JSON: a damaged row. */
export function decodeJson(text: string): unknown {
  // Looking at every part costs ten times the reading; most texts have nothing to look for.
  if (!text.includes(TAG)) return JSON.parse(text);
  return JSON.parse(text, (_key, part: unknown) =>
    typeof part === 'object' && part !== null && TAG in part ? Number(part[TAG]) : part,
  );
}
