/** Every channel of the session: what it is, where it comes from, its present value, quality and age. Discrete inputs below. */
import { memo, useState } from 'react';
import type { Channel } from '../../shared-core/channels/channel.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import { useReading, useStream } from '../app/stream-store.ts';
import { inputTitle } from '../run/input-words.ts';
import { Empty } from '../ui/empty.tsx';
import { formatAge, formatClock, formatNumber, NO_VALUE } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { Section } from '../ui/section.tsx';
import { Segments } from '../ui/segments.tsx';
import { ChannelSetup } from './channel-setup.tsx';

const none: readonly Channel[] = [];
const noInputs: readonly DiscreteInput[] = [];

const views = [
  { value: 'now', text: 'Present values' },
  { value: 'set-up', text: 'Set up' },
] as const;

export function ChannelsPanel() {
  const [view, setView] = useState<'now' | 'set-up'>('now');
  const channels = useStream('live', (s) => s.layout?.channels ?? none);
  if (channels.length === 0) {
    return (
      <Empty title="No channels yet" data-testid="no-channels">
        They come with the bench's own channel table, a moment after the link is up. Connect a bench at the left, or
        choose a scenario in Train.
      </Empty>
    );
  }
  const bar = (
    <div className="channel-views">
      <Segments label="Channels" options={views} value={view} onChoose={setView} testId="channels-view" />
    </div>
  );
  if (view === 'set-up') {
    return (
      <>
        {bar}
        <ChannelSetup />
      </>
    );
  }
  return (
    <>
      {bar}
      <table className="table channel-table" data-testid="channel-table">
        <caption className="sr-only">Channels of the bench and those derived from them</caption>
        <thead>
          <tr>
            <th scope="col">Channel</th>
            <th scope="col">Key</th>
            <th scope="col">Quantity</th>
            <th scope="col" className="number">
              Now
            </th>
            <th scope="col">Unit</th>
            <th scope="col">Quality</th>
            <th scope="col" className="number">
              Age
            </th>
            <th scope="col" className="number">
              Range
            </th>
            <th scope="col">Group, or derived</th>
          </tr>
        </thead>
        <tbody>
          {channels.map((channel) => (
            <ChannelRow key={channel.key} channel={channel} />
          ))}
        </tbody>
      </table>
      <InputsSection />
    </>
  );
}

const ChannelRow = memo(function ChannelRow({ channel }: { readonly channel: Channel }) {
  const reading = useReading('live', channel.key);
  const number = formatNumber(reading.value, channel.decimals);
  return (
    <tr data-testid={`channel-${channel.key}`} data-state={reading.state}>
      <th scope="row">{channel.label}</th>
      <td>
        <code>{channel.key}</code>
      </td>
      <td>{channel.quantity.replaceAll('-', ' ')}</td>
      <td className="number figure-cell">{reading.state === 'good' ? number : <s>{number}</s>}</td>
      <td>{channel.unit === '1' ? '' : channel.unit}</td>
      <td>
        <span className="quality-cell">
          {reading.level && <LevelMark level={reading.level} size={16} isBlinking={reading.isBlinking} />}
          {reading.state !== 'good' && <span className="hatch" aria-hidden="true" />}
          {reading.state === 'good' ? 'good' : reading.fault}
        </span>
      </td>
      <td className="number">{Number.isNaN(reading.age_s) ? NO_VALUE : formatAge(reading.age_s)}</td>
      <td className="number">{rangeOf(channel)}</td>
      <td className="muted">{originOf(channel)}</td>
    </tr>
  );
});

function rangeOf(channel: Channel): string {
  if (!(channel.high > channel.low)) return NO_VALUE;
  return `${formatNumber(channel.low, 0)} to ${formatNumber(channel.high, channel.high < 10 && channel.high % 1 !== 0 ? 1 : 0)}`;
}

function originOf(channel: Channel): string {
  return channel.origin.kind === 'bench' ? `group ${channel.origin.group}` : `from ${channel.origin.from.join(', ')}`;
}

function InputsSection() {
  const inputs = useStream('live', (s) => s.snapshot?.inputs ?? noInputs);
  const now_us = useStream('live', (s) => s.snapshot?.now_us ?? 0);
  return (
    <Section title="Discrete inputs" data-testid="rig-inputs">
      {inputs.length === 0 ? (
        <p className="muted">The bench has named none.</p>
      ) : (
        <ul className="inputs">
          {inputs.map((input) => (
            <li key={input.key} data-testid={`input-${input.key}`} data-state={input.state}>
              <span className="muted">{inputTitle(input.key)}</span>
              <b>
                {input.state === 'X' ? (
                  <>
                    <span className="hatch" aria-hidden="true" /> not known
                  </>
                ) : (
                  input.words[input.state]
                )}
              </b>
              <span className="muted">for {formatClock(Math.max(0, (now_us - input.changedAt_us) / 1e6))}</span>
            </li>
          ))}
        </ul>
      )}
    </Section>
  );
}
