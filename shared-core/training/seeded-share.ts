/** A share between 0 and 1 from a seed and a name: the same for the same two, no clock and no state. */
export function seededShare(seed: number, name: string): number {
  // FNV-1a, then the finaliser of MurmurHash3 so that near seeds lie far apart.
  let hash = (0x811c9dc5 ^ seed) >>> 0;
  for (let i = 0; i < name.length; i++) hash = Math.imul(hash ^ name.charCodeAt(i), 0x01000193) >>> 0;
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b) >>> 0;
  hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35) >>> 0;
  return ((hash ^ (hash >>> 16)) >>> 0) / 0x1_0000_0000;
}
