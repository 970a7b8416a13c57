import { describe, expect, test } from 'vitest';
import { MemoryStore } from '../../../electron/host/store/memory-store.ts';
import { sessionStoreContract } from '../../contracts/session-store.ts';
import { EntrySink, inputsOf, madeUpJournal, noSummary, record, sessionStart } from '../../support/journal-samples.ts';

sessionStoreContract('memory', () => ({ store: new MemoryStore(), dispose: () => {} }));

describe('given a memory store in trouble', () => {
  test('when trouble ends, then the next commit has everything once', () => {
    const store = new MemoryStore();
    const started = store.start(sessionStart('s1'));
    if (!started.ok) throw new Error('start failed');
    const entries = madeUpJournal(2);
    store.trouble = { kind: 'disk-full', path: 'memory' };
    record(started.value, entries.slice(0, 100));
    expect(started.value.commit(noSummary)).toEqual({ ok: false, error: store.trouble });
    record(started.value, entries.slice(100));
    store.trouble = null;
    expect(started.value.commit(noSummary).ok).toBe(true);
    const sink = new EntrySink();
    store.replay('s1', sink);
    expect(sink.entries).toEqual(inputsOf(entries));
  });
});
