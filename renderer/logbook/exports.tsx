/**
 * CSV, Parquet and report of a session: asked for, under way with its
 * progress and a way to cancel, ready. What is under way outlives the place
 * that began it.
 */
import { useState } from 'react';
import { create } from 'zustand';
import type { BridgeError, ExportedFile, ExportOptions } from '../../shared-core/bridge/contract.ts';
import { ask, request } from '../app/bridge-client.ts';
import { downloadHref } from '../app/carrier.ts';
import { tellError } from '../app/messages.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatBytes } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';

type ExportKind = 'csv' | 'parquet' | 'report';
type ExportState = { readonly state: 'busy' } | { readonly state: 'ready'; readonly file: ExportedFile };

const useExports = create<Readonly<Record<string, ExportState | undefined>>>(() => ({}));

const titles: Readonly<Record<ExportKind, string>> = { csv: 'CSV', parquet: 'Parquet', report: 'Report' };
const inSentence: Readonly<Record<ExportKind, string>> = { csv: 'CSV', parquet: 'Parquet file', report: 'report' };

/** What the engineer may choose; the host's usual is ten rows a second, calibrated. */
interface Choice {
  readonly rate: '1' | '10' | 'all';
  readonly values: 'calibrated' | 'raw';
}

async function begin(kind: ExportKind, id: string, choice: Choice): Promise<void> {
  const key = `${kind} ${id}`;
  if (useExports.getState()[key]?.state === 'busy') return;
  useExports.setState({ [key]: { state: 'busy' } });
  const options: ExportOptions = {
    values: choice.values,
    rate_Hz: choice.rate === 'all' ? 'all' : Number(choice.rate),
  };
  const done =
    kind === 'report'
      ? await request('export.report', { id })
      : await request(kind === 'csv' ? 'export.csv' : 'export.parquet', { id, options });
  useExports.setState({ [key]: done.ok ? { state: 'ready', file: done.value } : undefined });
  if (!done.ok && !isCancelled(done.error)) tellError(done.error);
}

/** Who cancelled needs no telling. */
function isCancelled(error: BridgeError): boolean {
  return error.kind === 'cancelled';
}

export function SessionExports({ id }: { readonly id: string }) {
  const [choice, setChoice] = useState<Choice>({ rate: '10', values: 'calibrated' });
  return (
    <div className="exports" data-testid="exports">
      <div className="export-choice">
        <label>
          Rows{' '}
          <select
            className="select"
            value={choice.rate}
            onChange={(event) => setChoice({ ...choice, rate: event.target.value as Choice['rate'] })}
            data-testid="export-rate"
          >
            <option value="1">1 a second</option>
            <option value="10">10 a second</option>
            <option value="all">every line</option>
          </select>
        </label>
        <label>
          Values{' '}
          <select
            className="select"
            value={choice.values}
            onChange={(event) => setChoice({ ...choice, values: event.target.value as Choice['values'] })}
            data-testid="export-values"
          >
            <option value="calibrated">calibrated and derived</option>
            <option value="raw">as the bench sent them</option>
          </select>
        </label>
      </div>
      <ExportPart kind="csv" id={id} choice={choice} />
      <ExportPart kind="parquet" id={id} choice={choice} />
      <ExportPart kind="report" id={id} choice={choice} />
    </div>
  );
}

interface PartProps {
  readonly kind: ExportKind;
  readonly id: string;
  readonly choice: Choice;
}

function ExportPart({ kind, id, choice }: PartProps) {
  const now = useExports((all) => all[`${kind} ${id}`]);
  const done = useStream(
    'live',
    (s) => s.snapshot?.jobs.find((job) => job.session === id && job.kind === kind)?.done ?? null,
  );
  const isBusy = now?.state === 'busy';
  return (
    <div className="export">
      <Button small onClick={() => begin(kind, id, choice)} disabled={isBusy} data-testid={`export-${kind}`}>
        {now?.state === 'ready' ? `${titles[kind]} anew` : titles[kind]}
      </Button>
      <span role="status">
        {isBusy && (
          <Progress
            label={`Writing the ${inSentence[kind]}`}
            value={done}
            {...(kind === 'report' ? {} : { onCancel: () => void ask('export.cancel', { id, kind }) })}
          />
        )}
        {now?.state === 'ready' && <ReadyFile kind={kind} file={now.file} />}
      </span>
    </div>
  );
}

function ReadyFile({ kind, file }: { readonly kind: ExportKind; readonly file: ExportedFile }) {
  const name = file.path.replace(/^.*[\\/]/, '');
  const size = formatBytes(file.bytes);
  if (file.href === null) {
    return (
      <span data-testid={`exported-${kind}`} className="exported-path">
        {file.path} ({size})
      </span>
    );
  }
  return (
    <a href={downloadHref(file.href)} download={name} data-testid={`exported-${kind}`}>
      Save the {inSentence[kind]} ({size})
    </a>
  );
}
