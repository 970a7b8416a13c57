/** Faults as the panel lists them: those that are in first, the rest as they come, both as far as the text fits. Pure. */
import type { FaultInfo } from '../../shared-core/bridge/contract.ts';

/** Every word of the text must stand in title or effect, in any case. */
export function listedFaults(
  faults: readonly FaultInfo[],
  active: readonly string[],
  text: string,
): { readonly isIn: readonly FaultInfo[]; readonly others: readonly FaultInfo[] } {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  // What is in stays in sight whatever is being looked for.
  const isIn = faults.filter((fault) => active.includes(fault.id));
  const others = faults.filter((fault) => {
    if (active.includes(fault.id)) return false;
    const all = `${fault.title} ${fault.effect}`.toLowerCase();
    return words.every((word) => all.includes(word));
  });
  return { isIn, others };
}
