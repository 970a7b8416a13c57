/** Captured points: steady averages, newest first, with the name of the next. */
import { useState } from 'react';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import type { Channel } from '../../shared-core/channels/channel.ts';
import type { CapturedPoint } from '../../shared-core/journal.ts';
import { act } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatClock, formatNumber, formatQuantity } from '../ui/format.ts';
import { primaryKeys } from './board-groups.ts';

const none: readonly CapturedPoint[] = [];
const noChannels: readonly Channel[] = [];

export interface PointsProps {
  readonly stream: StreamName;
  readonly onPick?: ((t_us: number) => void) | undefined;
}

export function Points({ stream, onPick }: PointsProps) {
  const points = useStream(stream, (s) => s.snapshot?.points ?? none);
  const channels = useStream(stream, (s) => s.layout?.channels ?? noChannels);
  const byKey = useStream(stream, (s) => s.byKey);
  const [name, setName] = useState('');
  const keys = primaryKeys(channels);
  const canAct = stream === 'live';
  return (
    <div className="points">
      {canAct && (
        <form
          className="point-entry"
          onSubmit={(e) => {
            e.preventDefault();
            act({ kind: 'capture-point', name: name.trim() || String(points.length + 1) });
            setName('');
          }}
        >
          <label className="sr-only" htmlFor="point-name">
            Name of the point
          </label>
          <input
            id="point-name"
            className="input"
            maxLength={40}
            value={name}
            placeholder={`Point ${points.length + 1}`}
            onChange={(e) => setName(e.target.value)}
            data-testid="point-name"
          />
          <Button type="submit" data-testid="capture-point">
            Capture
          </Button>
        </form>
      )}
      <ol className="point-list" data-testid="points">
        {[...points].reverse().map((p) => (
          <li key={p.to_us}>
            <p>
              <b>{p.name}</b>{' '}
              {onPick ? (
                <button type="button" className="link" onClick={() => onPick(p.to_us)}>
                  {formatClock(p.to_us / 1e6)}
                </button>
              ) : (
                <time>{formatClock(p.to_us / 1e6)}</time>
              )}{' '}
              <i>mean of {formatNumber((p.to_us - p.from_us) / 1e6, 0)} s</i>
            </p>
            <p>
              {keys.map((key) => {
                const mean = p.means[key];
                const channel = byKey.get(key);
                return (
                  <span key={key}>
                    {mean && channel
                      ? `${formatQuantity(mean.mean, channel.decimals, channel.unit)} ±${formatNumber(mean.sd, channel.decimals)}`
                      : '–'}
                  </span>
                );
              })}
            </p>
          </li>
        ))}
      </ol>
      {points.length === 0 && (
        <p className="side-empty">No points yet. {canAct ? 'Hold the engine steady, then capture.' : ''}</p>
      )}
    </div>
  );
}
