/**
 * The link: trips when the port is closed, or when no accepted line has come
 * for longer than `silence_ms`. Returns with the first line.
 */
import type { LinkRule } from './rules.ts';

/** What the journal says of the link. */
export interface LinkState {
  /** False before the first opening: there is nothing to lose yet. */
  hasBegun: boolean;
  isClosed: boolean;
  /** Session time of the last line, or of the opening. */
  heardAt_us: number;
}

export function isLinkLost(rule: LinkRule, link: LinkState, t_us: number): boolean {
  if (!link.hasBegun) return false;
  return link.isClosed || t_us - link.heardAt_us > rule.silence_ms * 1000;
}
