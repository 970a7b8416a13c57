/** A session in which a lesson was taken: whose, how it came out, and the way to its debrief. Nothing for any other. */
import { useEffect, useState } from 'react';
import type { SessionRow } from '../../shared-core/bridge/contract.ts';
import type { TrainingRecord } from '../../shared-core/training/record.ts';
import { request, useConnection } from '../app/bridge-client.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Section } from '../ui/section.tsx';

export function SessionLesson({ row }: { readonly row: SessionRow }) {
  const isConnected = useConnection((c) => c.state === 'open');
  const [record, setRecord] = useState<TrainingRecord | null>(null);
  const isSimulated = row.provenance === 'SIMULATED';
  // biome-ignore lint/correctness/useExhaustiveDependencies: a lesson that ends is what makes the row change.
  useEffect(() => {
    if (!isConnected || !isSimulated) return;
    let isCurrent = true;
    // Records that cannot be read are told where they are listed, not here.
    void request('train.records', {}).then((found) => {
      if (isCurrent && found.ok) setRecord(found.value.records.find((each) => each.session === row.id) ?? null);
    });
    return () => {
      isCurrent = false;
    };
  }, [isConnected, isSimulated, row.id, row.isKept]);
  if (record === null) return null;
  return (
    <Section title="Lesson" data-testid="session-lesson">
      <p className="session-lesson">
        <span>
          <b>{record.title}</b>, {record.trainee}: {record.score} of 100, {record.isPassed ? 'passed' : 'not passed'}
          {record.rewinds > 0 && ', rewound'}
        </span>
        <Button small onClick={() => goTo('train', 'debrief', row.id)} data-testid="to-debrief">
          Debrief
        </Button>
      </p>
    </Section>
  );
}
