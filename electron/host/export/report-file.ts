/** A session's report: folded afresh from the recording, set as HTML, written whole or not at all. */
import { renameSync, rmSync, writeFileSync } from 'node:fs';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import { type AnalysisResult, SessionAnalysis } from '../../../shared-core/report/analysis.ts';
import { buildReport, type Report } from '../../../shared-core/report/report.ts';
import type { SessionStore, StoreError } from '../store/store-contract.ts';
import { reportHtml } from './report-html.ts';

/** Folds a recorded session into its figures. */
export function analyse(
  store: SessionStore,
  id: string,
): Result<{ report: Report; analysis: AnalysisResult }, StoreError> {
  const session = store.load(id);
  if (!session.ok) return session;
  const { row, rig } = session.value;
  const fold = new SessionAnalysis(rig);
  const done = store.replay(id, fold);
  if (!done.ok) return done;
  const analysis = fold.result();
  const startedAt = `${new Date(row.startedAt_epochMs).toISOString().replace('T', ' ').slice(0, 19)} UTC`;
  return ok({ report: buildReport(row, startedAt, rig, analysis), analysis });
}

export async function writeReport(
  store: SessionStore,
  id: string,
  path: string,
): Promise<Result<{ path: string; bytes: number }, StoreError>> {
  const made = analyse(store, id);
  if (!made.ok) return made;
  const html = reportHtml(made.value.report);
  const unfinished = `${path}.part`;
  try {
    writeFileSync(unfinished, html);
    renameSync(unfinished, path);
    return ok({ path, bytes: Buffer.byteLength(html) });
  } catch (error) {
    rmSync(unfinished, { force: true });
    return err({ kind: 'io', path, detail: (error as Error).message });
  }
}
