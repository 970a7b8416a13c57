/** Where the data comes from: the state in a sentence with its remedy, ports to connect to, the way to the simulator. */
import { useCallback, useEffect, useId, useState } from 'react';
import type { PortInfo, SourceView } from '../../shared-core/bridge/contract.ts';
import { ask, request, useConnection } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Confirm } from '../ui/confirm.tsx';
import { Field } from '../ui/field.tsx';
import { LevelMark } from '../ui/level-mark.tsx';
import { Progress } from '../ui/progress.tsx';
import { Section } from '../ui/section.tsx';
import { ListenDialog } from './listen-dialog.tsx';

const USUAL_BAUD = 115_200;
const bauds = [9600, 19_200, 38_400, 57_600, 115_200, 230_400, 460_800, 921_600];

const stateTitles: Readonly<Record<SourceView['state'], string>> = {
  opening: 'Opening',
  open: 'Connected',
  silent: 'Open, but silent',
  waiting: 'Not connected, trying again',
  closed: 'Closed',
};

type Wish =
  | { readonly kind: 'port'; readonly path: string; readonly baud: number; readonly profile: boolean }
  | { readonly kind: 'none' };

export function SourceSection() {
  const source = useStream('live', (s) => s.snapshot?.source ?? null);
  const isTurning = useStream('live', (s) => ['running', 'cranking'].includes(s.snapshot?.run.state ?? ''));
  const [wish, setWish] = useState<Wish | null>(null);
  const [isBusy, setBusy] = useState(false);

  const use = async (next: Wish): Promise<void> => {
    setBusy(true);
    await ask('source.use', next);
    setBusy(false);
  };
  /** Leaving a bench whose engine turns is asked about first. */
  const choose = (next: Wish): void => {
    if (source?.kind === 'port' && isTurning) setWish(next);
    else void use(next);
  };

  return (
    <Section title="Source" data-testid="rig-source">
      <SourceState source={source} onDisconnect={() => choose({ kind: 'none' })} isBusy={isBusy} />
      <PortForm onConnect={(path, baud, profile) => choose({ kind: 'port', path, baud, profile })} isBusy={isBusy} />
      <div className="source-simulator">
        <p>No bench at hand? The simulator speaks the same line protocol, faults included.</p>
        <Button small onClick={() => goTo('train')} data-testid="to-train">
          Choose a scenario in Train
        </Button>
      </div>
      <Confirm
        title="The engine is turning"
        isOpen={wish !== null}
        actText={wish?.kind === 'none' ? 'Disconnect all the same' : 'Change the source all the same'}
        onAct={() => wish && void use(wish)}
        onClose={() => setWish(null)}
        data-testid="leave-bench"
      >
        <p>Without this link nobody sees it from here, no limit is judged, and the session ends.</p>
        <p>Stop the engine first, or have somebody at the hard-wired stop.</p>
      </Confirm>
    </Section>
  );
}

function SourceState({
  source,
  onDisconnect,
  isBusy,
}: {
  readonly source: SourceView | null;
  readonly onDisconnect: () => void;
  readonly isBusy: boolean;
}) {
  if (source === null) return <p className="source-sentence">Waiting for the host.</p>;
  const isWrong = source.state === 'silent' || source.state === 'waiting';
  const isNone = source.kind === 'none';
  return (
    <div className="source-state" data-testid="source-state" data-state={isNone ? 'none' : source.state}>
      <div className="source-state-head">
        {isWrong && <LevelMark level="warning" />}
        <b>{isNone ? 'Nothing is connected' : stateTitles[source.state]}</b>
        {!isNone && <span className="source-name">{source.name}</span>}
      </div>
      {/* Read out when it changes; the countdown below is not. */}
      <div className="source-words" role="status">
        {source.sentence !== '' && <p data-testid="source-sentence">{source.sentence}</p>}
        {source.remedy !== '' && (
          <p className="source-remedy" data-testid="source-remedy">
            {source.remedy}
          </p>
        )}
      </div>
      {source.nextAttemptIn_ms !== null && (
        <p className="muted">
          Attempt {source.attempts + 1} in {Math.ceil(source.nextAttemptIn_ms / 1000)}
          {'\u2009'}s. It goes on trying until you disconnect.
        </p>
      )}
      {!isNone && (
        <div>
          <Button small onClick={onDisconnect} disabled={isBusy} data-testid="disconnect">
            Disconnect
          </Button>
        </div>
      )}
    </div>
  );
}

function PortForm({
  onConnect,
  isBusy,
}: {
  readonly onConnect: (path: string, baud: number, profile: boolean) => void;
  readonly isBusy: boolean;
}) {
  const isOpen = useConnection((c) => c.state === 'open');
  const [ports, setPorts] = useState<readonly PortInfo[] | null>(null);
  const [note, setNote] = useState('');
  const [isLooking, setLooking] = useState(false);
  const [isListening, setListening] = useState(false);
  const [path, setPath] = useState('');
  const [baud, setBaud] = useState(String(USUAL_BAUD));
  const listId = useId();
  const baud_Bd = Number(baud);
  const isBaudWrong = !Number.isInteger(baud_Bd) || baud_Bd < 50 || baud_Bd > 12_000_000;

  const look = useCallback(async () => {
    setLooking(true);
    const found = await request('source.ports', {});
    setLooking(false);
    if (!found.ok) return tellError(found.error);
    setPorts(found.value.ports);
    setNote(found.value.note);
    const only = found.value.ports.length === 1 ? found.value.ports[0] : undefined;
    if (only) setPath((before) => (before === '' ? only.path : before));
  }, []);
  useEffect(() => {
    if (isOpen) void look();
  }, [isOpen, look]);

  return (
    <form
      className="port-form"
      onSubmit={(e) => {
        e.preventDefault();
        if (path.trim() !== '' && !isBaudWrong) onConnect(path.trim(), baud_Bd, false);
      }}
    >
      <div className="port-list-head">
        <h3 id={listId}>Serial ports</h3>
        <Button small tone="quiet" onClick={look} disabled={isLooking} data-testid="ports-again">
          Look again
        </Button>
      </div>
      {isLooking && ports === null && <Progress label="Looking for ports" value={null} />}
      {ports !== null && ports.length === 0 && (
        <p className="muted" data-testid="no-ports">
          No serial port was found. Plug the bench in and look again, or type its path.
        </p>
      )}
      {ports !== null && ports.length > 0 && (
        <ul className="port-list" aria-labelledby={listId} data-testid="ports">
          {ports.map((port) => (
            <li key={port.path}>
              <label>
                <input
                  type="radio"
                  name="port"
                  checked={path === port.path}
                  onChange={() => setPath(port.path)}
                  data-testid={`port-${port.path}`}
                />
                <span>
                  <b>{port.path}</b>
                  <span className="muted"> {port.description || 'no description'}</span>
                </span>
              </label>
            </li>
          ))}
        </ul>
      )}
      {note !== '' && <p className="muted">{note}</p>}
      <div className="port-fields">
        <Field label="Path">
          {(ids) => (
            <input
              {...ids}
              className="input"
              value={path}
              onChange={(e) => setPath(e.target.value)}
              placeholder="/dev/ttyUSB0 or COM3"
              spellCheck={false}
              autoComplete="off"
              data-testid="port-path"
            />
          )}
        </Field>
        <Field label="Baud" {...(isBaudWrong ? { error: 'A whole number from 50 to 12\u2009000\u2009000.' } : {})}>
          {(ids) => (
            <>
              <input
                {...ids}
                className="input"
                inputMode="numeric"
                list={`${listId}-bauds`}
                value={baud}
                onChange={(e) => setBaud(e.target.value)}
                data-testid="port-baud"
              />
              <datalist id={`${listId}-bauds`}>
                {bauds.map((b) => (
                  <option key={b} value={b} />
                ))}
              </datalist>
            </>
          )}
        </Field>
      </div>
      <Button type="submit" tone="solid" disabled={isBusy || path.trim() === '' || isBaudWrong} data-testid="connect">
        Connect
      </Button>
      <Button
        small
        onClick={() => setListening(true)}
        disabled={isBusy || path.trim() === '' || isBaudWrong}
        data-testid="listen-first"
      >
        Listen first: what does it say?
      </Button>
      <ListenDialog
        path={path.trim()}
        baud={baud_Bd}
        isOpen={isListening}
        onClose={() => setListening(false)}
        onConnect={() => onConnect(path.trim(), baud_Bd, false)}
        onConnectByProfile={() => onConnect(path.trim(), baud_Bd, true)}
      />
    </form>
  );
}
