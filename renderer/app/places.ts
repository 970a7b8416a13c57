/** The five places and their addresses. What stands in each is in its own folder. */
export const places = ['rig', 'run', 'review', 'train', 'logbook'] as const;
export type Place = (typeof places)[number];

export const placeTitles: Readonly<Record<Place, string>> = {
  rig: 'Rig',
  run: 'Run',
  review: 'Review',
  train: 'Train',
  logbook: 'Logbook',
};

export interface Address {
  readonly place: Place;
  /** What follows the place: `#/review/SESSION/TIME` gives ["SESSION", "TIME"]. */
  readonly rest: readonly string[];
}

/** Address from a location hash; anything unknown is the Run place. */
export function parseAddress(hash: string): Address {
  const [place, ...rest] = hash
    .replace(/^#?\/?/, '')
    .split('/')
    .map((part) => {
      try {
        return decodeURIComponent(part);
      } catch {
        return part;
      }
    });
  const known = places.find((p) => p === place);
  return known ? { place: known, rest: rest.filter((r) => r !== '') } : { place: 'run', rest: [] };
}

export function addressOf(place: Place, ...rest: readonly string[]): string {
  return `#/${[place, ...rest.map(encodeURIComponent)].join('/')}`;
}
