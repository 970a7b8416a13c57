/** Faults of lines by kind, in words that say what each means at the stand (PROTOCOL.md, part 12). */
import type { FaultKind } from '../../shared-core/line/messages.ts';

export const faultWords: Readonly<Record<FaultKind, { readonly title: string; readonly meaning: string }>> = {
  garbage: {
    title: 'Unprintable bytes',
    meaning: 'Bytes that no line may hold: a wrong baud rate, or heavy noise on the cable.',
  },
  'too-long': {
    title: 'Line without an end',
    meaning: 'No line end within 512 bytes: another device, or a wrong baud rate.',
  },
  'no-crc': {
    title: 'No check sum',
    meaning: 'A line cut short, or one that is not of this protocol.',
  },
  'bad-crc': {
    title: 'Wrong check sum',
    meaning: 'Bits were flipped on the way: noise, a loose plug, a cable beside the ignition lead.',
  },
  'bad-form': {
    title: 'Against the protocol',
    meaning: 'It arrived as it was sent, but the bench wrote it wrongly: look at its firmware.',
  },
  'field-count': {
    title: 'Wrong number of values',
    meaning: 'A sample line that does not fit its channel table: look at the firmware.',
  },
  'before-table': {
    title: 'Before the channel table',
    meaning: 'Samples that nothing explains yet; usual for the first moments of a link.',
  },
  'unknown-kind': {
    title: 'Unknown kind of line',
    meaning: 'A newer bench says more than this version understands. Nothing else is lost.',
  },
  'time-back': {
    title: 'Time ran backwards',
    meaning: "The bench's clock jumped back without a new boot: look at its firmware.",
  },
};
