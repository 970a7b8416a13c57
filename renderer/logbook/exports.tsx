/** CSV and report of a session: asked for, under way, ready. What is under way outlives the place that began it. */
import { create } from 'zustand';
import type { ExportedFile } from '../../shared-core/bridge/contract.ts';
import { request } from '../app/bridge-client.ts';
import { downloadHref } from '../app/carrier.ts';
import { tellError } from '../app/messages.ts';
import { Button } from '../ui/button.tsx';
import { formatBytes } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';

type ExportKind = 'csv' | 'report';
type ExportState = { readonly state: 'busy' } | { readonly state: 'ready'; readonly file: ExportedFile };

const useExports = create<Readonly<Record<string, ExportState | undefined>>>(() => ({}));

const titles: Readonly<Record<ExportKind, string>> = { csv: 'CSV', report: 'Report' };

async function begin(kind: ExportKind, id: string): Promise<void> {
  const key = `${kind} ${id}`;
  if (useExports.getState()[key]?.state === 'busy') return;
  useExports.setState({ [key]: { state: 'busy' } });
  const done = await request(kind === 'csv' ? 'export.csv' : 'export.report', { id });
  useExports.setState({ [key]: done.ok ? { state: 'ready', file: done.value } : undefined });
  if (!done.ok) tellError(done.error);
}

export function SessionExports({ id }: { readonly id: string }) {
  return (
    <div className="exports" data-testid="exports">
      <ExportPart kind="csv" id={id} />
      <ExportPart kind="report" id={id} />
    </div>
  );
}

function ExportPart({ kind, id }: { readonly kind: ExportKind; readonly id: string }) {
  const now = useExports((all) => all[`${kind} ${id}`]);
  const isBusy = now?.state === 'busy';
  return (
    <div className="export">
      <Button small onClick={() => begin(kind, id)} disabled={isBusy} data-testid={`export-${kind}`}>
        {now?.state === 'ready' ? `${titles[kind]} anew` : titles[kind]}
      </Button>
      <span role="status">
        {isBusy && <Progress label={`Writing the ${kind === 'csv' ? 'CSV' : 'report'}`} value={null} />}
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
      Save the {kind === 'csv' ? 'CSV' : 'report'} ({size})
    </a>
  );
}
