/** What a port says, in one headline: our protocol and as whom, text, silence, or noise. Pure. */
import type { PortCapture } from '../../shared-core/bridge/contract.ts';
import type { Proposal } from '../../shared-core/line/profile/propose.ts';

export interface Headline {
  readonly kind: 'native' | 'text' | 'silent' | 'noise' | 'unusable';
  readonly words: string;
}

const NOISE_SHARE = 0.3;

export function headlineOf(capture: PortCapture, proposal: Proposal): Headline {
  if (capture.bytes.length === 0) return { kind: 'silent', words: 'Silent: nothing came.' };
  if (proposal.kind === 'native') {
    const identity = capture.lines
      .map((line) => /^I \S+ \S+ (\S+) (\S+) (\S+) /.exec(line))
      .find((each) => each !== null);
    return {
      kind: 'native',
      words: identity
        ? `Speaks line protocol ${identity[1]} as ${identity[2]}, firmware ${identity[3]}.`
        : 'Speaks the line protocol; it has not said its name yet.',
    };
  }
  if (proposal.kind === 'profile') return { kind: 'text', words: 'Prints delimited text: set up a profile.' };
  const odd = capture.bytes.filter((byte) => (byte < 0x20 && ![9, 10, 13].includes(byte)) || byte > 0x7e).length;
  return odd > NOISE_SHARE * capture.bytes.length
    ? { kind: 'noise', words: 'Noise: wrong baud rate?' }
    : { kind: 'unusable', words: 'Prints something that no profile can read.' };
}
