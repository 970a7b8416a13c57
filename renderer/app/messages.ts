/**
 * Short messages of the page itself, above all requests that failed: what
 * happened, what was kept, what to do. Alarms never come this way.
 */
import { create } from 'zustand';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';

export interface Message {
  readonly id: number;
  readonly sentence: string;
  readonly remedy: string;
}

export const useMessages = create<{ readonly list: readonly Message[] }>(() => ({ list: [] }));

let nextId = 1;

/** The newest three are shown; the same sentence is not shown twice. */
export function tell(sentence: string, remedy = ''): void {
  const list = useMessages.getState().list.filter((m) => m.sentence !== sentence);
  useMessages.setState({ list: [...list, { id: nextId++, sentence, remedy }].slice(-3) });
}

export function tellError(error: BridgeError): void {
  tell(error.sentence, error.remedy);
}

export function dismiss(id: number): void {
  useMessages.setState({ list: useMessages.getState().list.filter((m) => m.id !== id) });
}
