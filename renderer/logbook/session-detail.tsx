/** One session of the log book: its runs, its note, and what can be done with it. */
import { useEffect, useState } from 'react';
import type { SessionRow } from '../../shared-core/bridge/contract.ts';
import { ask, request } from '../app/bridge-client.ts';
import { tell, tellError } from '../app/messages.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Field } from '../ui/field.tsx';
import { formatBytes, formatClock, formatNumber, formatWallTime, NO_VALUE } from '../ui/format.ts';
import { Facts, Section } from '../ui/section.tsx';
import { SessionExports } from './exports.tsx';
import { runTime_s } from './hours.ts';
import { SessionLesson } from './session-lesson.tsx';
import { refreshSessions } from './session-list.ts';
import { SessionWhole } from './session-proof.tsx';
import { alarmsWords, binWords } from './session-words.ts';
import { Tags } from './tags.tsx';

/** As the host's schema has it. */
const LONGEST_NOTE = 4000;

export function SessionDetail({ row }: { readonly row: SessionRow }) {
  const [isBusy, setBusy] = useState(false);
  const keep = async (): Promise<void> => {
    setBusy(true);
    await ask('sessions.keep', { id: row.id, keep: !row.isKept });
    await refreshSessions();
    setBusy(false);
  };
  const bin = async (binned: boolean): Promise<void> => {
    setBusy(true);
    const done = await request('sessions.bin', { id: row.id, binned });
    if (!done.ok) tellError(done.error);
    else if (binned) tell('The session is in the bin.', 'It can be restored from there for 30 days.');
    await refreshSessions();
    setBusy(false);
  };
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a column that scrolls must be reachable by keyboard.
    <aside className="session-detail" aria-label="Chosen session" data-testid="session-detail" tabIndex={0}>
      <h2>{formatWallTime(row.startedAt_epochMs)}</h2>
      <p className="session-id">
        <span className="frame-small" data-provenance={row.provenance}>
          {row.provenance}
        </span>{' '}
        {row.id}
      </p>
      {row.breakNote !== '' && (
        <p className="break-note" data-testid="break-note">
          <span className="hatch" aria-hidden="true" /> {row.breakNote}
        </p>
      )}
      {row.isOpen && <p className="muted">Being recorded now. What is shown grows as it goes on.</p>}
      {row.binnedAt_epochMs !== null && <p data-testid="in-bin">{binWords(row.binnedAt_epochMs, formatWallTime)}</p>}
      <div className="session-acts">
        <Button tone="solid" onClick={() => goTo('review', row.id)} data-testid="open-review">
          Open in Review
        </Button>
        {row.binnedAt_epochMs === null ? (
          <>
            <Button onClick={keep} disabled={isBusy} aria-pressed={row.isKept} data-testid="keep">
              {row.isKept ? 'Kept by hand' : 'Keep'}
            </Button>
            <Button
              tone="quiet"
              onClick={() => bin(true)}
              disabled={isBusy || row.isKept || row.isOpen}
              title={
                row.isOpen ? 'It is being recorded.' : row.isKept ? 'It is kept by hand.' : 'Into the bin, for 30 days'
              }
              data-testid="delete"
            >
              Delete
            </Button>
          </>
        ) : (
          <Button onClick={() => bin(false)} disabled={isBusy} data-testid="restore">
            Restore
          </Button>
        )}
      </div>
      <SessionLesson key={`lesson ${row.id}`} row={row} />
      <SessionExports key={`exports ${row.id}`} id={row.id} runs={row.runs} />
      <Tags key={`tags ${row.id}`} row={row} />
      <Runs row={row} />
      <Note key={row.id} row={row} />
      <Section title="Facts">
        <Facts
          facts={[
            { term: 'Duration', value: formatClock(row.duration_us / 1e6) },
            { term: 'Source', value: row.detail || NO_VALUE },
            { term: 'Rig sheet', value: `${row.rigName}, version ${row.rigVersion}` },
            { term: 'Engine', value: row.engine || NO_VALUE },
            { term: 'Alarms', value: alarmsWords(row) },
            { term: 'Marks', value: row.marks },
            { term: 'Size', value: formatBytes(row.bytes) },
          ]}
        />
        <SessionWhole key={`whole ${row.id}`} id={row.id} />
      </Section>
    </aside>
  );
}

function Runs({ row }: { readonly row: SessionRow }) {
  return (
    <Section title="Runs" data-testid="session-runs">
      {row.runs.length === 0 ? (
        <p className="muted">None: the engine was not cranked.</p>
      ) : (
        <table className="table">
          <caption className="sr-only">Runs of this session</caption>
          <thead>
            <tr>
              <th scope="col">Run</th>
              <th scope="col" className="number">
                Begins
              </th>
              <th scope="col" className="number">
                Lasts
              </th>
              <th scope="col" className="number">
                Peak rpm
              </th>
              <th scope="col">
                <span className="sr-only">Open</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {row.runs.map((run) => (
              <tr key={run.run} data-testid={`run-${run.run}`}>
                <td>{run.run}</td>
                <td className="number">{formatClock(run.from_us / 1e6)}</td>
                <td className="number">
                  {formatClock(runTime_s(run, row))}
                  {run.to_us === null && (
                    <span className="muted below">{row.isOpen ? 'goes on' : 'no stop recorded'}</span>
                  )}
                </td>
                <td className="number">{formatNumber(run.peakSpeed_rpm ?? NaN, 0)}</td>
                <td className="number">
                  <Button
                    small
                    tone="quiet"
                    onClick={() => goTo('review', row.id, String(Math.floor(run.from_us)))}
                    aria-label={`Open run ${run.run} in Review`}
                  >
                    Open
                  </Button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </Section>
  );
}

function Note({ row }: { readonly row: SessionRow }) {
  const [text, setText] = useState(row.note);
  const [stored, setStored] = useState(row.note);
  const [isBusy, setBusy] = useState(false);
  // Written elsewhere meanwhile: take it over unless something is being written here.
  useEffect(() => {
    setStored((before) => {
      setText((now) => (now === before ? row.note : now));
      return row.note;
    });
  }, [row.note]);
  const isChanged = text !== stored;
  const save = async (): Promise<void> => {
    setBusy(true);
    await ask('sessions.note', { id: row.id, note: text });
    await refreshSessions();
    setBusy(false);
  };
  return (
    <Section title="Note">
      <Field label="What whoever opens this session later should know">
        {(ids) => (
          <textarea
            {...ids}
            className="input note"
            rows={3}
            maxLength={LONGEST_NOTE}
            value={text}
            onChange={(e) => setText(e.target.value)}
            data-testid="note"
          />
        )}
      </Field>
      <div className="session-acts">
        <Button small onClick={save} disabled={!isChanged || isBusy} data-testid="save-note">
          Save note
        </Button>
        {isChanged && (
          <Button small tone="quiet" onClick={() => setText(stored)}>
            Undo
          </Button>
        )}
        {!isChanged && stored !== '' && <span className="muted">Saved</span>}
      </div>
    </Section>
  );
}
