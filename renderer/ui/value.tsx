/**
 * One value, everywhere the same: label, number, unit, thin scale with normal
 * band and limits, the last minute as a small trend. Numbers follow the
 * stream's beat, at most five times a second. What may not be believed is
 * struck through, with its age and a hatched mark.
 */
import { memo } from 'react';
import type { LimitMark, StreamName } from '../../shared-core/bridge/contract.ts';
import type { ChannelKey } from '../../shared-core/channels/channel.ts';
import type { Reading } from '../app/reading.ts';
import { useReading, useStream } from '../app/stream-store.ts';
import { MiniTrend } from '../plots/mini-trend.tsx';
import { formatAge, formatNumber, primaryDecimals, struckDecimals } from './format.ts';
import { LevelMark } from './level-mark.tsx';
import { scaleShape } from './scale.ts';

export type ValueSize = 'large' | 'medium' | 'line';

export interface ValueProps {
  readonly stream: StreamName;
  readonly channel: ChannelKey;
  readonly size: ValueSize;
  /** Instead of the channel's own label. */
  readonly label?: string;
  readonly withTrend?: boolean;
  readonly withScale?: boolean;
}

const noLimits: readonly LimitMark[] = [];

/**
 * A channel's present value; "no signal" for a channel that the session does
 * not have. It does not redraw with its surroundings, so that it keeps to the beat.
 */
export const Value = memo(function Value({
  stream,
  channel: key,
  size,
  label,
  withTrend = size !== 'line',
  withScale = true,
}: ValueProps) {
  const reading = useReading(stream, key);
  const channel = useStream(stream, (s) => s.byKey.get(key));
  const limits = useStream(stream, (s) => s.limitsByKey.get(key)) ?? noLimits;
  const decimals = channel ? (size !== 'line' ? primaryDecimals(channel.decimals, channel.high) : channel.decimals) : 0;
  // A formula that gives nothing now (BSFC at rest) is no fault: a dash says it. A failed source is said as such.
  const isNothingToDerive = channel?.origin.kind === 'derived' && reading.state === 'absent';
  const isFault = reading.state !== 'good' && !isNothingToDerive;
  return (
    <div
      className={`value ${size}${size === 'line' && withTrend ? ' with-trend' : ''}`}
      data-testid={`value-${key}`}
      data-channel={key}
      data-state={reading.state}
      data-fault={isFault}
      data-level={reading.level ?? 'none'}
    >
      <div className="value-head">
        <span className="value-label" title={channel?.label}>
          {label ?? channel?.label ?? key}
        </span>
        {reading.level && (
          <LevelMark level={reading.level} size={size === 'large' ? 22 : 16} isBlinking={reading.isBlinking} />
        )}
        {isFault && <Fault reading={reading} isLine={size === 'line'} />}
      </div>
      <div className="value-figure">
        <Figure reading={reading} decimals={decimals} unit={channel?.unit ?? ''} isLine={size === 'line'} />
      </div>
      {withScale && channel && <Scale low={channel.low} high={channel.high} limits={limits} reading={reading} />}
      {withTrend && channel && <MiniTrend stream={stream} ordinal={channel.ordinal} label={channel.label} />}
    </div>
  );
});

interface FigureProps {
  readonly reading: Reading;
  readonly decimals: number;
  readonly unit: string;
  readonly isLine: boolean;
}

/** "open circuit 12 s". On a line the first word has to do; it is never cut, and its age steps aside where there is no room. */
function Fault({ reading, isLine }: { readonly reading: Reading; readonly isLine: boolean }) {
  const age = Number.isNaN(reading.age_s) ? '' : formatAge(reading.age_s);
  const word = isLine && reading.state === 'failed' ? reading.fault.split(' ')[0] : reading.fault;
  return (
    <span className="value-fault" title={[reading.fault, age].filter((w) => w !== '').join(' ')}>
      {!isLine && <span className="hatch" aria-hidden="true" />}
      <span className="fault-word">{word}</span>
      {age !== '' && <span className="fault-age">{age}</span>}
    </span>
  );
}

function Figure({ reading, decimals, unit, isLine }: FigureProps) {
  const isShort = isLine && reading.state !== 'good';
  const text = formatNumber(reading.value, isShort ? struckDecimals(decimals, reading.value) : decimals);
  return (
    <>
      {reading.state === 'good' ? (
        <span className="figure" data-value={reading.value}>
          {text}
        </span>
      ) : (
        <s className="figure" data-value="none">
          {text}
        </s>
      )}
      {unit !== '' && unit !== '1' && !isShort && <span className="unit">{unit}</span>}
    </>
  );
}

interface ScaleProps {
  readonly low: number;
  readonly high: number;
  readonly limits: readonly LimitMark[];
  readonly reading: Reading;
}

function Scale({ low, high, limits, reading }: ScaleProps) {
  const shape = scaleShape(low, high, limits, reading.state === 'good' ? reading.value : NaN);
  if (!shape) return <div className="scale none" aria-hidden="true" />;
  const percent = (x: number) => `${(x * 100).toFixed(2)}%`;
  return (
    <div className="scale" aria-hidden="true">
      <span
        className="scale-normal"
        style={{ left: percent(shape.normalFrom), width: percent(shape.normalTo - shape.normalFrom) }}
      />
      {shape.ticks.map((t) => (
        <span key={`${t.level}${t.at}`} className="scale-tick" data-level={t.level} style={{ left: percent(t.at) }} />
      ))}
      {shape.notch !== null && <span className="scale-notch" style={{ left: percent(shape.notch) }} />}
    </div>
  );
}
