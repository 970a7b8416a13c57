/** What main process and host process say to each other, beside the ports of pages. */
import type { HostOptions } from '../host/host.ts';

export type ToHostProcess =
  | { readonly kind: 'start'; readonly options: Pick<HostOptions, 'dataFolder' | 'source'> }
  /** Comes with one port. */
  | { readonly kind: 'page' }
  /** Whether the window can be seen: its page cannot know, since it is not throttled in the background. */
  | { readonly kind: 'window'; readonly isSeen: boolean }
  | { readonly kind: 'close' };

export type FromHostProcess =
  /** A session is being recorded, or no longer is: the computer must not sleep meanwhile. */
  { readonly kind: 'session'; readonly isOpen: boolean };
