/** The choices for a CSV or Parquet file: rows, values, stretch of time, channels. */
import { useId, useState } from 'react';
import type { RunRow } from '../../shared-core/bridge/contract.ts';
import type { Channel } from '../../shared-core/channels/channel.ts';
import { ask } from '../app/bridge-client.ts';
import { Button } from '../ui/button.tsx';
import { Dialog } from '../ui/dialog.tsx';
import { formatClock } from '../ui/format.ts';
import { channelsWords, type ExportChoice, rangeFault } from './export-choice.ts';

export interface ExportOptionsProps {
  readonly id: string;
  readonly runs: readonly RunRow[];
  readonly choice: ExportChoice;
  readonly onChange: (choice: ExportChoice) => void;
  readonly channels: readonly Channel[] | null;
  readonly onChannels: (channels: readonly Channel[]) => void;
}

export function ExportOptionFields({ id, runs, choice, onChange, channels, onChannels }: ExportOptionsProps) {
  const [isChoosing, setChoosing] = useState(false);
  const faultId = useId();
  const change = (part: Partial<ExportChoice>): void => onChange({ ...choice, ...part });
  const fault = rangeFault(choice);
  const choose = async (): Promise<void> => {
    const found = channels ?? (await ask('sessions.channels', { id }));
    if (found === null) return;
    onChannels(found);
    setChoosing(true);
  };
  return (
    <div className="export-choice">
      <label>
        <span>Rows</span>
        <select
          className="select"
          value={choice.rate}
          onChange={(e) => change({ rate: e.target.value as ExportChoice['rate'] })}
          data-testid="export-rate"
        >
          <option value="1">1 a second</option>
          <option value="10">10 a second</option>
          <option value="all">every line</option>
        </select>
      </label>
      <label>
        <span>Values</span>
        <select
          className="select"
          value={choice.values}
          onChange={(e) => change({ values: e.target.value as ExportChoice['values'] })}
          data-testid="export-values"
        >
          <option value="calibrated">calibrated and derived</option>
          <option value="raw">as the bench sent them</option>
        </select>
      </label>
      <label>
        <span>Time</span>
        <select
          className="select"
          value={choice.range}
          onChange={(e) => change({ range: e.target.value })}
          data-testid="export-range"
        >
          <option value="whole">whole session</option>
          {runs.map((run) => (
            <option key={run.run} value={`run ${run.run}`}>
              run {run.run}, from {formatClock(run.from_us / 1e6)}
            </option>
          ))}
          <option value="times">from … to …</option>
        </select>
      </label>
      {choice.range === 'times' && (
        <span className="export-times">
          <input
            className="input"
            aria-label="From, session time"
            aria-invalid={fault !== ''}
            aria-describedby={fault === '' ? undefined : faultId}
            placeholder="0:00"
            value={choice.from}
            onChange={(e) => change({ from: e.target.value })}
            data-testid="export-from"
          />
          to
          <input
            className="input"
            aria-label="To, session time"
            aria-invalid={fault !== ''}
            aria-describedby={fault === '' ? undefined : faultId}
            placeholder="end"
            value={choice.to}
            onChange={(e) => change({ to: e.target.value })}
            data-testid="export-to"
          />
        </span>
      )}
      <Button small onClick={choose} data-testid="export-channels">
        {channelsWords(choice, channels)}…
      </Button>
      {fault !== '' && (
        <p className="field-error" role="alert" id={faultId} data-testid="export-fault">
          {fault}
        </p>
      )}
      {channels !== null && (
        <ChannelDialog
          isOpen={isChoosing}
          onClose={() => setChoosing(false)}
          channels={channels}
          chosen={choice.channels}
          onChange={(keys) => change({ channels: keys })}
        />
      )}
    </div>
  );
}

interface ChannelDialogProps {
  readonly isOpen: boolean;
  readonly onClose: () => void;
  readonly channels: readonly Channel[];
  readonly chosen: readonly string[] | null;
  readonly onChange: (keys: readonly string[] | null) => void;
}

const groups = [
  { kind: 'bench', title: 'Sent by the bench' },
  { kind: 'derived', title: 'Derived' },
] as const;

function ChannelDialog({ isOpen, onClose, channels, chosen, onChange }: ChannelDialogProps) {
  const isOn = (key: string): boolean => chosen === null || chosen.includes(key);
  /** In the order of the list, whatever the order of the clicks. */
  const set = (keys: readonly string[], on: boolean): void => {
    const next = channels.map((c) => c.key).filter((key) => (keys.includes(key) ? on : isOn(key)));
    onChange(next.length === channels.length ? null : next);
  };
  return (
    <Dialog
      title="Channels in the file"
      isOpen={isOpen}
      onClose={onClose}
      data-testid="channel-dialog"
      foot={
        <Button tone="solid" onClick={onClose} disabled={chosen?.length === 0} data-testid="channels-done">
          Done
        </Button>
      }
    >
      {groups.map(({ kind, title }) => {
        const own = channels.filter((c) => c.origin.kind === kind);
        if (own.length === 0) return null;
        const keys = own.map((c) => c.key);
        return (
          <fieldset key={kind} className="channel-choice">
            <legend>{title}</legend>
            <div className="session-acts">
              <Button small tone="quiet" onClick={() => set(keys, true)} data-testid={`all-${kind}`}>
                All
              </Button>
              <Button small tone="quiet" onClick={() => set(keys, false)} data-testid={`none-${kind}`}>
                None
              </Button>
            </div>
            {own.map((c) => (
              <label key={c.key} className="check">
                <input
                  type="checkbox"
                  checked={isOn(c.key)}
                  onChange={(e) => set([c.key], e.target.checked)}
                  data-testid={`channel-${c.key}`}
                />
                {c.label} <span className="muted">{c.unit}</span>
              </label>
            ))}
          </fieldset>
        );
      })}
    </Dialog>
  );
}
