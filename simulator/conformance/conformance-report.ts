/** The findings as lines of text: what holds, what does not, with the document's part numbers. */
import type { Finding } from './findings.ts';

const words: Readonly<Record<Finding['state'], string>> = {
  holds: 'holds',
  fails: 'FAILS',
  unseen: 'not seen',
  'not-asked': 'not asked',
};

/** False where a "must" fails, or nothing could be judged at all. */
export function conforms(findings: readonly Finding[]): boolean {
  return (
    findings.some((each) => each.state === 'holds') &&
    !findings.some((each) => each.state === 'fails' && each.weight === 'must')
  );
}

export function reportLines(findings: readonly Finding[]): string[] {
  const sorted = [...findings].sort((a, b) => a.part - b.part);
  const lines = sorted.flatMap((each) => {
    const state = each.state === 'fails' && each.weight === 'should' ? 'advice' : words[each.state];
    const line = `part ${String(each.part).padEnd(3)} ${state.padEnd(10)} ${each.says}`;
    if (each.state === 'fails') {
      const times = each.broken === 1 ? 'once' : `${each.broken} times`;
      return [line, `${' '.repeat(20)}${times}; first: ${each.detail}`];
    }
    return [line];
  });
  const count = (state: Finding['state'], weight?: Finding['weight']): number =>
    findings.filter((each) => each.state === state && (weight === undefined || each.weight === weight)).length;
  const why = [...new Set(findings.filter((each) => each.state === 'not-asked').map((each) => each.detail))];
  lines.push(
    '',
    `${count('holds')} hold, ${count('fails', 'must')} fail, ${count('fails', 'should')} to be advised, ` +
      `${count('unseen')} not seen, ${count('not-asked')} not asked${why.length > 0 ? ` (${why.join('; ')})` : ''}.`,
    conforms(findings)
      ? 'What was seen conforms to PROTOCOL.md.'
      : count('holds') === 0
        ? 'Nothing could be judged.'
        : 'This bench does not conform to PROTOCOL.md.',
  );
  return lines;
}
