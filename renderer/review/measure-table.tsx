/** Values at A and B, their difference, and minimum, maximum and mean between, of the channels that are drawn. */
import { useEffect, useState } from 'react';
import type { ChannelKey } from '../../shared-core/channels/channel.ts';
import { request } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';
import type { TrendBand } from '../plots/bands.ts';
import { formatClock, formatNumber, formatQuantity } from '../ui/format.ts';
import { MEASURE_COLUMNS, type Measured, measured } from './measure.ts';
import { useReview } from './review-store.ts';

interface Findings {
  readonly from_us: number;
  readonly to_us: number;
  readonly byKey: ReadonlyMap<ChannelKey, Measured>;
}

export function MeasureTable({ id, bands }: { readonly id: string; readonly bands: readonly TrendBand[] }) {
  const a_us = useReview((s) => s.a_us);
  const b_us = useReview((s) => s.b_us);
  const findings = useFindings(id, bands, a_us, b_us);
  if (a_us === null && b_us === null) {
    return (
      <p className="measure-hint muted" data-testid="measure-hint">
        To measure: go to a time (click in the trends), press “A here”; go to another, press “B here”.
      </p>
    );
  }
  if (a_us === null || b_us === null) {
    return (
      <p className="measure-hint muted">
        {a_us === null ? `B is at ${clock(b_us ?? 0)}. Now set A.` : `A is at ${clock(a_us)}. Now set B.`}
      </p>
    );
  }
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a table that scrolls must be reachable by keyboard.
    <section className="measure-table" aria-label="Measurement from A to B" tabIndex={0}>
      <p className="measure-caption">
        <b>
          A {clock(a_us)}, B {clock(b_us)}, B − A {formatQuantity((b_us - a_us) / 1e6, 2, 's')}
        </b>{' '}
        <span className="muted">
          Of {MEASURE_COLUMNS} drawn columns between A and B: the mean is that of the columns' middles, not of the
          samples.
        </span>
      </p>
      <table className="table" data-testid="measure-table">
        <caption className="sr-only">Channels that are drawn, measured from A to B</caption>
        <thead>
          <tr>
            <th scope="col">Channel</th>
            <th scope="col">Unit</th>
            {['A', 'B', 'B − A', 'Least', 'Most', 'Mean'].map((title) => (
              <th key={title} scope="col" className="number">
                {title}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {bands.flatMap((band) =>
            band.channels.map((channel) => {
              const m = findings?.byKey.get(channel.key);
              const isForward = b_us >= a_us;
              const atA = isForward ? m?.atA : m?.atB;
              const atB = isForward ? m?.atB : m?.atA;
              const cell = (value: number | undefined) => (
                <td className="number">{m === undefined ? '…' : formatNumber(value ?? NaN, channel.decimals)}</td>
              );
              return (
                <tr key={channel.key} data-testid={`measured-${channel.key}`}>
                  <td>{channel.label}</td>
                  <td className="muted">{channel.unit === '1' ? '' : channel.unit}</td>
                  {cell(atA)}
                  {cell(atB)}
                  {cell((atB ?? NaN) - (atA ?? NaN))}
                  {cell(m?.min)}
                  {cell(m?.max)}
                  {cell(m?.mean)}
                </tr>
              );
            }),
          )}
        </tbody>
      </table>
    </section>
  );
}

function useFindings(
  session: string,
  bands: readonly TrendBand[],
  a_us: number | null,
  b_us: number | null,
): Findings | null {
  const [findings, setFindings] = useState<Findings | null>(null);
  useEffect(() => {
    setFindings(null);
    if (a_us === null || b_us === null || a_us === b_us) return;
    let isWanted = true;
    const from_us = Math.min(a_us, b_us);
    const to_us = Math.max(a_us, b_us);
    const channels = [...new Set(bands.flatMap((b) => b.channels.map((c) => c.key)))];
    void request('view', { session, channels, from_us, to_us, pixels: MEASURE_COLUMNS }).then((found) => {
      if (!isWanted) return;
      if (!found.ok) return tellError(found.error);
      setFindings({ from_us, to_us, byKey: new Map(found.value.map((v) => [v.channel, measured(v)])) });
    });
    return () => {
      isWanted = false;
    };
  }, [session, bands, a_us, b_us]);
  return findings;
}

function clock(t_us: number): string {
  return `${formatClock(t_us / 1e6)}.${Math.floor((t_us / 1e5) % 10)}`;
}
