/**
 * The profile of a foreign line: how a bench that prints delimited text, fixed
 * columns or key=value is read without a change of its firmware. Data, kept in
 * the rig sheet; its zod schema is `profile-schema.ts`, the reading is in
 * `profile-decoder.ts`, and `propose.ts` makes a first one from what was heard.
 *
 * A bench read by a profile is only listened to: no outputs go over it.
 */
import type { QualityName } from '../../channels/quality.ts';

export const delimiters = [',', ';', '\t', '|', ' '] as const;
export type Delimiter = (typeof delimiters)[number];

export const checksumKinds = [
  'xor8',
  'sum8',
  'crc8',
  'crc16-ccitt',
  'crc16-xmodem',
  'crc16-modbus',
  'crc16-arc',
  'crc32',
] as const;
export type ChecksumKind = (typeof checksumKinds)[number];

export type ProfileLayout =
  /** `delimiter` ' ' stands for one or more spaces. */
  | { readonly kind: 'delimited'; readonly delimiter: Delimiter; readonly fields: number }
  /** Every line has so many characters. */
  | { readonly kind: 'fixed'; readonly length: number }
  /** All of `keys` stand in every line, in any order, and no other. */
  | {
      readonly kind: 'pairs';
      readonly delimiter: Delimiter;
      readonly assign: '=' | ':';
      readonly keys: readonly string[];
    };

/** Where in a line: by number from 0 (delimited), by characters (fixed), by key (pairs). */
export type FieldPlace =
  | { readonly field: number }
  | { readonly from: number; readonly width: number }
  | { readonly key: string };

export interface ProfileChecksum {
  readonly kind: ChecksumKind;
  /** The character before the hex digits, at the end of the line. */
  readonly mark: string;
  /** Taken over the mark as well. */
  readonly coversMark: boolean;
  /** Taken over the prefix as well. */
  readonly coversPrefix: boolean;
}

/** The letters that a missing reading may have on our own line: what a mark may stand for. */
export type MissingState = Extract<QualityName, 'open' | 'short' | 'over' | 'under' | 'stale'>;

export interface ProfileColumn {
  readonly at: FieldPlace;
  /** As a rig sheet names it: a-z, 0-9, _. */
  readonly key: string;
  /** PROTOCOL.md, part 7, or any word. */
  readonly quantity: string;
  /** UCUM code; of value × scale + offset. */
  readonly unit: string;
  readonly scale: number;
  readonly offset: number;
  /** Steps kept: 0.01 of the unit for 2. Finer digits are rounded. */
  readonly decimals: number;
  /** Range of the sensor, in the unit. */
  readonly low: number;
  readonly high: number;
  /** Text that follows the number without a space, such as a unit; empty for none. */
  readonly suffix: string;
  /** Texts that stand where there is no reading. */
  readonly missing: readonly { readonly text: string; readonly state: MissingState }[];
}

export type ProfileTime =
  /** The bench sends no time: the host's clock when the line came. */
  | { readonly kind: 'arrival' }
  | {
      readonly kind: 'column';
      readonly at: FieldPlace;
      /** `clock` is hh:mm:ss, with or without decimals. */
      readonly unit: 'us' | 'ms' | 's' | 'clock';
      /** Value at which it begins again at 0 (2^32 of a 32-bit counter), in the unit; null: never. A clock wraps at midnight. */
      readonly wrap: number | null;
    };

export interface LineProfile {
  /** Name of the bench, one word. */
  readonly name: string;
  readonly layout: ProfileLayout;
  readonly decimal: '.' | ',';
  /** A line that is exactly this carries names, no values; null for none. */
  readonly header: string | null;
  /** Lines that begin with it carry no values; empty for none. */
  readonly comment: string;
  /** Begins every line and is no part of the first field ("$"); empty for none. */
  readonly prefix: string;
  /** The first field of the lines that are meant; lines with another are counted as unknown kind. Delimited only. */
  readonly tag: string | null;
  readonly checksum: ProfileChecksum | null;
  readonly time: ProfileTime;
  /** A column that counts the lines; null for none. */
  readonly sequence: { readonly at: FieldPlace; readonly modulus: number } | null;
  /** Lines per second expected, millihertz. */
  readonly rate_mHz: number;
  readonly columns: readonly ProfileColumn[];
}
