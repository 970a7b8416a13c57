/**
 * CSV, Parquet, report and the recording itself as files: asked for, under way with its
 * progress and a way to cancel, ready. What is under way outlives the place
 * that began it.
 */
import { useState } from 'react';
import { create } from 'zustand';
import type { BridgeError, ExportedFile, ExportOptions, RunRow } from '../../shared-core/bridge/contract.ts';
import type { Channel } from '../../shared-core/channels/channel.ts';
import { ask, request } from '../app/bridge-client.ts';
import { downloadHref } from '../app/carrier.ts';
import { tellError } from '../app/messages.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { Dialog } from '../ui/dialog.tsx';
import { formatBytes } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { type ExportChoice, optionsOf, rangeFault, usualChoice } from './export-choice.ts';
import { ExportOptionFields } from './export-options.tsx';

type ExportKind = 'csv' | 'parquet' | 'report' | 'session';
type ExportState = { readonly state: 'busy' } | { readonly state: 'ready'; readonly file: ExportedFile };

const useExports = create<Readonly<Record<string, ExportState | undefined>>>(() => ({}));

const titles: Readonly<Record<ExportKind, string>> = {
  csv: 'CSV',
  parquet: 'Parquet',
  report: 'Report',
  session: 'Session file',
};
const inSentence: Readonly<Record<ExportKind, string>> = {
  csv: 'CSV',
  parquet: 'Parquet file',
  report: 'report',
  session: 'session file',
};

async function begin(kind: ExportKind, id: string, options: ExportOptions): Promise<void> {
  const key = `${kind} ${id}`;
  if (useExports.getState()[key]?.state === 'busy') return;
  useExports.setState({ [key]: { state: 'busy' } });
  const done =
    kind === 'report' || kind === 'session'
      ? await request(`export.${kind}`, { id })
      : await request(kind === 'csv' ? 'export.csv' : 'export.parquet', { id, options });
  useExports.setState({ [key]: done.ok ? { state: 'ready', file: done.value } : undefined });
  if (!done.ok && !isCancelled(done.error)) tellError(done.error);
}

/** Who cancelled needs no telling. */
function isCancelled(error: BridgeError): boolean {
  return error.kind === 'cancelled';
}

const noRuns: readonly RunRow[] = [];

export interface SessionExportsProps {
  readonly id: string;
  /** Runs that can be exported by themselves. */
  readonly runs?: readonly RunRow[];
}

export function SessionExports({ id, runs = noRuns }: SessionExportsProps) {
  const [choice, setChoice] = useState<ExportChoice>(usualChoice);
  const [channels, setChannels] = useState<readonly Channel[] | null>(null);
  const bench = (channels ?? []).flatMap((c) => (c.origin.kind === 'bench' ? [c.key] : []));
  const isPossible = rangeFault(choice) === '' && choice.channels?.length !== 0;
  const start = (kind: ExportKind): void => void begin(kind, id, optionsOf(choice, runs, bench));
  return (
    <div className="exports" data-testid="exports">
      <ExportOptionFields
        id={id}
        runs={runs}
        choice={choice}
        onChange={setChoice}
        channels={channels}
        onChannels={setChannels}
      />
      <ExportPart kind="csv" id={id} onStart={start} isPossible={isPossible} />
      <ExportPart kind="parquet" id={id} onStart={start} isPossible={isPossible} />
      <ExportPart kind="report" id={id} onStart={() => void begin('report', id, {})} isPossible />
      <ExportPart
        kind="session"
        id={id}
        onStart={() => void begin('session', id, {})}
        isPossible
        title="The whole recording, exactly as it is. Another Runstand takes it in."
      />
    </div>
  );
}

/** The same behind a button, where there is no room beside. */
export function ExportButton(props: SessionExportsProps) {
  const [isOpen, setOpen] = useState(false);
  const close = (): void => setOpen(false);
  return (
    <>
      <Button small onClick={() => setOpen(true)} data-testid="export">
        Export…
      </Button>
      <Dialog
        title="Export this session"
        isOpen={isOpen}
        onClose={close}
        data-testid="export-dialog"
        foot={<Button onClick={close}>Close</Button>}
      >
        <p className="muted">What is being written goes on when this is closed.</p>
        <SessionExports {...props} />
      </Dialog>
    </>
  );
}

interface PartProps {
  readonly kind: ExportKind;
  readonly id: string;
  readonly onStart: (kind: ExportKind) => void;
  readonly isPossible: boolean;
  readonly title?: string;
}

function ExportPart({ kind, id, onStart, isPossible, title }: PartProps) {
  const now = useExports((all) => all[`${kind} ${id}`]);
  const done = useStream(
    'live',
    (s) => s.snapshot?.jobs.find((job) => job.session === id && job.kind === kind)?.done ?? null,
  );
  const isBusy = now?.state === 'busy';
  return (
    <div className="export">
      <Button
        small
        onClick={() => onStart(kind)}
        disabled={isBusy || !isPossible}
        {...(title === undefined ? {} : { title })}
        data-testid={`export-${kind}`}
      >
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
