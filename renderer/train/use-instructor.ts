/** What the instructor sees and pages of trainees do not: faults that are in, and checkpoints. Asked for each second. */
import { useEffect, useState } from 'react';
import type { InstructorView } from '../../shared-core/bridge/contract.ts';
import { request, useConnection } from '../app/bridge-client.ts';

const EVERY_MS = 1000;
const nothing: InstructorView = { faults: [], checkpoints: [] };

/** `isShut`: an assessment is under way, and this page has not opened the panel. */
export function useInstructor(): { readonly view: InstructorView; readonly isShut: boolean; look(): void } {
  const isOpen = useConnection((c) => c.state === 'open');
  const [view, setView] = useState(nothing);
  const [isShut, setShut] = useState(false);
  const [asked, setAsked] = useState(0);
  // biome-ignore lint/correctness/useExhaustiveDependencies: `asked` is how a look out of turn is asked for.
  useEffect(() => {
    if (!isOpen) return;
    let isCurrent = true;
    const ask = async (): Promise<void> => {
      const found = await request('train.instructor', {});
      if (!isCurrent) return;
      setView(found.ok ? found.value : nothing);
      setShut(!found.ok && found.error.kind === 'refused');
    };
    void ask();
    const timer = setInterval(() => void ask(), EVERY_MS);
    return () => {
      isCurrent = false;
      clearInterval(timer);
    };
  }, [isOpen, asked]);
  return { view, isShut, look: () => setAsked((n) => n + 1) };
}
