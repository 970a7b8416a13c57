/**
 * The victim of `kill.test.ts`: records a made-up journal as fast as the disk
 * lets it, and prints how many entries are in once a commit is acknowledged.
 * Arguments: folder, session id, seed, and `short` commits of up to a second or
 * `long` ones of several, of which every few one rewrites a long block.
 */
import { writeSync } from 'node:fs';
import { openStore } from '../../../electron/host/store/open-store.ts';
import { madeUpJournal, mulberry32, noSummary, record, sessionStart } from '../../support/journal-samples.ts';

export const SECONDS = 200;
/** Of `long` commits, which are done sooner. */
export const LONG_SECONDS = 1500;
export type Commits = 'short' | 'long';

const [folder, id, seedText, commits = 'short'] = process.argv.slice(2);
if (folder !== undefined && id !== undefined && seedText !== undefined) {
  const seed = Number(seedText);
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(`open failed: ${opened.error.kind}`);
  const started = opened.value.start(sessionStart(id));
  if (!started.ok) throw new Error(`start failed: ${started.error.kind}`);
  const random = mulberry32(seed);
  const entries = madeUpJournal(commits === 'long' ? LONG_SECONDS : SECONDS, seed);
  const most = commits === 'long' ? 900 : 80;
  for (let from = 0; from < entries.length; ) {
    const to = Math.min(from + 1 + Math.floor(random() * most), entries.length);
    record(started.value, entries.slice(from, to));
    const done = started.value.commit(noSummary);
    if (!done.ok) throw new Error(`commit failed: ${done.error.kind}`);
    // Straight to the pipe: what is printed has been acknowledged, whatever happens next.
    writeSync(1, `${to}\n`);
    from = to;
  }
  setInterval(() => {}, 1000);
}
