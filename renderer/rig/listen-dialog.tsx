/**
 * Listens to a port for some seconds and says what is there: a bench that
 * speaks the line protocol, delimited text that a profile can read, silence,
 * or noise. What is proposed is shown with examples of what came; keys,
 * quantities and units are the person's to set right before it is saved.
 */
import { useEffect, useState } from 'react';
import type { PortCapture } from '../../shared-core/bridge/contract.ts';
import type { ProfileColumn } from '../../shared-core/line/profile/line-profile.ts';
import { type Proposal, proposeProfile } from '../../shared-core/line/profile/propose.ts';
import { request } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';
import { Button } from '../ui/button.tsx';
import { Dialog } from '../ui/dialog.tsx';
import { Progress } from '../ui/progress.tsx';
import { benchQuantities } from './bench-quantities.ts';

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
  }, [isOpen, path, baud]);
  return (
    <Dialog title={`What ${path} says`} isOpen={isOpen} onClose={onClose} data-testid="listen">
      {heard.state === 'listening' && <Progress label={`Listening for ${LISTEN_S} s`} value={null} />}
      {heard.state === 'failed' && (
        <p role="status" data-testid="listen-failed">
          {heard.sentence} {heard.remedy}
        </p>
      )}
      {heard.state === 'heard' && (
        <>
          <ProposalView {...props} proposal={heard.proposal} />
          <h3>As it came</h3>
          <pre className="heard-lines" data-testid="heard-lines">
            {heard.capture.lines.length === 0 ? '(nothing)' : heard.capture.lines.slice(0, SHOWN_LINES).join('\n')}
          </pre>
        </>
      )}
    </Dialog>
  );
}

function ProposalView({
  proposal,
  onClose,
  onConnect,
  onConnectByProfile,
}: ListenDialogProps & { readonly proposal: Proposal }) {
  if (proposal.kind === 'native') {
    return (
      <div data-testid="heard-native">
        <p>{proposal.sentence}</p>
        <Button
          tone="solid"
          onClick={() => {
            onClose();
            onConnect();
          }}
          data-testid="listen-connect"
        >
          Connect
        </Button>
      </div>
    );
  }
  if (proposal.kind === 'refused') {
    return (
      <p data-testid="heard-refused">
        {proposal.reason} {proposal.remedy}
      </p>
    );
  }
  return <ProfileForm proposal={proposal} onClose={onClose} onConnectByProfile={onConnectByProfile} />;
}

function ProfileForm({
  proposal,
  onClose,
  onConnectByProfile,
}: {
  readonly proposal: Extract<Proposal, { kind: 'profile' }>;
  readonly onClose: () => void;
  readonly onConnectByProfile: () => void;
}) {
  const [columns, setColumns] = useState<readonly ProfileColumn[]>(proposal.profile.columns);
  const [trouble, setTrouble] = useState('');
  const [isBusy, setBusy] = useState(false);
  const change = (i: number, part: Partial<ProfileColumn>): void =>
    setColumns((all) => all.map((column, k) => (k === i ? { ...column, ...part } : column)));

  const save = async (): Promise<void> => {
    setBusy(true);
    const present = await request('rig.get', {});
    const saved = present.ok
      ? await request('rig.save', {
          sheet: { ...present.value.rig, profile: { ...proposal.profile, columns } },
          by: signedOn(),
          change: 'profile for a bench that prints text',
        })
      : present;
    setBusy(false);
    if (!saved.ok) {
      setTrouble(`${saved.error.sentence} ${saved.error.remedy}`);
      return;
    }
    onClose();
    onConnectByProfile();
  };

  return (
    <div data-testid="heard-profile">
      <p>
        Delimited text: {proposal.linesRead} of {proposal.linesRead + proposal.linesMisfit} lines fit. This bench can be
        listened to by a profile; no command goes to it. Set right what each column is.
      </p>
      <ul className="reasons">
        {proposal.reasons.map((reason) => (
          <li key={reason}>{reason}</li>
        ))}
      </ul>
      <table className="table profile-columns">
        <caption className="sr-only">Columns of the bench</caption>
        <thead>
          <tr>
            <th scope="col">Examples</th>
            <th scope="col">Key</th>
            <th scope="col">Quantity</th>
            <th scope="col">Unit</th>
          </tr>
        </thead>
        <tbody>
          {columns.map((column, i) => (
            <tr key={proposal.profile.columns[i]!.key} data-testid={`profile-column-${i}`}>
              <td>
                {proposal.columns[i]?.name !== null && <b>{proposal.columns[i]?.name} </b>}
                <span className="muted">{proposal.columns[i]?.examples.slice(0, 3).join(' · ')}</span>
              </td>
              <td>
                <input
                  className="input"
                  aria-label={`Key of column ${i + 1}`}
                  value={column.key}
                  maxLength={16}
                  spellCheck={false}
                  onChange={(e) => change(i, { key: e.target.value })}
                />
              </td>
              <td>
                <select
                  className="select"
                  aria-label={`Quantity of column ${i + 1}`}
                  value={column.quantity}
                  onChange={(e) => change(i, { quantity: e.target.value })}
                >
                  {!benchQuantities.includes(column.quantity) && (
                    <option value={column.quantity}>{column.quantity}</option>
                  )}
                  {benchQuantities.map((quantity) => (
                    <option key={quantity} value={quantity}>
                      {quantity.replaceAll('-', ' ')}
                    </option>
                  ))}
                </select>
              </td>
              <td>
                <input
                  className="input"
                  aria-label={`Unit of column ${i + 1}`}
                  value={column.unit}
                  maxLength={24}
                  spellCheck={false}
                  onChange={(e) => change(i, { unit: e.target.value })}
                />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {trouble !== '' && (
        <p role="alert" data-testid="profile-trouble">
          {trouble}
        </p>
      )}
      <Button tone="solid" onClick={() => void save()} disabled={isBusy} data-testid="save-profile">
        Save the profile and connect
      </Button>
    </div>
  );
}
