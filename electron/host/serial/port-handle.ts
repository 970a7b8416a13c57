/**
 * The one file that knows the serial library. A handle is one try at one
 * port: it is opened once, and never again after it failed or was lost.
 *
 * The library may not run in a worker thread: bindings 13 end the whole
 * process there at the first byte.
 */
import { SerialPort } from 'serialport';

/** Nothing of it is called before `OpenPort` has returned. Of these, `opened` or `failed` comes at most once; `bytes` and `lost` only after `opened`; nothing after `close`. */
export interface PortEvents {
  opened(): void;
  failed(text: string): void;
  /** The chunk is the receiver's to keep. */
  bytes(chunk: Uint8Array): void;
  lost(text: string): void;
}

export interface PortHandle {
  /** False where the bytes cannot go out: not open, or earlier ones still wait. */
  write(bytes: Uint8Array): boolean;
  /** `done` is called when the operating system has let go of the port; that may be never. */
  close(done: () => void): void;
}

export type OpenPort = (path: string, baud: number, events: PortEvents) => PortHandle;

/** Bytes that may wait to be sent; a command line is at most 512 bytes, so this is a bench that reads nothing. */
const MOST_WAITING_BYTES = 4096;

export const openSerialPort: OpenPort = (path, baud, events) => {
  let isClosed = false;
  let port: SerialPort;
  try {
    port = new SerialPort({ path, baudRate: baud, autoOpen: false });
  } catch (error) {
    // A path or rate that is none at all. Told later, like every other failure.
    queueMicrotask(() => {
      if (!isClosed) events.failed(textOf(error));
    });
    return {
      write: () => false,
      close: (done) => {
        isClosed = true;
        done();
      },
    };
  }

  let isOpen = false;
  let onReleased: (() => void) | null = null;
  const lose = (text: string) => {
    if (!isOpen || isClosed) return;
    isOpen = false;
    events.lost(text);
  };
  // The listener for errors stays for ever: an error nobody listens to would end the process.
  port.on('error', (error) => lose(textOf(error)));
  port.on('close', (error: Error | null) => {
    lose(error?.message ?? 'the port was closed');
    onReleased?.();
  });
  port.on('end', () => lose('the port gives no more bytes'));
  port.on('data', (chunk: Buffer) => {
    // Copied: the library's chunk is a view into a pool of 64 KB, which it would keep alive.
    if (!isClosed) events.bytes(new Uint8Array(chunk));
  });
  port.open((error) => {
    if (isClosed) {
      if (error) onReleased?.();
      else port.close();
    } else if (error) {
      events.failed(textOf(error));
    } else {
      isOpen = true;
      events.opened();
    }
  });

  return {
    write(bytes) {
      if (!isOpen || port.writableLength + bytes.length > MOST_WAITING_BYTES) return false;
      port.write(Buffer.from(bytes));
      return true;
    },
    close(done) {
      isClosed = true;
      isOpen = false;
      onReleased = done;
      if (port.opening) return;
      if (port.isOpen) port.close();
      else if (!port.closing) done();
    },
  };
};

function textOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
