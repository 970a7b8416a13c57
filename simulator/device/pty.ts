/**
 * A pseudo-terminal that looks like a serial port: raw, no echo, and held open
 * by a sleeping shell so that a host may come, go and come again. Like a UART
 * and unlike a pipe it never waits for a reader: what nobody reads is lost.
 */
import { writeSync } from 'node:fs';
import { err, ok, type Result } from '../../shared-core/base/result.ts';

export interface OpenedPty {
  readonly path: string;
  write(bytes: Uint8Array): void;
  onBytes(take: (bytes: Uint8Array) => void): void;
  close(): void;
}

/** Kept while the kernel's buffer is full: a few seconds of lines at speed 1; beyond that all of it is dropped. */
const BACKLOG_BYTES = 24_576;
/** No progress for so long: nobody reads, and who comes later must not be fed old lines. */
const UNREAD_ms = 1500;
const RETRY_ms = 10;

/** `speed` is simulated seconds per second: so many more bytes are kept for a reader that pauses. */
export async function openPty(speed: number): Promise<Result<OpenedPty, string>> {
  if (process.platform === 'win32') {
    return err(
      'Windows has no pseudo-terminals that look like serial ports. Use --stdio, or the built-in simulator of the workbench.',
    );
  }
  let spawn: typeof import('@lydell/node-pty').spawn;
  try {
    ({ spawn } = await import('@lydell/node-pty'));
  } catch (cause) {
    return err(
      `No pseudo-terminal on this machine: the package @lydell/node-pty does not load (${String(cause)}). Use --stdio.`,
    );
  }
  const shell = spawn('sh', ['-c', 'stty raw -echo; tty; exec sleep 100000000'], { encoding: null });
  const take: { bytes: (bytes: Uint8Array) => void } = { bytes: () => undefined };
  const path = await new Promise<string | null>((resolve) => {
    let head = '';
    // With `encoding: null` chunks are Buffers, whatever the declared type says.
    shell.onData((chunk: unknown) => {
      const bytes = chunk as Buffer;
      if (head.endsWith('\n')) {
        take.bytes(bytes);
        return;
      }
      const lineEnd = bytes.indexOf(0x0a);
      head += bytes.toString('latin1', 0, lineEnd < 0 ? bytes.length : lineEnd + 1);
      if (lineEnd >= 0) resolve(head.trim());
    });
    shell.onExit(() => resolve(null));
  });
  if (path === null) return err('The pseudo-terminal closed at once. Are "sh", "stty" and "tty" on the path?');
  const fd = (shell as unknown as { readonly fd: number }).fd;
  const backlog = new Backlog(fd, BACKLOG_BYTES * Math.max(1, speed));
  return ok({
    path,
    write: (bytes) => backlog.write(bytes),
    onBytes: (receiver) => {
      take.bytes = receiver;
    },
    close: () => {
      backlog.close();
      shell.kill();
    },
  });
}

/** Writes as far as the kernel takes it, keeps a little, loses the rest. */
class Backlog {
  readonly #fd: number;
  #waiting: Uint8Array[] = [];
  #length = 0;
  #timer: ReturnType<typeof setTimeout> | null = null;
  #progress_ms = performance.now();
  readonly #most: number;

  constructor(fd: number, mostBytes: number) {
    this.#fd = fd;
    this.#most = mostBytes;
  }

  write(bytes: Uint8Array): void {
    const isUnread = this.#length > 0 && performance.now() - this.#progress_ms > UNREAD_ms;
    if (isUnread || this.#length + bytes.length > this.#most) {
      this.#waiting = [];
      this.#length = 0;
    }
    this.#waiting.push(bytes);
    this.#length += bytes.length;
    if (this.#timer === null) this.#flush();
  }

  close(): void {
    if (this.#timer !== null) clearTimeout(this.#timer);
    this.#timer = null;
    this.#waiting = [];
    this.#length = 0;
  }

  #flush(): void {
    this.#timer = null;
    for (let first = this.#waiting[0]; first; first = this.#waiting[0]) {
      const written = this.#tryWrite(first);
      this.#length -= written;
      if (written < first.length) {
        this.#waiting[0] = first.subarray(written);
        this.#timer = setTimeout(() => this.#flush(), RETRY_ms);
        return;
      }
      this.#waiting.shift();
    }
  }

  #tryWrite(bytes: Uint8Array): number {
    try {
      const written = writeSync(this.#fd, bytes);
      this.#progress_ms = performance.now();
      return written;
    } catch (cause) {
      // The kernel's buffer is full: not now.
      if ((cause as NodeJS.ErrnoException).code === 'EAGAIN') return 0;
      throw cause;
    }
  }
}
