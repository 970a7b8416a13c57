/**
 * Listens on a port for some seconds and tells what came: the capture from
 * which a profile is proposed (`shared-core/line/profile/propose.ts`). Nothing
 * is written to the port.
 */
import { ReadlineParser } from '@serialport/parser-readline';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { BridgeError, PortCapture } from '../../../shared-core/bridge/contract.ts';
import { type HostClock, systemClock } from '../clock.ts';
import { openErrorWords } from './open-errors.ts';
import { type OpenPort, openSerialPort } from './port-handle.ts';
import { CLOSE_LIMIT_MS, OPEN_LIMIT_MS } from './port-source.ts';
import { systemTimers, type Timers } from './timers.ts';

/** Some seconds at 115,200 Bd; more would say nothing new. */
export const CAPTURE_BYTES_MAX = 131_072;
const LINES_MAX = 500;
const LINE_CHARACTERS_MAX = 512;

export interface SniffOptions {
  readonly path: string;
  readonly baud: number;
  readonly seconds: number;
  readonly clock?: HostClock;
  readonly timers?: Timers;
  readonly openPort?: OpenPort;
  readonly platform?: string;
}

/** Errors: `port`, in plain words with a remedy. Resolves within `seconds` and the limits of opening and closing. */
export function sniffPort(options: SniffOptions): Promise<Result<PortCapture, BridgeError>> {
  const { path, baud, seconds } = options;
  const timers = options.timers ?? systemTimers;
  const clock = options.clock ?? systemClock;
  const chunks: Uint8Array[] = [];
  const lines: string[] = [];
  let bytes = 0;
  let openedAt_us = 0;
  const parser = new ReadlineParser({ delimiter: '\n', encoding: 'latin1' });
  parser.on('data', (line: string) => {
    if (lines.length < LINES_MAX) lines.push(line.replace(/\r$/, '').slice(0, LINE_CHARACTERS_MAX));
  });
  return new Promise((resolve) => {
    let isDone = false;
    let cancel = () => {};
    const finish = (result: Result<PortCapture, BridgeError>) => {
      if (isDone) return;
      isDone = true;
      cancel();
      // The port must be free again before anybody is told.
      let isTold = false;
      const tell = () => {
        if (isTold) return;
        isTold = true;
        giveUp();
        resolve(result);
      };
      const giveUp = timers.after(CLOSE_LIMIT_MS, tell);
      handle.close(tell);
    };
    const captured = (): Result<PortCapture, BridgeError> =>
      ok({
        bytes: joined(chunks, bytes),
        lines,
        listened_s: (clock.now_us() - openedAt_us) / 1e6,
        isCut: bytes >= CAPTURE_BYTES_MAX,
      });
    const handle = (options.openPort ?? openSerialPort)(path, baud, {
      opened: () => {
        cancel();
        openedAt_us = clock.now_us();
        cancel = timers.after(seconds * 1000, () => finish(captured()));
      },
      failed: (text) => {
        const { sentence, remedy } = openErrorWords(text, path, baud, options.platform ?? process.platform);
        finish(err({ kind: 'port', sentence, remedy }));
      },
      bytes: (chunk) => {
        if (isDone) return;
        const kept = chunk.subarray(0, CAPTURE_BYTES_MAX - bytes);
        chunks.push(kept);
        bytes += kept.length;
        parser.write(Buffer.from(kept));
        if (bytes >= CAPTURE_BYTES_MAX) finish(captured());
      },
      lost: () =>
        finish(
          err({
            kind: 'port',
            sentence: `${path} was lost while listening.`,
            remedy: 'Plug it in again, then listen again.',
          }),
        ),
    });
    cancel = timers.after(OPEN_LIMIT_MS, () =>
      finish(
        err({
          kind: 'port',
          sentence: `${path} did not open within ${OPEN_LIMIT_MS / 1000} s.`,
          remedy: 'Unplug the adapter, wait some seconds, plug it in again.',
        }),
      ),
    );
  });
}

function joined(chunks: readonly Uint8Array[], length: number): Uint8Array {
  const all = new Uint8Array(length);
  let at = 0;
  for (const chunk of chunks) {
    all.set(chunk, at);
    at += chunk.length;
  }
  return all;
}
