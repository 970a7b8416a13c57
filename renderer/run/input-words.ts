/** Inputs in a fitter's words. Pure. */
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';

const titles: Readonly<Record<string, string>> = {
  stop: 'Stop circuit',
  cage: 'Cage',
  ignition: 'Ignition',
  starter: 'Starter',
  servo: 'Servo',
  supply: 'Supply',
  fan: 'Fan',
  lease: 'Lease',
};

export function inputTitle(key: string): string {
  return titles[key] ?? key;
}

export function inputWord(input: DiscreteInput): string {
  return input.state === 'X' ? 'not known' : input.words[input.state];
}

/** State of an input by key; 'X' where the bench does not have it. */
export function inputState(inputs: readonly DiscreteInput[], key: string): DiscreteInput['state'] {
  return inputs.find((i) => i.key === key)?.state ?? 'X';
}
