/** Foreign lines for the tests: captures, and what a decoder makes of them. */
import { qualityNames, qualityOfRaw } from '../../../shared-core/channels/quality.ts';
import type { BenchTable, FaultKind, LineSink } from '../../../shared-core/line/messages.ts';
import { checksumDigits, checksumOf } from '../../../shared-core/line/profile/checksum.ts';
import type { ChecksumKind, LineProfile } from '../../../shared-core/line/profile/line-profile.ts';
import { ProfileDecoder } from '../../../shared-core/line/profile/profile-decoder.ts';

export function bytesOf(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}

export interface Heard {
  readonly rows: string[][];
  readonly times_us32: number[];
  readonly faults: { readonly kind: FaultKind; readonly excerpt: string }[];
  readonly boots: string[];
  readonly tables: BenchTable[];
  missing: number;
}

/** A sink that keeps values as exact decimal text, states by name. */
export function listener(): { readonly sink: LineSink; readonly heard: Heard } {
  const heard: Heard = { rows: [], times_us32: [], faults: [], boots: [], tables: [], missing: 0 };
  const ignore = () => {};
  const sink: LineSink = {
    samples: (_group, time_us32, raw, columns) => {
      const table = heard.tables.at(-1)!;
      heard.times_us32.push(time_us32);
      heard.rows.push(
        Array.from(raw.subarray(0, columns), (each, i) => decimalText(each, table.channels[i]!.decimals)),
      );
    },
    identity: (identity) => heard.boots.push(identity.boot),
    table: (table) => heard.tables.push(table),
    fault: (kind, excerpt) => heard.faults.push({ kind, excerpt }),
    missing: (count) => {
      heard.missing += count;
    },
    input: ignore,
    answer: ignore,
    text: ignore,
    wrongVersion: ignore,
  };
  return { sink, heard };
}

export function decoded(
  profile: LineProfile,
  bytes: Uint8Array,
  split = bytes.length,
  arrived_us = 0,
): Heard & { decoder: ProfileDecoder } {
  const decoder = new ProfileDecoder(profile);
  const { sink, heard } = listener();
  for (let at = 0; at < bytes.length; at += split) decoder.push(bytes.subarray(at, at + split), sink, arrived_us);
  return { ...heard, decoder };
}

/** −0.45 of −45 and 2, by digits: no floating point on the way. */
export function decimalText(raw: number, decimals: number): string {
  const state = qualityOfRaw(raw);
  if (state !== 0) return qualityNames[state]!;
  const digits = String(Math.abs(raw)).padStart(decimals + 1, '0');
  const whole = digits.slice(0, digits.length - decimals);
  const sign = raw < 0 ? '-' : '';
  return decimals === 0 ? sign + whole : `${sign}${whole}.${digits.slice(-decimals)}`;
}

/** Body with mark and checksum behind it. */
export function withChecksum(kind: ChecksumKind, body: string, mark = '*'): string {
  return `${body}${mark}${checksumOf(kind, body).toString(16).toUpperCase().padStart(checksumDigits(kind), '0')}`;
}

/** Twelve samples of a small engine, made up: ms, rpm, thrust, CHT 1, CHT 2, fuel flow, as decimal text. */
export const samples: readonly (readonly [string, string, string, string, string, string])[] = Array.from(
  { length: 12 },
  (_, i) => [
    String(81_200 + 50 * i),
    String(6100 + ((i * 37) % 90)),
    (312.55 + ((i * 7) % 11) * 0.13).toFixed(2),
    (187.4 + i * 0.1).toFixed(1),
    i === 5 ? '' : (-3.2 + i * 0.7).toFixed(1),
    (4.125 + i * 0.001).toFixed(3),
  ],
);
