/**
 * Flags of the session that a stream shows: those in its events when the page
 * came, and every one seen since. A snapshot alone forgets alarms once they
 * are cleared; the time axis must not.
 */
import { useEffect, useState } from 'react';
import type { StreamName } from '../../shared-core/bridge/contract.ts';
import { request } from '../app/bridge-client.ts';
import { sessionOf, streamStore, useStream } from '../app/stream-store.ts';
import { flagsOfEvents, flagsOfSnapshot, mergeFlags, type TrendFlag } from '../plots/flags.ts';

const none: readonly TrendFlag[] = [];

export function useFlags(stream: StreamName): readonly TrendFlag[] {
  const session = useStream(stream, (s) => sessionOf(s.snapshot));
  const [flags, setFlags] = useState(none);

  useEffect(() => {
    let isWanted = true;
    setFlags(none);
    const take = (): void => {
      const { snapshot } = streamStore(stream).getState();
      if (sessionOf(snapshot) === session) setFlags((before) => mergeFlags(before, flagsOfSnapshot(snapshot)));
    };
    take();
    const stop = streamStore(stream).subscribe((state, before) => {
      if (state.snapshot !== before.snapshot) take();
    });
    if (session !== null) {
      request('sessions.events', { id: session }).then((result) => {
        if (isWanted && result.ok) setFlags((before) => mergeFlags(before, flagsOfEvents(result.value)));
      });
    }
    return () => {
      isWanted = false;
      stop();
    };
  }, [stream, session]);

  return flags;
}
