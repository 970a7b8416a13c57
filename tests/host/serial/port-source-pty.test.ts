/** The port source on real terminal devices: the library, the kernel and the clock are real. */
import { mkdtempSync, rmSync, symlinkSync, unlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { SourceStatus } from '../../../electron/host/byte-source.ts';
import { PortSource } from '../../../electron/host/serial/port-source.ts';
import { openPty, type Pty } from '../../support/pty.ts';

const WITHIN = { timeout: 10_000, interval: 20 };

describe.skipIf(process.platform === 'win32')('given a pseudo-terminal', () => {
  let folder: string;
  let link: string;
  let pty: Pty;
  const sources: PortSource[] = [];

  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'runstand-pty-'));
    link = join(folder, 'bench');
    pty = await openPty();
  });
  afterEach(async () => {
    await Promise.all(sources.splice(0).map((source) => source.close()));
    await pty.close();
    rmSync(folder, { recursive: true });
  });

  function listen(path: string) {
    const source = new PortSource({ path, baud: 115_200 });
    sources.push(source);
    const heard: Buffer[] = [];
    const statuses: SourceStatus[] = [];
    source.start({ onBytes: (chunk) => heard.push(Buffer.from(chunk)), onStatus: (each) => statuses.push(each) });
    return {
      source,
      statuses,
      text: () => Buffer.concat(heard).toString('latin1'),
      state: () => statuses.at(-1)!.state,
    };
  }

  test('when opened, then every byte value goes both ways unchanged', async () => {
    const all = Uint8Array.from({ length: 256 }, (_, i) => i);
    const { source, state, text } = listen(pty.path);
    await vi.waitUntil(() => state() === 'open', WITHIN);
    pty.write(all);
    await vi.waitUntil(() => text().length === 256, WITHIN);
    expect(Buffer.from(text(), 'latin1').equals(all)).toBe(true);
    expect(source.write(all)).toBe(true);
    await vi.waitUntil(() => pty.received().length >= 256, WITHIN);
    expect(pty.received().equals(all)).toBe(true);
  });

  test('when it hangs up and another appears under the same name, then it waits, opens it and hears it', async () => {
    symlinkSync(pty.path, link);
    const { source, statuses, state, text } = listen(link);
    await vi.waitUntil(() => state() === 'open', WITHIN);
    pty.write(Buffer.from('one'));
    await vi.waitUntil(() => text() === 'one', WITHIN);

    unlinkSync(link);
    await pty.close();
    await vi.waitUntil(() => statuses.some((each) => each.state === 'waiting'), WITHIN);
    expect(statuses.find((each) => each.state === 'waiting')?.sentence).toContain('was lost');
    expect(source.write(Buffer.from('x'))).toBe(false);

    pty = await openPty();
    symlinkSync(pty.path, link);
    await vi.waitUntil(() => state() === 'open', WITHIN);
    pty.write(Buffer.from('two'));
    await vi.waitUntil(() => text() === 'onetwo', WITHIN);
    expect(source.write(Buffer.from('back'))).toBe(true);
    await vi.waitUntil(() => pty.received().toString() === 'back', WITHIN);
  });

  test('when the path is missing at first, then the status says so, and it opens once the path appears', async () => {
    const { statuses, state, text } = listen(link);
    await vi.waitUntil(() => statuses.some((each) => each.state === 'waiting'), WITHIN);
    expect(statuses.find((each) => each.state === 'waiting')?.sentence).toBe(`There is no port ${link}.`);
    symlinkSync(pty.path, link);
    await vi.waitUntil(() => state() === 'open', WITHIN);
    pty.write(Buffer.from('here'));
    await vi.waitUntil(() => text() === 'here', WITHIN);
  });

  test('when another holds it, then the status says busy, and it opens once the other lets go', async () => {
    const first = listen(pty.path);
    await vi.waitUntil(() => first.state() === 'open', WITHIN);
    const second = listen(pty.path);
    await vi.waitUntil(() => second.state() === 'waiting', WITHIN);
    expect(second.statuses.at(-1)?.sentence).toBe(`${pty.path} is in use by another program.`);
    await first.source.close();
    await vi.waitUntil(() => second.state() === 'open', WITHIN);
    pty.write(Buffer.from('mine'));
    await vi.waitUntil(() => second.text() === 'mine', WITHIN);
    expect(first.text()).toBe('');
  });

  test('when the path is no terminal, then the status says that it is not a port', async () => {
    const { statuses } = listen('/dev/null');
    await vi.waitUntil(() => statuses.some((each) => each.state === 'waiting'), WITHIN);
    expect(statuses.find((each) => each.state === 'waiting')?.sentence).toBe('/dev/null is not a serial port.');
  });

  test('when closed while opening, then the device is free for the next', async () => {
    const first = listen(pty.path);
    await first.source.close();
    const second = listen(pty.path);
    await vi.waitUntil(() => second.state() === 'open', WITHIN);
  });

  test('when a bench reads nothing, then writing is refused at last and nothing blocks', async () => {
    const { source, state } = listen(pty.path);
    await vi.waitUntil(() => state() === 'open', WITHIN);
    // The holder's side is read by the helper: to have nobody read, more is written in one turn than may wait.
    const line = new Uint8Array(512);
    const taken = Array.from({ length: 64 }, () => source.write(line)).filter((isTaken) => isTaken).length;
    expect(taken).toBeGreaterThanOrEqual(8);
    expect(taken).toBeLessThan(64);
  });
});
