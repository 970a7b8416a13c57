/** Listening on a made-up port with a made-up clock: what is told, and that the port is free again before it is. */
import { describe, expect, test } from 'vitest';
import type { OpenPort, PortEvents } from '../../../electron/host/serial/port-handle.ts';
import { CLOSE_LIMIT_MS, OPEN_LIMIT_MS } from '../../../electron/host/serial/port-source.ts';
import { CAPTURE_BYTES_MAX, sniffPort } from '../../../electron/host/serial/sniff.ts';
import type { Result } from '../../../shared-core/base/result.ts';
import type { BridgeError, PortCapture } from '../../../shared-core/bridge/contract.ts';

interface Listening {
  readonly port: PortEvents;
  advance(by_ms: number): void;
  readonly written: Uint8Array[];
  readonly isClosed: () => boolean;
  readonly told: Promise<Result<PortCapture, BridgeError>>;
}

function listen(seconds: number, hangsOnClose = false): Listening {
  let now_ms = 0;
  let timers: { at_ms: number; run: () => void }[] = [];
  let port: PortEvents | undefined;
  let isClosed = false;
  const written: Uint8Array[] = [];
  const openPort: OpenPort = (_path, _baud, events) => {
    port = events;
    return {
      write: (bytes) => written.push(bytes) > 0,
      close: (done) => {
        isClosed = true;
        if (!hangsOnClose) done();
      },
    };
  };
  const told = sniffPort({
    path: '/dev/ttyUSB0',
    baud: 9600,
    seconds,
    platform: 'linux',
    openPort,
    clock: { now_us: () => now_ms * 1000, now_epochMs: () => now_ms },
    timers: {
      after: (delay_ms, run) => {
        const timer = { at_ms: now_ms + delay_ms, run };
        timers.push(timer);
        return () => {
          timers = timers.filter((each) => each !== timer);
        };
      },
    },
  });
  return {
    port: port!,
    written,
    told,
    isClosed: () => isClosed,
    advance(by_ms) {
      now_ms += by_ms;
      const due = timers.filter((each) => each.at_ms <= now_ms);
      timers = timers.filter((each) => each.at_ms > now_ms);
      for (const each of due) each.run();
    },
  };
}

const bytesOf = (text: string) => new TextEncoder().encode(text);

describe('given a port that is listened to for 2 s', () => {
  test('when lines come in pieces, then bytes and lines are told as they came, and nothing was written', async () => {
    const each = listen(2);
    each.port.opened();
    each.port.bytes(bytesOf('rpm;cht\r\n61'));
    each.port.bytes(bytesOf('00;187,4\r\n62'));
    each.advance(2000);
    const told = await each.told;
    expect(told).toEqual({
      ok: true,
      value: {
        bytes: bytesOf('rpm;cht\r\n6100;187,4\r\n62'),
        lines: ['rpm;cht', '6100;187,4'],
        listened_s: 2,
        isCut: false,
      },
    });
    expect(each.written).toEqual([]);
    expect(each.isClosed()).toBe(true);
  });

  test('when nothing comes, then an empty capture is told', async () => {
    const each = listen(2);
    each.port.opened();
    each.advance(2000);
    expect(await each.told).toMatchObject({ ok: true, value: { lines: [], isCut: false } });
  });

  test('when more comes than is kept, then it ends there and says so', async () => {
    const each = listen(2);
    each.port.opened();
    each.advance(500);
    each.port.bytes(new Uint8Array(CAPTURE_BYTES_MAX + 1).fill(0x35));
    each.port.bytes(bytesOf('too late'));
    const told = await each.told;
    expect(told.ok && told.value.bytes.length).toBe(CAPTURE_BYTES_MAX);
    expect(told).toMatchObject({ ok: true, value: { listened_s: 0.5, isCut: true } });
  });

  test('when it is lost meanwhile, then that is told rather than half a capture', async () => {
    const each = listen(2);
    each.port.opened();
    each.port.lost('gone');
    expect(await each.told).toMatchObject({ ok: false, error: { kind: 'port' } });
  });

  test('when it is in use, then that is told in words', async () => {
    const each = listen(2);
    each.port.failed('Error Resource temporarily unavailable Cannot lock port');
    const told = await each.told;
    expect(!told.ok && told.error.sentence).toContain('in use');
    expect(each.isClosed()).toBe(true);
  });

  test('when neither opening nor closing ever ends, then it is told all the same', async () => {
    const each = listen(2, true);
    each.advance(OPEN_LIMIT_MS);
    each.advance(CLOSE_LIMIT_MS);
    expect(await each.told).toMatchObject({ ok: false, error: { kind: 'port' } });
  });
});
