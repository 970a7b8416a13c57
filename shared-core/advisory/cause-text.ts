/** What tripped, in one line, as it stands over an abort advisory. */
import type { Channel } from '../channels/channel.ts';
import type { Alarm, LimitRule } from '../limits/rules.ts';
import type { DiscreteInput } from '../pipeline-contract.ts';
import { formatValue } from '../units/format-value.ts';
import { plain } from './proof.ts';

/** Beside the alarm: what it can be about. */
export interface CauseScene {
  readonly rule: LimitRule | undefined;
  readonly channels: readonly Channel[];
  readonly inputs: readonly DiscreteInput[];
  readonly isPortClosed: boolean;
}

/** "Overspeed: 7 120 rpm, limit 7 000 rpm"; "Propeller cage open: open"; "Link lost: nothing heard for 1.1 s". */
export function causeText(alarm: Alarm, scene: CauseScene): string {
  const what =
    scene.rule?.kind === 'link' ? linkText(alarm, scene) : (inputText(alarm, scene) ?? valueText(alarm, scene));
  return `${alarm.title}: ${what}`;
}

function linkText(alarm: Alarm, scene: CauseScene): string {
  return scene.isPortClosed ? 'port closed' : `nothing heard for ${formatValue(alarm.value, 1)} s`;
}

function inputText(alarm: Alarm, scene: CauseScene): string | undefined {
  if (scene.rule?.kind !== 'input') return undefined;
  const input = scene.inputs.find((each) => each.key === alarm.subject);
  if (input === undefined) return undefined;
  return input.state === 'X' ? 'not known' : input.words[input.state];
}

function valueText(alarm: Alarm, scene: CauseScene): string {
  const channel = scene.channels.find((each) => each.key === alarm.subject);
  const unit = alarm.unit === '' ? '' : ` ${alarm.unit}`;
  // A duration or a percentage is about the channel, but not in its unit.
  const decimals = channel !== undefined && channel.unit === alarm.unit ? channel.decimals : 1;
  const value = Number.isNaN(alarm.value) ? 'no reading' : `${formatValue(alarm.value, decimals)}${unit}`;
  return Number.isNaN(alarm.limit) ? value : `${value}, limit ${plain(alarm.limit)}${unit}`;
}
