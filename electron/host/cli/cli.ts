/**
 * Recorded sessions without a window: list, export, report, verify, replay;
 * copies of single sessions, and what can be saved of a damaged file.
 */
import { mkdirSync } from 'node:fs';
import { homedir } from 'node:os';
import { dirname, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { SessionAnalysis } from '../../../shared-core/report/analysis.ts';
import { clockText, type Report } from '../../../shared-core/report/report.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';
import { defaultDataFolder } from '../../launch/data-folder.ts';
import { writeCsv } from '../export/csv.ts';
import { writeParquet } from '../export/parquet.ts';
import { analyse, writeReport } from '../export/report-file.ts';
import { type RowOptions, rowErrorWords } from '../export/rows.ts';
import { openStore, openStoreReadOnly } from '../store/open-store.ts';
import { salvage } from '../store/salvage.ts';
import { exportSession, importSession } from '../store/session-file.ts';
import type { SqliteStore } from '../store/sqlite-store.ts';
import type { SessionStore } from '../store/store-contract.ts';
import { compareReplay } from './compare-replay.ts';
import { fail, failWith, say } from './words.ts';

const HELP = `Runstand on the command line. Never changes a recording.

  npm run cli -- list                      sessions, newest first
  npm run cli -- report SESSION [FILE]     figures re-derived from the samples, as text; with FILE as HTML
  npm run cli -- export SESSION FILE       channels as CSV (RFC 4180), or as Parquet where FILE ends in .parquet
                                           [--rate N|all, usual 10 rows a second] [--from S] [--to S]
                                           [--channels rpm,cht1] [--raw: as the bench sent them]
  npm run cli -- verify SESSION            says whether the recording is whole and unaltered, or where not
  npm run cli -- replay SESSION            folds it again and holds alarms and advisories against those recorded
  npm run cli -- copy-out SESSION FILE     one session, exactly as it is, as a file of its own
  npm run cli -- take-in FILE              the sessions of such a file into the data folder, after verifying them
  npm run cli -- salvage FILE --data DIR   what can be read of a damaged database into a new one in DIR
  npm run cli -- rig                       the demo rig sheet as JSON, a start for your own

  --data DIR   the data folder             --json   machine-readable
  SESSION may be "last".
`;

let parsed: ReturnType<typeof parse>;
try {
  parsed = parse();
} catch (error) {
  fail((error as Error).message, 'See "npm run cli -- help".');
}
const { values, positionals } = parsed;
const [command = 'help', name, file] = positionals;

function parse() {
  return parseArgs({
    allowPositionals: true,
    options: {
      data: { type: 'string' },
      json: { type: 'boolean', default: false },
      rate: { type: 'string', default: '10' },
      from: { type: 'string' },
      to: { type: 'string' },
      channels: { type: 'string' },
      raw: { type: 'boolean', default: false },
    },
  });
}

if (command === 'help') {
  process.stdout.write(HELP);
} else if (command === 'rig') {
  say(JSON.stringify(lapwing120, null, 2));
} else if (command === 'take-in') {
  takeIn(dataFolder());
} else if (command === 'salvage') {
  salvageTo(values.data === undefined ? fail('Where to? "salvage" needs --data DIR.') : resolve(values.data));
} else {
  const opened = openStoreReadOnly(dataFolder());
  if (!opened.ok) failWith(opened.error);
  try {
    await run(opened.value);
  } finally {
    opened.value.close();
  }
}

function dataFolder(): string {
  return resolve(values.data ?? defaultDataFolder(process.platform, process.env, homedir()));
}

async function run(store: SqliteStore): Promise<void> {
  switch (command) {
    case 'list':
      return list(store);
    case 'report':
      return report(store, sessionNamed(store));
    case 'export':
      return exportRows(store, sessionNamed(store));
    case 'verify':
      return verify(store, sessionNamed(store));
    case 'replay':
      return replay(store, sessionNamed(store));
    case 'copy-out':
      return copyOut(store, sessionNamed(store));
    default:
      fail(`There is no command "${command}".`, 'See "npm run cli -- help".');
  }
}

function sessionNamed(store: SessionStore): string {
  if (name === undefined) fail(`Which session? "${command}" needs its name, or "last".`, 'See "npm run cli -- list".');
  if (name !== 'last') return name;
  const listed = store.list();
  if (!listed.ok) failWith(listed.error);
  const newest = listed.value.toSorted((a, b) => b.startedAt_epochMs - a.startedAt_epochMs)[0];
  return newest?.id ?? fail('There are no sessions in this folder yet.');
}

function list(store: SessionStore): void {
  const listed = store.list();
  if (!listed.ok) failWith(listed.error);
  const rows = listed.value.toSorted((a, b) => b.startedAt_epochMs - a.startedAt_epochMs);
  if (values.json) {
    say(JSON.stringify(rows));
    return;
  }
  if (rows.length === 0) {
    say('No sessions yet.');
    return;
  }
  say('session                 length     runs alarms aborts  rig');
  for (const row of rows) {
    const cells = [
      row.id.padEnd(23),
      clockText(row.duration_us).padEnd(10),
      String(row.runs.length).padStart(4),
      String(row.alarms).padStart(6),
      String(row.aborts).padStart(6),
      ` ${row.rigName} v${row.rigVersion}${row.provenance === 'SIMULATED' ? ', SIMULATED' : ''}`,
      row.isOpen ? '(being recorded)' : row.breakNote,
    ];
    say(cells.join(' ').trimEnd());
  }
}

async function report(store: SessionStore, id: string): Promise<void> {
  if (file !== undefined) {
    const path = resolve(file);
    mkdirSync(dirname(path), { recursive: true });
    const written = await writeReport(store, id, path);
    if (!written.ok) failWith(written.error);
    say(`${written.value.path}, ${written.value.bytes} bytes`);
    return;
  }
  const made = analyse(store, id);
  if (!made.ok) failWith(made.error);
  const { report: sheet, analysis } = made.value;
  if (values.json) {
    const { runs, alarms, advisories, points, channels, counts, frames, samples, duration_us } = analysis;
    say(
      JSON.stringify({ session: id, duration_us, frames, samples, runs, alarms, advisories, points, channels, counts }),
    );
    return;
  }
  say(reportText(sheet));
}

function reportText(sheet: Report): string {
  const lines = [`${sheet.title} (${sheet.provenance})`, ...sheet.notices, ''];
  for (const [fact, value] of sheet.facts) lines.push(`${fact.padEnd(12)} ${value}`);
  for (const table of sheet.tables) {
    const widths = table.heads.map((head, i) => Math.max(head.length, ...table.rows.map((row) => row[i]?.length ?? 0)));
    const line = (cells: readonly string[]): string =>
      cells
        .map((cell, i) => cell.padEnd(widths[i]!))
        .join('  ')
        .trimEnd();
    lines.push('', table.title, line(table.heads), ...(table.rows.length === 0 ? ['none'] : table.rows.map(line)));
  }
  return [...lines, '', ...sheet.cautions].join('\n');
}

async function exportRows(store: SessionStore, id: string): Promise<void> {
  if (file === undefined) fail('Where to? "export" needs a file name, .csv or .parquet.');
  const path = resolve(file);
  mkdirSync(dirname(path), { recursive: true });
  const isTerminal = process.stderr.isTTY === true;
  const control = {
    onProgress: (done: number) => {
      if (isTerminal) process.stderr.write(`\r${Math.round(done * 100)} %`);
    },
  };
  const write = path.endsWith('.parquet') ? writeParquet : writeCsv;
  const written = await write(store, id, path, rowOptions(), control);
  if (isTerminal) process.stderr.write('\r');
  if (!written.ok) {
    const { sentence, remedy } = rowErrorWords(written.error);
    fail(sentence, remedy);
  }
  say(`${written.value.path}, ${written.value.rows} rows, ${written.value.bytes} bytes`);
}

function rowOptions(): RowOptions {
  const rate_Hz = values.rate === 'all' ? 'all' : Number(values.rate);
  if (rate_Hz !== 'all' && !(rate_Hz > 0 && rate_Hz <= 1000)) {
    fail(`--rate ${values.rate} is neither "all" nor a number of rows per second above 0, up to 1000.`);
  }
  const seconds = (name: 'from' | 'to'): number | undefined => {
    const text = values[name];
    if (text === undefined) return undefined;
    const value = Number(text);
    if (!(value >= 0)) fail(`--${name} ${text} is not a number of seconds since the session began.`);
    return value * 1e6;
  };
  const from_us = seconds('from');
  const to_us = seconds('to');
  if (from_us !== undefined && to_us !== undefined && to_us <= from_us) fail('--to must be later than --from.');
  return {
    rate_Hz,
    values: values.raw ? 'raw' : 'calibrated',
    ...(values.channels === undefined ? {} : { channels: values.channels.split(',').map((key) => key.trim()) }),
    ...(from_us === undefined ? {} : { from_us }),
    ...(to_us === undefined ? {} : { to_us }),
  };
}

function copyOut(store: SqliteStore, id: string): void {
  if (file === undefined) fail('Where to? "copy-out" needs a file name.');
  const done = exportSession(store, id, resolve(file));
  if (!done.ok) failWith(done.error);
  if (values.json) say(JSON.stringify({ ...done.value, path: resolve(file) }));
  else say(`${resolve(file)}, ${done.value.bytes} bytes`);
}

function takeIn(folder: string): void {
  if (name === undefined) fail('Which file? "take-in" needs its name.');
  const opened = openStore(folder);
  if (!opened.ok) failWith(opened.error);
  try {
    const done = importSession(resolve(name), opened.value);
    if (!done.ok) failWith(done.error);
    if (values.json) say(JSON.stringify(done.value));
    else for (const { id } of done.value) say(`Session ${id} is whole and in ${folder}.`);
  } finally {
    opened.value.close();
  }
}

function salvageTo(folder: string): void {
  if (name === undefined) fail('Which file? "salvage" needs the damaged database.');
  const done = salvage(resolve(name), folder);
  if (!done.ok) failWith(done.error);
  const { path, sessions, lost } = done.value;
  if (values.json) say(JSON.stringify(done.value));
  else {
    for (const each of sessions) {
      const what = `${each.frames} frames and ${each.events} events saved`;
      const isAll = each.findings.length === 0;
      say(
        `${each.id}: ${what}${isAll ? ', all of it' : `, ${each.framesLost} frames and ${each.eventsLost} events lost`}`,
      );
      for (const finding of each.findings) say(`  ${finding}`);
    }
    for (const sentence of lost) say(sentence);
    say(`Saved into ${path}. The damaged file was only read.`);
  }
  if (lost.length > 0 || sessions.some((each) => each.findings.length > 0)) process.exitCode = 1;
}

function verify(store: SessionStore, id: string): void {
  const verified = store.verify(id);
  if (!verified.ok) failWith(verified.error);
  const { isWhole, blocks, frames, events, findings } = verified.value;
  if (values.json) say(JSON.stringify({ session: id, ...verified.value }));
  else {
    for (const finding of findings) say(finding);
    say(
      isWhole
        ? `Session ${id} is whole and unaltered: ${blocks} blocks, ${frames} frames, ${events} events.`
        : `Session ${id} is NOT whole: ${findings.length} findings above.`,
    );
  }
  if (!isWhole) process.exitCode = 1;
}

function replay(store: SessionStore, id: string): void {
  const session = store.load(id);
  if (!session.ok) failWith(session.error);
  const fold = new SessionAnalysis(session.value.rig);
  const done = store.replay(id, fold);
  if (!done.ok) failWith(done.error);
  const findings = compareReplay(session.value.events, fold.result().outputs);
  if (values.json) say(JSON.stringify({ session: id, isSame: findings.length === 0, findings }));
  else if (findings.length === 0)
    say(`Session ${id}: the replay gives every recorded alarm, advisory and run state again.`);
  else for (const finding of findings) say(finding);
  if (findings.length > 0) process.exitCode = 1;
}
