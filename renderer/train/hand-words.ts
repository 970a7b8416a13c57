/** Who works the simulated stand, in words. Pure. */
export function handWords(isPersonOn: boolean, isOutputsLive: boolean): string {
  if (isPersonOn) return 'the person at the stand';
  return isOutputsLive ? 'you, with outputs live' : 'nobody: the person has stood back, and outputs are locked';
}
