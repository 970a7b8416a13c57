/** Entered settings of a fault as numbers, and what is wrong with one. Pure. */
import type { FaultParameterInfo } from '../../shared-core/bridge/contract.ts';

/** What is wrong with the text, or empty. */
export function optionFault(parameter: FaultParameterInfo, text: string): string {
  const value = numberOf(text);
  if (value >= parameter.low && value <= parameter.high) return '';
  return `From ${parameter.low} to ${parameter.high}.`;
}

/** All of them, as far as they differ from the usual; null where one is wrong. */
export function optionsOf(
  parameters: readonly FaultParameterInfo[],
  texts: Readonly<Record<string, string>>,
): Record<string, number> | null {
  const options: Record<string, number> = {};
  for (const each of parameters) {
    const text = texts[each.key];
    if (text === undefined) continue;
    if (optionFault(each, text) !== '') return null;
    options[each.key] = numberOf(text);
  }
  return options;
}

/** A comma is a decimal point to many. */
function numberOf(text: string): number {
  return text.trim() === '' ? NaN : Number(text.trim().replace(',', '.'));
}
