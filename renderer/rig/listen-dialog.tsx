/**
 * Listens to a port for some seconds and says what is there: a bench that
 * speaks the line protocol, delimited text that a profile can read, silence,
 * or noise. The profile that is proposed is set right in `profile-form.tsx`.
 */
import { useCallback, useEffect, useState } from 'react';
import type { PortCapture } from '../../shared-core/bridge/contract.ts';
import { type Proposal, proposeProfile } from '../../shared-core/line/profile/propose.ts';
import { request } from '../app/bridge-client.ts';
import { Button } from '../ui/button.tsx';
import { Dialog } from '../ui/dialog.tsx';
import { Progress } from '../ui/progress.tsx';
import { headlineOf } from './heard-words.ts';
import { ProfileForm } from './profile-form.tsx';

const LISTEN_S = 4;
/** Lines as they came that are shown. */
const SHOWN_LINES = 8;

export interface ListenDialogProps {
  readonly path: string;
  readonly baud: number;
  readonly isOpen: boolean;
  readonly onClose: () => void;
  /** The bench speaks the line protocol: connect as usual. */
  readonly onConnect: () => void;
  /** The profile is saved in the rig sheet: connect with it. */
  readonly onConnectByProfile: () => void;
}

type Heard =
  | { readonly state: 'listening' }
  | { readonly state: 'failed'; readonly sentence: string; readonly remedy: string }
  | { readonly state: 'heard'; readonly capture: PortCapture; readonly proposal: Proposal };

export function ListenDialog(props: ListenDialogProps) {
  const { path, baud, isOpen, onClose } = props;
  const [heard, setHeard] = useState<Heard>({ state: 'listening' });
  const [round, setRound] = useState(0);
  // biome-ignore lint/correctness/useExhaustiveDependencies: another round listens anew.
  useEffect(() => {
    if (!isOpen) return;
    let isGone = false;
    setHeard({ state: 'listening' });
    void request('rig.sniff', { path, baud, seconds: LISTEN_S }).then((answer) => {
      if (isGone) return;
      setHeard(
        answer.ok
          ? {
              state: 'heard',
              capture: answer.value,
              proposal: proposeProfile(answer.value.bytes, { listened_s: answer.value.listened_s }),
            }
          : { state: 'failed', ...answer.error },
      );
    });
    return () => {
      isGone = true;
    };
  }, [isOpen, path, baud, round]);
  const listenAgain = useCallback(() => setRound((before) => before + 1), []);
  return (
    <Dialog title={`What ${path} says`} isOpen={isOpen} onClose={onClose} data-testid="listen">
      {heard.state === 'listening' && (
        <Progress label={`Listening for ${LISTEN_S} s`} value={null} onCancel={onClose} />
      )}
      {heard.state === 'failed' && (
        <>
          <p role="status" data-testid="listen-failed">
            {heard.sentence} {heard.remedy}
          </p>
          <AgainActs onAgain={listenAgain} onClose={onClose} />
        </>
      )}
      {heard.state === 'heard' && (
        <>
          <Headline capture={heard.capture} proposal={heard.proposal} />
          {heard.proposal.kind === 'native' && (
            <div data-testid="heard-native">
              <p>{heard.proposal.sentence}</p>
              <Button
                tone="solid"
                onClick={() => {
                  onClose();
                  props.onConnect();
                }}
                data-testid="listen-connect"
              >
                Connect
              </Button>
            </div>
          )}
          {heard.proposal.kind === 'refused' && (
            <>
              <p data-testid="heard-refused">
                {heard.proposal.reason} {heard.proposal.remedy}
              </p>
              <AgainActs onAgain={listenAgain} onClose={onClose} />
            </>
          )}
          {heard.proposal.kind === 'profile' && (
            <ProfileForm
              proposal={heard.proposal}
              captured={heard.capture.bytes}
              path={path}
              baud={baud}
              onClose={onClose}
              onConnectByProfile={props.onConnectByProfile}
            />
          )}
          <h3>As it came</h3>
          <pre className="heard-lines" data-testid="heard-lines">
            {heard.capture.lines.length === 0 ? '(nothing)' : heard.capture.lines.slice(0, SHOWN_LINES).join('\n')}
          </pre>
        </>
      )}
    </Dialog>
  );
}

function Headline({ capture, proposal }: { readonly capture: PortCapture; readonly proposal: Proposal }) {
  const { kind, words } = headlineOf(capture, proposal);
  return (
    <p className="heard-headline" role="status" data-testid="heard-headline" data-kind={kind}>
      <b>{words}</b>
    </p>
  );
}

function AgainActs({ onAgain, onClose }: { readonly onAgain: () => void; readonly onClose: () => void }) {
  return (
    <div className="save-bar-acts">
      <Button small onClick={onAgain} data-testid="listen-again">
        Listen again
      </Button>
      <Button small tone="quiet" onClick={onClose} data-testid="listen-close">
        Close
      </Button>
    </div>
  );
}
