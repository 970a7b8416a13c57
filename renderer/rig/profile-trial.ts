/** A capture read by the profile as it stands, as a session would read it: the values of each column, and the faults. Pure. */
import { quality, qualityOfRaw } from '../../shared-core/channels/quality.ts';
import type { FaultKind, LineSink } from '../../shared-core/line/messages.ts';
import type { LineProfile } from '../../shared-core/line/profile/line-profile.ts';
import { ProfileDecoder } from '../../shared-core/line/profile/profile-decoder.ts';

export interface TrialColumn {
  /** In the column's unit; NaN where the newest line has no reading. */
  readonly last: number;
  /** ∞ and −∞ where no line has a reading. */
  readonly least: number;
  readonly most: number;
}

export interface ProfileTrial {
  readonly lines: number;
  readonly columns: readonly TrialColumn[];
  readonly faults: readonly { readonly kind: FaultKind; readonly excerpt: string }[];
}

export function tryProfile(profile: LineProfile, captured: Uint8Array): ProfileTrial {
  const columns = profile.columns.map(() => ({ last: NaN, least: Infinity, most: -Infinity }));
  const faults: { kind: FaultKind; excerpt: string }[] = [];
  let lines = 0;
  const ignore = (): void => {};
  const sink: LineSink = {
    samples: (_group, _time, raw) => {
      lines++;
      columns.forEach((column, i) => {
        const value = qualityOfRaw(raw[i]!) === quality.good ? raw[i]! / 10 ** profile.columns[i]!.decimals : NaN;
        column.last = value;
        if (Number.isNaN(value)) return;
        column.least = Math.min(column.least, value);
        column.most = Math.max(column.most, value);
      });
    },
    fault: (kind, excerpt) => faults.push({ kind, excerpt }),
    identity: ignore,
    table: ignore,
    input: ignore,
    answer: ignore,
    text: ignore,
    missing: ignore,
    wrongVersion: ignore,
  };
  new ProfileDecoder(profile).push(captured, sink, 0);
  return { lines, columns, faults };
}
