/** What an engineer may choose for a CSV or Parquet file, and the options that the host makes of it. Pure. */
import type { ExportOptions, RunRow } from '../../shared-core/bridge/contract.ts';
import type { Channel } from '../../shared-core/channels/channel.ts';

export interface ExportChoice {
  readonly rate: '1' | '10' | 'all';
  readonly values: 'calibrated' | 'raw';
  /** `whole`, `run 1`, or `times`. */
  readonly range: string;
  /** Session clock as typed, for `times`: "1:30", "0:01:30" or "90"; empty for the beginning or the end. */
  readonly from: string;
  readonly to: string;
  /** Keys; null for all. */
  readonly channels: readonly string[] | null;
}

/** The host's own usual. */
export const usualChoice: ExportChoice = {
  rate: '10',
  values: 'calibrated',
  range: 'whole',
  from: '',
  to: '',
  channels: null,
};

/** Seconds of a session clock: "90", "1:30", "0:01:30", "1:30.5"; null where it is none. */
export function clockSeconds(text: string): number | null {
  const match = /^(?:(?:(\d+):)?(\d+):)?(\d+(?:\.\d+)?)$/.exec(text.trim());
  if (match === null) return null;
  const [, hours = '0', minutes = '0', seconds = ''] = match;
  const hasColon = text.includes(':');
  if (hasColon && (Number(seconds) >= 60 || (match[1] !== undefined && Number(minutes) >= 60))) return null;
  return Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds);
}

/** What is wrong with the times that were typed, or empty. */
export function rangeFault(choice: ExportChoice): string {
  if (choice.range !== 'times') return '';
  const from_s = choice.from.trim() === '' ? 0 : clockSeconds(choice.from);
  const to_s = choice.to.trim() === '' ? Infinity : clockSeconds(choice.to);
  if (from_s === null || to_s === null) return 'Times are minutes and seconds of the session: 1:30.';
  return to_s > from_s ? '' : 'The end must be later than the beginning.';
}

/**
 * @param bench keys that the bench itself sends: all that there is of raw values
 * @throws RangeError where `rangeFault` would say something
 */
export function optionsOf(choice: ExportChoice, runs: readonly RunRow[], bench: readonly string[]): ExportOptions {
  if (rangeFault(choice) !== '') throw new RangeError(rangeFault(choice));
  const channels =
    choice.channels === null || choice.values === 'calibrated'
      ? choice.channels
      : choice.channels.filter((key) => bench.includes(key));
  return {
    values: choice.values,
    rate_Hz: choice.rate === 'all' ? 'all' : Number(choice.rate),
    ...(channels === null ? {} : { channels: [...channels] }),
    ...rangeOf(choice, runs),
  };
}

function rangeOf(choice: ExportChoice, runs: readonly RunRow[]): Pick<ExportOptions, 'from_us' | 'to_us'> {
  if (choice.range === 'times') {
    const from_s = choice.from.trim() === '' ? null : clockSeconds(choice.from);
    const to_s = choice.to.trim() === '' ? null : clockSeconds(choice.to);
    return { ...(from_s === null ? {} : { from_us: from_s * 1e6 }), ...(to_s === null ? {} : { to_us: to_s * 1e6 }) };
  }
  const run = runs.find((each) => choice.range === `run ${each.run}`);
  if (run === undefined) return {};
  return { from_us: run.from_us, ...(run.to_us === null ? {} : { to_us: run.to_us }) };
}

/** "all channels", "3 of 40 channels". */
export function channelsWords(choice: ExportChoice, channels: readonly Channel[] | null): string {
  if (choice.channels === null) return 'all channels';
  const of = channels === null ? '' : ` of ${channels.length}`;
  return `${choice.channels.length}${of} channels`;
}
