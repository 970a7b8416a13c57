/** Records of lessons taken on this machine, as a table, and as a file. */
import { useEffect, useState } from 'react';
import type { ExportedFile } from '../../shared-core/bridge/contract.ts';
import type { TrainingRecord } from '../../shared-core/training/record.ts';
import { ask, useConnection } from '../app/bridge-client.ts';
import { downloadHref } from '../app/carrier.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatClock, formatWallTime } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { Section } from '../ui/section.tsx';
import { type Column, Table } from '../ui/table.tsx';
import { modeTitles } from './training-words.ts';

const columns: readonly Column<TrainingRecord>[] = [
  { key: 'at', title: 'Ended', cell: (r) => formatWallTime(r.at_epochMs), width: '170px' },
  { key: 'trainee', title: 'Trainee', cell: (r) => r.trainee },
  { key: 'lesson', title: 'Lesson', cell: (r) => r.title },
  { key: 'mode', title: 'Mode', cell: (r) => modeWord(r) },
  { key: 'score', title: 'Score', cell: (r) => r.score, isNumber: true },
  { key: 'passed', title: 'Result', cell: (r) => (r.isPassed ? 'passed' : 'not passed') },
  { key: 'duration', title: 'Time', cell: (r) => formatClock(r.duration_s), isNumber: true },
  {
    key: 'debrief',
    title: <span className="sr-only">Debrief</span>,
    cell: (r) => (
      <Button
        small
        onClick={() => goTo('train', 'debrief', r.session)}
        aria-label={`Debrief of ${r.title}, ${r.trainee}, ${formatWallTime(r.at_epochMs)}`}
        data-testid={`debrief-${r.session}`}
      >
        Debrief
      </Button>
    ),
  },
];

function modeWord({ mode, rewinds, panelOpened = 0 }: TrainingRecord): string {
  const told = [modeTitles[mode], ...(rewinds > 0 ? ['rewound'] : []), ...(panelOpened > 0 ? ['panel opened'] : [])];
  return told.join(', ');
}

export function RecordsView() {
  const isOpen = useConnection((c) => c.state === 'open');
  const [found, setFound] = useState<{ records: readonly TrainingRecord[]; unreadable: number } | null>(null);
  const [file, setFile] = useState<ExportedFile | null>(null);
  useEffect(() => {
    if (!isOpen) return;
    let isCurrent = true;
    void ask('train.records', {}).then((value) => {
      if (isCurrent && value) setFound(value);
    });
    return () => {
      isCurrent = false;
    };
  }, [isOpen]);
  if (found === null) return <Progress label="Reading the records" value={null} />;
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a part that scrolls must be reachable by keyboard.
    <section className="train-whole" aria-label="Records of lessons" tabIndex={0}>
      <Section
        title="Records"
        lead="Kept on this machine only, a line for each lesson. Simulated, all of them."
        aside={
          found.records.length > 0 && (
            <>
              {file !== null &&
                (file.href === null ? (
                  <span className="muted" data-testid="records-file">
                    Written: {file.path}
                  </span>
                ) : (
                  <a href={downloadHref(file.href)} download data-testid="records-file">
                    Save training-records.csv
                  </a>
                ))}
              <Button small onClick={() => void ask('train.export', {}).then(setFile)} data-testid="records-export">
                Export as CSV
              </Button>
            </>
          )
        }
        data-testid="records"
      >
        {found.unreadable > 0 && (
          <p data-testid="records-unreadable">
            {found.unreadable} {found.unreadable === 1 ? 'line' : 'lines'} of the file cannot be read; they are left as
            they are.
          </p>
        )}
        {found.records.length === 0 ? (
          <Empty
            title="No lesson has been taken yet"
            action={<Button onClick={() => goTo('train')}>Choose a lesson</Button>}
          >
            Each lesson leaves a record here when it is over.
          </Empty>
        ) : (
          <Table
            caption="Lessons taken, newest first"
            columns={columns}
            rows={found.records}
            keyOf={(r) => `${r.session} ${r.at_epochMs}`}
            data-testid="records-table"
          />
        )}
      </Section>
    </section>
  );
}
