/**
 * A session file of another log book, taken into this one. The file goes to
 * the host in parts; all of it is verified there before anything of it is in
 * the library.
 */
import { useEffect } from 'react';
import { create } from 'zustand';
import type { BridgeError, TakenSession } from '../../shared-core/bridge/contract.ts';
import { ask, request } from '../app/bridge-client.ts';
import { tell, tellError } from '../app/messages.ts';
import { goTo } from '../app/use-address.ts';
import { FileButton } from '../ui/file-button.tsx';
import { Progress } from '../ui/progress.tsx';
import { refreshSessions } from './session-list.ts';
import { takenWords } from './session-words.ts';

interface Taking {
  readonly name: string;
  /** 0 to 1 while it goes to the host; null while it is verified there. */
  readonly sent: number | null;
  readonly upload: string;
}

interface State {
  readonly taking: Taking | null;
  readonly isCancelled: boolean;
  /** Session that came, until the log book shows it. */
  readonly taken: string | null;
}

/** Goes on while other places are looked at. */
const useTaking = create<State>(() => ({ taking: null, isCancelled: false, taken: null }));

async function take(file: File): Promise<void> {
  if (useTaking.getState().taking !== null) return;
  useTaking.setState({ taking: { name: file.name, upload: '', sent: 0 }, isCancelled: false });
  const done = await send(
    file,
    (taking) => useTaking.setState({ taking }),
    () => useTaking.getState().isCancelled,
  );
  useTaking.setState({ taking: null });
  if (!done.ok) {
    if (done.error.kind !== 'cancelled') tellError(done.error);
    return;
  }
  tell(takenWords(file.name, done.value));
  await refreshSessions();
  useTaking.setState({ taken: done.value[0]?.id ?? null });
}

function cancel(): void {
  const { taking } = useTaking.getState();
  useTaking.setState({ isCancelled: true });
  // On its way it is `send` that tells the host, before the next part.
  if (taking?.sent === null) void ask('takein.cancel', { upload: taking.upload });
}

export function TakeIn() {
  const { taking, taken } = useTaking();
  useEffect(() => {
    if (taken === null) return;
    useTaking.setState({ taken: null });
    goTo('logbook', taken);
  }, [taken]);

  return (
    <div className="take-in">
      {taking === null ? (
        <FileButton
          accept=".runstand,.sqlite"
          label="Session file to take in"
          title="A session file that another log book has written"
          onFile={(file) => void take(file)}
          testId="take-in"
          fileTestId="take-in-file"
        >
          Take in a session file…
        </FileButton>
      ) : (
        <span role="status" data-testid="taking-in">
          <Progress
            label={taking.sent === null ? `Verifying ${taking.name}` : `Reading ${taking.name}`}
            value={taking.sent}
            onCancel={cancel}
          />
        </span>
      )}
    </div>
  );
}

type Sent =
  | { readonly ok: true; readonly value: readonly TakenSession[] }
  | { readonly ok: false; readonly error: BridgeError };

async function send(file: File, show: (now: Taking) => void, isCancelled: () => boolean): Promise<Sent> {
  const { name } = file;
  const begun = await request('takein.begin', { name, bytes: file.size });
  if (!begun.ok) return begun;
  const { upload, partBytes } = begun.value;
  for (let at = 0; at < file.size; at += partBytes) {
    show({ name, upload, sent: at / file.size });
    const part = await bytesOf(file.slice(at, at + partBytes));
    if (part === null || isCancelled()) {
      await request('takein.cancel', { upload });
      return part === null ? unreadable(name) : cancelled;
    }
    const taken = await request('takein.part', { upload, at, part });
    if (!taken.ok) return taken;
  }
  if (isCancelled()) {
    await request('takein.cancel', { upload });
    return cancelled;
  }
  show({ name, upload, sent: null });
  const ended = await request('takein.end', { upload });
  return ended.ok ? { ok: true, value: ended.value.sessions } : ended;
}

async function bytesOf(part: Blob): Promise<Uint8Array | null> {
  try {
    return new Uint8Array(await part.arrayBuffer());
  } catch {
    return null;
  }
}

const cancelled: Sent = { ok: false, error: { kind: 'cancelled', sentence: '', remedy: '' } };

function unreadable(name: string): Sent {
  return {
    ok: false,
    error: {
      kind: 'invalid',
      sentence: `${name} cannot be read any more. Nothing was taken in.`,
      remedy: 'Was it moved, or its disk taken out? Choose it again.',
    },
  };
}
