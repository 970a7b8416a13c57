/** Before the simulator takes the place of a bench, or of a lesson under way: a question. */
import { useState } from 'react';
import { useStream } from '../app/stream-store.ts';
import { Confirm } from '../ui/confirm.tsx';

export interface LeaveFirst {
  /** Does it at once, or after the question where something would be left. */
  first(act: () => void): void;
  readonly asked: (() => void) | null;
  close(): void;
}

export function useLeaveFirst(): LeaveFirst {
  const isOnBench = useStream('live', (s) => s.snapshot?.source.kind === 'port');
  const isInLesson = useStream('live', (s) => s.snapshot?.training?.ended === null);
  const [asked, setAsked] = useState<(() => void) | null>(null);
  return {
    first: (act) => {
      if (isOnBench || isInLesson) setAsked(() => act);
      else act();
    },
    asked,
    close: () => setAsked(null),
  };
}

export function LeaveQuestion({ leave }: { readonly leave: LeaveFirst }) {
  const isOnBench = useStream('live', (s) => s.snapshot?.source.kind === 'port');
  const isTurning = useStream('live', (s) => ['running', 'cranking'].includes(s.snapshot?.run.state ?? ''));
  return (
    <Confirm
      title={isOnBench ? 'A bench is connected' : 'A lesson is under way'}
      isOpen={leave.asked !== null}
      actText={isOnBench ? 'Leave the bench and simulate' : 'End the lesson and start'}
      onAct={() => leave.asked?.()}
      onClose={leave.close}
      data-testid="leave-bench"
    >
      {isOnBench ? (
        <>
          {isTurning && (
            <p>
              <b>Its engine is turning.</b> Without the link nobody sees it from here. Stop it first.
            </p>
          )}
          <p>Starting the simulator ends the link to the bench and the session with it.</p>
        </>
      ) : (
        <p>It ends where it stands, and its record says so.</p>
      )}
    </Confirm>
  );
}
