/**
 * The warm-hand check: one probe is warmed, and the channel that rises most
 * since the start of watching is marked. Tells channels that are swapped,
 * leads that are swapped (the reading falls), and those that are open or short.
 */
import { useState } from 'react';
import { warmedChannel } from '../../shared-core/calibration/thermocouple.ts';
import type { Channel } from '../../shared-core/channels/channel.ts';
import type { ChannelSetting } from '../../shared-core/rig/rig-sheet.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { formatNumber, NO_VALUE } from '../ui/format.ts';
import { Section } from '../ui/section.tsx';
import { goodValue } from './live-values.ts';

/** A hand gives ten kelvin to a probe, a heat gun more; draughts give half of one. */
const LEAST_K = 3;
const noChannels: readonly Channel[] = [];

export function WarmHand({
  settings,
  onSwap,
}: {
  readonly settings: readonly ChannelSetting[];
  readonly onSwap: (a: string, b: string) => void;
}) {
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  useStream('live', (s) => s.beat);
  const probes = channels.filter((each) => /temperature$/.test(each.quantity) && each.origin.kind === 'bench');
  const [expected, setExpected] = useState<string>('');
  const [start, setStart] = useState<ReadonlyMap<string, number> | null>(null);
  if (probes.length === 0) return null;
  const warmed = expected === '' ? probes[0]!.key : expected;
  const rises = probes.map((probe) => ({
    channel: probe.key,
    rise_K: goodValue(probe.key) - (start?.get(probe.key) ?? NaN),
  }));
  const found = start === null ? null : warmedChannel(rises, warmed, LEAST_K);
  const nameOf = (key: string): string => {
    const setting = settings.find((each) => each.channel === key);
    const label = setting?.label || (channels.find((each) => each.key === key)?.label ?? key);
    return setting?.place ? `${label}, ${setting.place}` : label;
  };
  return (
    <Section
      title="Warm-hand check"
      lead="Hold a warm hand or a heat gun to one probe: the channel that rises is the one it is wired to."
      data-testid="warm-hand"
    >
      <div className="warm-bar">
        <label className="compare-choice">
          <span>I warm the probe of</span>
          <select
            className="select"
            value={warmed}
            onChange={(e) => {
              setExpected(e.target.value);
              setStart(null);
            }}
            data-testid="warm-expected"
          >
            {probes.map((probe) => (
              <option key={probe.key} value={probe.key}>
                {probe.key}: {nameOf(probe.key)}
              </option>
            ))}
          </select>
        </label>
        <Button
          small
          tone="solid"
          onClick={() => setStart(new Map(probes.map((probe) => [probe.key, goodValue(probe.key)])))}
          data-testid="warm-start"
        >
          {start === null ? 'Start watching' : 'Start anew'}
        </Button>
        {found?.moved && found.moved !== warmed && (
          <Button small onClick={() => onSwap(found.moved!, warmed)} data-testid="warm-swap">
            Exchange label and place of {found.moved} and {warmed}
          </Button>
        )}
      </div>
      {found !== null && (
        <p role="status" className="warm-found" data-testid="warm-found" data-moved={found.moved ?? ''}>
          <b>{found.sentence}</b>
        </p>
      )}
      <ul className="warm-list">
        {rises.map(({ channel, rise_K }) => {
          const isMoved = found?.moved === channel;
          return (
            <li key={channel} data-testid={`warm-${channel}`} data-moved={isMoved}>
              <span>
                {isMoved ? '▶ ' : ''}
                {channel}
              </span>
              <span className="muted">{nameOf(channel)}</span>
              <b>
                {Number.isNaN(goodValue(channel))
                  ? 'open, short or no signal'
                  : start === null
                    ? `${formatNumber(goodValue(channel), 1)} °C`
                    : Number.isNaN(rise_K)
                      ? NO_VALUE
                      : `${rise_K >= 0 ? '+' : ''}${formatNumber(rise_K, 1)} K`}
              </b>
            </li>
          );
        })}
      </ul>
    </Section>
  );
}
