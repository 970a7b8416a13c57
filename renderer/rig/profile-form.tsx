/**
 * The profile that was proposed, column by column, with what came read by it as
 * it stands. The person names columns and maps them to quantity and unit; then
 * it is saved in the rig sheet and connected with. Numbers of a column (scale,
 * range, marks) open on demand: the proposal is mostly right.
 */
import { useEffect, useMemo, useState } from 'react';
import type { LineProfile, ProfileColumn } from '../../shared-core/line/profile/line-profile.ts';
import type { Proposal } from '../../shared-core/line/profile/propose.ts';
import { request } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';
import { Button } from '../ui/button.tsx';
import { formatNumber, NO_VALUE } from '../ui/format.ts';
import { benchQuantities } from './bench-quantities.ts';
import { ColumnNumbers } from './profile-column-numbers.tsx';
import { tryProfile } from './profile-trial.ts';
import { loadSheet } from './sheet-store.ts';

/** While it goes on listening: each round opens the port anew. */
const ROUND_S = 1.5;

export interface ProfileFormProps {
  readonly proposal: Extract<Proposal, { kind: 'profile' }>;
  readonly captured: Uint8Array;
  readonly path: string;
  readonly baud: number;
  readonly onClose: () => void;
  readonly onConnectByProfile: () => void;
}

export function ProfileForm({ proposal, captured, path, baud, onClose, onConnectByProfile }: ProfileFormProps) {
  const [profile, setProfile] = useState<LineProfile>(proposal.profile);
  const [bytes, setBytes] = useState(captured);
  const [isFollowing, setFollowing] = useState(false);
  const [opened, setOpened] = useState<number | null>(null);
  const [trouble, setTrouble] = useState('');
  const [isBusy, setBusy] = useState(false);
  const trial = useMemo(() => tryProfile(profile, bytes), [profile, bytes]);
  const { columns } = profile;
  const change = (i: number, part: Partial<ProfileColumn>): void =>
    setProfile({ ...profile, columns: columns.map((column, k) => (k === i ? { ...column, ...part } : column)) });

  useEffect(() => {
    if (!isFollowing) return;
    let isGone = false;
    const round = async (): Promise<void> => {
      const answer = await request('rig.sniff', { path, baud, seconds: ROUND_S });
      if (isGone) return;
      if (!answer.ok) {
        setTrouble(`${answer.error.sentence} ${answer.error.remedy}`);
        setFollowing(false);
        return;
      }
      setBytes(answer.value.bytes);
      void round();
    };
    void round();
    return () => {
      isGone = true;
    };
  }, [isFollowing, path, baud]);

  const save = async (): Promise<void> => {
    setBusy(true);
    setFollowing(false);
    const present = await request('rig.get', {});
    const saved = present.ok
      ? await request('rig.save', {
          sheet: { ...present.value.rig, profile },
          by: signedOn(),
          change: `Line profile “${profile.name}” for a bench that prints text.`,
        })
      : present;
    setBusy(false);
    if (!saved.ok) {
      setTrouble(`${saved.error.sentence} ${saved.error.remedy}`);
      return;
    }
    void loadSheet();
    onClose();
    onConnectByProfile();
  };

  return (
    <div data-testid="heard-profile">
      <p>
        {proposal.linesRead} of {proposal.linesRead + proposal.linesMisfit} lines fit. This bench can be listened to by
        a profile; no command goes to it. Set right what each column is.
      </p>
      <ul className="reasons">
        {proposal.reasons.map((reason) => (
          <li key={reason}>{reason}</li>
        ))}
      </ul>
      <label className="profile-name">
        <span>Name of the bench</span>
        <input
          className="input"
          value={profile.name}
          maxLength={24}
          spellCheck={false}
          onChange={(e) => setProfile({ ...profile, name: e.target.value })}
          data-testid="profile-name"
        />
      </label>
      <table className="table profile-columns">
        <caption className="sr-only">Columns of the bench</caption>
        <thead>
          <tr>
            <th scope="col">Examples</th>
            <th scope="col">Key</th>
            <th scope="col">Quantity</th>
            <th scope="col">Unit</th>
            <th scope="col" className="number">
              Read now
            </th>
            <th scope="col">Numbers</th>
          </tr>
        </thead>
        <tbody>
          {columns.map((column, i) => {
            const proposed = proposal.columns.find((each) => samePlace(each.column, column));
            const read = trial.columns[i];
            return (
              <tr key={JSON.stringify(column.at)} data-testid={`profile-column-${i}`}>
                <td>
                  {proposed?.name != null && <b>{proposed.name} </b>}
                  <span className="muted">{proposed?.examples.slice(0, 3).join(' · ')}</span>
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
                <td className="number" data-testid={`profile-read-${i}`}>
                  {read === undefined ? NO_VALUE : formatNumber(read.last, column.decimals)}
                  {read !== undefined && Number.isFinite(read.least) && (
                    <span className="muted below">
                      {formatNumber(read.least, column.decimals)} to {formatNumber(read.most, column.decimals)}
                    </span>
                  )}
                </td>
                <td>
                  <Button
                    small
                    tone="quiet"
                    aria-expanded={opened === i}
                    aria-label={`Numbers of column ${i + 1}`}
                    onClick={() => setOpened(opened === i ? null : i)}
                  >
                    {opened === i ? 'Close' : 'Change…'}
                  </Button>
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
      {opened !== null && columns[opened] && (
        <ColumnNumbers
          column={columns[opened]}
          onChange={(part) => change(opened, part)}
          onLeaveOut={
            columns.length > 1
              ? () => {
                  setProfile({ ...profile, columns: columns.filter((_, k) => k !== opened) });
                  setOpened(null);
                }
              : undefined
          }
        />
      )}
      <p data-testid="profile-trial" role="status">
        Read by this profile: {trial.lines} lines
        {trial.faults.length > 0 && `, ${trial.faults.length} that do not fit: ${trial.faults[0]?.excerpt ?? ''}`}.
      </p>
      {trouble !== '' && (
        <p role="alert" className="field-error" data-testid="profile-trouble">
          {trouble}
        </p>
      )}
      <div className="save-bar-acts">
        <Button tone="solid" onClick={() => void save()} disabled={isBusy} data-testid="save-profile">
          Save the profile and connect
        </Button>
        <Button aria-pressed={isFollowing} onClick={() => setFollowing(!isFollowing)} data-testid="profile-follow">
          {isFollowing ? 'Stop listening' : 'Go on listening'}
        </Button>
        <Button tone="quiet" onClick={onClose}>
          Close
        </Button>
      </div>
      {isFollowing && (
        <p className="muted">Each round opens the port anew; some boards start again when that happens.</p>
      )}
    </div>
  );
}

function samePlace(a: ProfileColumn, b: ProfileColumn): boolean {
  return JSON.stringify(a.at) === JSON.stringify(b.at);
}
