/** Views of a stored session, as the store's contract has them. */
import { valueOfOrdered } from '../../../shared-core/series/ordered-float.ts';
import { CHUNK_STEPS } from '../../../shared-core/series/time-levels.ts';
import { LevelView } from './level-view.ts';
import type { OpenBlocks } from './open-blocks.ts';
import type { DerivedView, RawView, ViewWindow } from './store-contract.ts';
import type { StoredLevels } from './stored-levels.ts';

/** @throws BlockDamage at a block or chunk that is not what was written */
export function rawView(
  levels: StoredLevels,
  blocks: OpenBlocks,
  group: number,
  column: number,
  { from_us, to_us, pixels }: ViewWindow,
): RawView {
  const base_us = levels.groups.find((each) => each.group === group)?.base_us ?? null;
  const view = new LevelView(levels, blocks, base_us, from_us, to_us, pixels);
  view.add({ group, column, base_us });
  const { edges_us, min, max, count, first, last } = view;
  const mean = view.sum;
  for (let pixel = 0; pixel < pixels; pixel++) mean[pixel] = mean[pixel]! / count[pixel]!;
  return { edges_us, min, max, mean, count, ends: view.level < 0 ? { first, last } : null };
}

/** @throws BlockDamage at a chunk that is not what was written */
export function derivedView(levels: StoredLevels, key: string, { from_us, to_us, pixels }: ViewWindow): DerivedView {
  const groups = levels.groups.filter((each) => each.keys?.includes(key));
  const base_us = groups[0]?.base_us ?? null;
  if (base_us === null) return { edges_us: new Float64Array(0), min: NONE, max: NONE, coveredTo_us: 0 };
  const columns = Math.max(1, Math.min(pixels, Math.ceil((to_us - from_us) / (2 * base_us))));
  const view = new LevelView(levels, null, base_us, from_us, to_us, columns);
  let last = -1;
  for (const { group, keys } of groups) {
    view.add({ group, column: keys!.indexOf(key), base_us });
    last = Math.max(last, levels.lastChunk(group));
  }
  const value = (ordered: number, pixel: number) => (view.count[pixel] === 0 ? Number.NaN : valueOfOrdered(ordered));
  return {
    edges_us: view.edges_us,
    min: Float64Array.from(view.min, value),
    max: Float64Array.from(view.max, value),
    coveredTo_us: (last + 1) * CHUNK_STEPS * base_us,
  };
}

const NONE = new Float64Array(0);
