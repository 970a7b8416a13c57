/** Channels mapped to places on the engine: label, place, group, range of the scale, and order on screen. */
import { useEffect, useMemo, useState } from 'react';
import { type Channel, type System, systems } from '../../shared-core/channels/channel.ts';
import { compareSheets } from '../../shared-core/rig/compare-sheets.ts';
import type { ChannelSetting } from '../../shared-core/rig/rig-sheet.ts';
import { useReading, useStream } from '../app/stream-store.ts';
import { systemTitles } from '../run/board-groups.ts';
import { Button } from '../ui/button.tsx';
import { formatNumber, formatQuantity, NO_VALUE } from '../ui/format.ts';
import { moved, placeFindings, placesOf, settingsFor, sheetWithSettings, swapped } from './channel-settings.ts';
import { SaveBar, SheetTold } from './save-bar.tsx';
import { numberIn } from './sheet-fields.ts';
import { loadSheet, useSavedSheet } from './sheet-store.ts';
import { WarmHand } from './warm-hand.tsx';

const noChannels: readonly Channel[] = [];

export function ChannelSetup() {
  const channels = useStream('live', (s) => s.layout?.channels ?? noChannels);
  const sheet = useSavedSheet((s) => s.sheet);
  const [edited, setEdited] = useState<readonly ChannelSetting[] | null>(null);
  useEffect(() => void loadSheet(), []);
  const saved = useMemo(() => settingsFor(channels, sheet?.channels ?? []), [channels, sheet]);
  if (sheet === null) return null;
  const settings = edited ?? saved;
  const next = sheetWithSettings(sheet, settings);
  const said = edited === null ? [] : compareSheets(sheetWithSettings(sheet, saved), next).map((each) => each.words);
  const findings = placeFindings(settings);
  const ranges = settings.filter((each) => each.low !== null && each.high !== null && !(each.low < each.high));
  const change = (channel: string, part: Partial<ChannelSetting>): void =>
    setEdited(settings.map((each) => (each.channel === channel ? { ...each, ...part } : each)));
  const byKey = new Map(channels.map((channel) => [channel.key, channel]));
  const places = placesOf(sheet.engine.cylinders);
  return (
    <div className="channel-setup" data-testid="channel-setup">
      <p className="panel-lead">
        What the crew calls each channel, where it sits on the engine, and in which order it stands. Limits keep to the
        channel's key.
      </p>
      <datalist id="engine-places">
        {places.map((place) => (
          <option key={place} value={place} />
        ))}
      </datalist>
      <table className="table setup-table" data-testid="setup-table">
        <caption className="sr-only">Channel set-up, in the order on screen</caption>
        <thead>
          <tr>
            <th scope="col">Key</th>
            <th scope="col" className="number">
              Now
            </th>
            <th scope="col">Label</th>
            <th scope="col">Place on the engine</th>
            <th scope="col">Group</th>
            <th scope="col">Scale from, to</th>
            <th scope="col">Order</th>
          </tr>
        </thead>
        <tbody>
          {settings.map((setting, i) => (
            <SetupRow
              key={setting.channel}
              setting={setting}
              channel={byKey.get(setting.channel) ?? null}
              isFirst={i === 0}
              isLast={i === settings.length - 1}
              onChange={(part) => change(setting.channel, part)}
              onMove={(by) => setEdited(moved(settings, setting.channel, by))}
            />
          ))}
        </tbody>
      </table>
      {[...findings, ...ranges.map((each) => `The scale of ${each.channel} must go upwards.`)].map((each) => (
        <p key={each} className="field-error" role="alert">
          {each}
        </p>
      ))}
      <SheetTold />
      <SaveBar
        next={said.length > 0 && ranges.length === 0 ? next : null}
        change={said.join(' ')}
        onSaved={() => setEdited(null)}
        {...(edited === null ? {} : { onLeave: () => setEdited(null) })}
        testId="setup"
      />
      <WarmHand settings={settings} onSwap={(a, b) => setEdited(swapped(settings, a, b))} />
    </div>
  );
}

interface RowProps {
  readonly setting: ChannelSetting;
  /** Null where the present bench does not have it. */
  readonly channel: Channel | null;
  readonly isFirst: boolean;
  readonly isLast: boolean;
  readonly onChange: (part: Partial<ChannelSetting>) => void;
  readonly onMove: (by: -1 | 1) => void;
}

function SetupRow({ setting, channel, isFirst, isLast, onChange, onMove }: RowProps) {
  const key = setting.channel;
  return (
    <tr data-testid={`setup-${key}`}>
      <th scope="row">
        <code>{key}</code>
      </th>
      <td className="number">{channel === null ? 'not on this bench' : <Now channel={channel} />}</td>
      <td>
        <input
          className="input"
          aria-label={`Label of ${key}`}
          value={setting.label}
          placeholder={channel?.label ?? ''}
          maxLength={40}
          onChange={(e) => onChange({ label: e.target.value })}
          data-testid={`setup-label-${key}`}
        />
      </td>
      <td>
        <input
          className="input"
          aria-label={`Place of ${key}`}
          value={setting.place}
          list="engine-places"
          maxLength={60}
          onChange={(e) => onChange({ place: e.target.value })}
          data-testid={`setup-place-${key}`}
        />
      </td>
      <td>
        <select
          className="select"
          aria-label={`Group of ${key}`}
          value={setting.system ?? ''}
          onChange={(e) => onChange({ system: e.target.value === '' ? null : (e.target.value as System) })}
        >
          <option value="">as usual</option>
          {systems.map((system) => (
            <option key={system} value={system}>
              {systemTitles[system]}
            </option>
          ))}
        </select>
      </td>
      <td>
        <span className="scale-ends">
          <ScaleEnd
            label={`Scale of ${key} from`}
            value={setting.low}
            usual={channel?.low ?? NaN}
            onChange={(low) => onChange({ low })}
          />
          <ScaleEnd
            label={`Scale of ${key} to`}
            value={setting.high}
            usual={channel?.high ?? NaN}
            onChange={(high) => onChange({ high })}
          />
        </span>
      </td>
      <td>
        <span className="order-acts">
          <Button
            small
            disabled={isFirst}
            onClick={() => onMove(-1)}
            aria-label={`${key} up`}
            data-testid={`setup-up-${key}`}
          >
            ↑
          </Button>
          <Button
            small
            disabled={isLast}
            onClick={() => onMove(1)}
            aria-label={`${key} down`}
            data-testid={`setup-down-${key}`}
          >
            ↓
          </Button>
        </span>
      </td>
    </tr>
  );
}

function Now({ channel }: { readonly channel: Channel }) {
  const reading = useReading('live', channel.key);
  if (reading.state !== 'good') return <span>{reading.fault}</span>;
  return <span className="nowrap">{formatQuantity(reading.value, channel.decimals, channel.unit)}</span>;
}

function ScaleEnd({
  label,
  value,
  usual,
  onChange,
}: {
  readonly label: string;
  readonly value: number | null;
  readonly usual: number;
  readonly onChange: (value: number | null) => void;
}) {
  const [written, setWritten] = useState(value === null ? '' : String(value));
  return (
    <input
      className="input"
      aria-label={label}
      inputMode="decimal"
      value={written}
      placeholder={Number.isFinite(usual) ? formatNumber(usual, 0) : NO_VALUE}
      onChange={(e) => {
        setWritten(e.target.value);
        const number = numberIn(e.target.value);
        onChange(Number.isNaN(number) ? null : number);
      }}
    />
  );
}
