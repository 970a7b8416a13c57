/** The live check of one checklist item: an input and its state, a channel and its limit, or a person's word alone. */
import type { Channel } from '../../shared-core/channels/channel.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import type { ChecklistItem } from '../../shared-core/program/checklist.ts';
import { inputTitle } from '../run/input-words.ts';
import { NumberInput } from './number-input.tsx';

export interface ItemCheckProps {
  readonly item: ChecklistItem;
  readonly inputs: readonly DiscreteInput[];
  readonly channels: readonly Channel[];
  readonly onChange: (part: Partial<ChecklistItem>) => void;
}

export function ItemCheck({ item, inputs, channels, onChange }: ItemCheckProps) {
  const { input, channel } = item;
  // What the sheet names stays in the list, though this bench may not have it.
  const inputKeys = [...new Set([...inputs.map((each) => each.key), ...(input ? [input.key] : [])])];
  const channelKeys = [...new Set([...channels.map((each) => each.key), ...(channel ? [channel.key] : [])])];
  const chosen = input ? `input ${input.key}` : channel ? `channel ${channel.key}` : '';
  const choose = (value: string): void => {
    const [kind, key = ''] = value.split(' ');
    if (kind === 'input') onChange({ input: { key, state: 1 }, channel: undefined });
    else if (kind === 'channel') onChange({ channel: { key, is: 'above', value: NaN }, input: undefined });
    else onChange({ input: undefined, channel: undefined });
  };
  const words = inputs.find((each) => each.key === input?.key)?.words;
  return (
    <div className="item-check">
      <label>
        <span>Live check</span>
        <select
          className="select"
          value={chosen}
          onChange={(e) => choose(e.target.value)}
          data-testid={`check-of-${item.id}`}
        >
          <option value="">none: a person's word</option>
          {inputKeys.map((key) => (
            <option key={key} value={`input ${key}`}>
              input {inputTitle(key).toLowerCase()}
            </option>
          ))}
          {channelKeys.map((key) => (
            <option key={key} value={`channel ${key}`}>
              channel {key}
            </option>
          ))}
        </select>
      </label>
      {input && (
        <label>
          <span>is</span>
          <select
            className="select"
            value={input.state}
            onChange={(e) => onChange({ input: { key: input.key, state: e.target.value === '1' ? 1 : 0 } })}
          >
            <option value={1}>{words?.[1] ?? 'on (1)'}</option>
            <option value={0}>{words?.[0] ?? 'off (0)'}</option>
          </select>
        </label>
      )}
      {channel && (
        <>
          <label>
            <span>is</span>
            <select
              className="select"
              value={channel.is}
              onChange={(e) =>
                onChange({ channel: { ...channel, is: e.target.value === 'below' ? 'below' : 'above' } })
              }
            >
              <option value="above">above</option>
              <option value="below">below</option>
            </select>
          </label>
          <NumberInput
            label={channels.find((each) => each.key === channel.key)?.unit || 'value'}
            value={channel.value}
            onChange={(value) => onChange({ channel: { ...channel, value } })}
            testId={`check-value-${item.id}`}
          />
        </>
      )}
    </div>
  );
}
