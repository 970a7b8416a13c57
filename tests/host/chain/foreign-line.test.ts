/** A bench that prints delimited text, on a real pseudo-terminal: heard, proposed, saved, read live. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { type Host, startHost } from '../../../electron/host/host.ts';
import type {
  HostMessage,
  Method,
  PortCapture,
  RendererMessage,
  Requests,
  Snapshot,
} from '../../../shared-core/bridge/contract.ts';
import { createMemoryCarriers } from '../../../shared-core/bridge/memory-carrier.ts';
import { proposeProfile } from '../../../shared-core/line/profile/propose.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';
import { openPty } from '../../support/pty.ts';

const hasTerminals = process.platform !== 'win32';
let folder = '';
let host: Host | null = null;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-foreign-'));
});
afterEach(async () => {
  await host?.close();
  host = null;
  rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
});

describe.skipIf(!hasTerminals)('given a bench that prints semicolons and decimal commas', () => {
  test('when heard, proposed, saved and connected, then its values are live and commands are refused in words', {
    timeout: 60_000,
  }, async () => {
    const pty = await openPty();
    let line = 0;
    const timer = setInterval(() => {
      if (line % 50 === 0) pty.write(Buffer.from('zeit_ms;rpm;cht1;schub_N\r\n'));
      line += 1;
      pty.write(
        Buffer.from(
          `${line * 50};${2000 + (line % 10)};${(95.5 + (line % 7) / 10).toFixed(1).replace('.', ',')};${(41.25).toFixed(2).replace('.', ',')}\r\n`,
        ),
      );
    }, 50);
    try {
      host = startHost({ dataFolder: folder, source: { kind: 'none' }, door: 'memory', log: () => {} });
      const messages: HostMessage[] = [];
      const pair = createMemoryCarriers<HostMessage, RendererMessage>();
      pair.second.onMessage((message) => messages.push(message));
      host.connect(pair.first);
      let nextId = 0;
      const ask = async <M extends Method>(method: M, params: Requests[M]['params']): Promise<Requests[M]['value']> => {
        const id = ++nextId;
        pair.second.post({ type: 'request', id, method, params } as RendererMessage);
        const reply = await vi.waitUntil(
          () =>
            messages.find((each) => each.type === 'reply' && each.id === id) as
              | Extract<HostMessage, { type: 'reply' }>
              | undefined,
          { timeout: 15_000 },
        );
        if (!reply.result.ok) throw new Error(reply.result.error.sentence);
        return reply.result.value as Requests[M]['value'];
      };
      const snapshot = (): Snapshot | undefined =>
        messages.flatMap((each) => (each.type === 'snapshot' ? [each.snapshot] : [])).at(-1);

      const capture: PortCapture = await ask('rig.sniff', { path: pty.path, baud: 115_200, seconds: 3 });
      expect(capture.lines.length).toBeGreaterThan(20);
      const proposal = proposeProfile(capture.bytes, { listened_s: capture.listened_s });
      if (proposal.kind !== 'profile') throw new Error(JSON.stringify(proposal));
      await ask('rig.save', {
        sheet: { ...lapwing120, profile: proposal.profile },
        by: 'engineer 1',
        change: 'profile of the bench on the wall',
      });
      await ask('source.use', { kind: 'port', path: pty.path, baud: 115_200, profile: true });
      pair.second.post({ type: 'credit', stream: 'live', count: 20 });
      const layout = await vi.waitUntil(
        () =>
          messages
            .flatMap((each) => (each.type === 'layout' ? [each.layout] : []))
            .find((each) => each.channels.some((channel) => channel.key === 'rpm')),
        { timeout: 15_000 },
      );
      const speed = layout.channels.find((each) => each.key === 'rpm');
      expect(speed?.quantity).toBe('shaft-speed');
      const batch = await vi.waitUntil(
        () =>
          messages
            .flatMap((each) => (each.type === 'display' ? [each.batch] : []))
            .find((each) => each.last[speed!.ordinal]! >= 2000),
        { timeout: 15_000 },
      );
      expect(batch.last[speed!.ordinal]).toBeLessThan(2010);
      const head = layout.channels.find((each) => each.key === 'cht1')!;
      expect(batch.last[head.ordinal]).toBeGreaterThanOrEqual(95.5);
      expect(batch.last[head.ordinal]).toBeLessThan(96.2);
      expect(snapshot()?.outputs.unavailable).toContain('only listened to');
      await expect(
        ask('outputs.command', { by: 'operator 1', command: { name: 'IGNITION', on: false } }),
      ).rejects.toThrow('takes no commands');
    } finally {
      clearInterval(timer);
      await pty.close();
    }
  });
});
