/**
 * Flags of the session that a stream shows: those in its events when the page
 * came, and every one seen since. A snapshot alone forgets alarms once they
 * are cleared; the time axis must not. A replay does not see what it jumps
 * over, so the events of a session that is still being recorded are asked for
 * again as it grows.
 */
import { useEffect, useMemo, useState } from 'react';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { request } from '../app/bridge-client.ts';
import { EventFeed } from '../app/event-feed.ts';
import { sessionOf, streamStore, useStream } from '../app/stream-store.ts';
import { flagsOfEvents, flagsOfSnapshot, mergeFlags, type TrendFlag } from '../plots/flags.ts';

const none: readonly TrendFlag[] = [];

export function useFlags(stream: StreamName): readonly TrendFlag[] {
  const session = useStream(stream, (s) => sessionOf(s.snapshot));
  const grownTo_us = useStream(stream, (s) => s.snapshot?.replay?.duration_us ?? 0);
  const feed = useMemo(
    () => (session === null ? null : new EventFeed(session, (params) => request('sessions.events', params))),
    [session],
  );
  const [flags, setFlags] = useState(none);

  useEffect(() => {
    setFlags(none);
    const take = (): void => {
      const { snapshot } = streamStore(stream).getState();
      if (sessionOf(snapshot) === session) setFlags((before) => mergeFlags(before, flagsOfSnapshot(snapshot)));
    };
    take();
    const stop = streamStore(stream).subscribe((state, before) => {
      if (state.snapshot !== before.snapshot) take();
    });
    return stop;
  }, [stream, session]);

  // biome-ignore lint/correctness/useExhaustiveDependencies: that the recording grew is the reason to ask.
  useEffect(() => {
    let isWanted = true;
    feed?.refresh().then((result) => {
      if (isWanted && result.ok) setFlags((before) => mergeFlags(before, flagsOfEvents(result.value)));
    });
    return () => {
      isWanted = false;
    };
  }, [feed, grownTo_us]);

  return flags;
}
