/**
 * A pseudo-terminal as a stand-in for a serial port: what is opened by `path`
 * is a real terminal device, so the real library and kernel are under test.
 * It pushes back where a UART would lose bytes. Not on Windows.
 */
import { spawn } from '@lydell/node-pty';

export interface Pty {
  readonly path: string;
  write(bytes: Uint8Array): void;
  /** Bytes that were written to the device, from the first on. */
  readonly received: () => Buffer;
  /** Hangs up, as an adapter does that is unplugged. */
  close(): Promise<void>;
}

export async function openPty(): Promise<Pty> {
  // The holder of the device says its name, then sleeps: it keeps the line up while nobody has the port open.
  const holder = spawn('sh', ['-c', 'stty raw -echo; tty; exec sleep 100000'], { encoding: null });
  const chunks: Buffer[] = [];
  const path = await new Promise<string>((resolve, reject) => {
    let isNamed = false;
    let text = '';
    const gone = setTimeout(() => reject(new Error('the pseudo-terminal did not come up')), 10_000);
    holder.onData((data) => {
      const bytes = data as unknown as Buffer;
      if (isNamed) {
        chunks.push(bytes);
        return;
      }
      text += bytes.toString('latin1');
      const line = text.match(/^(\S+)\r?\n/);
      if (line === null) return;
      isNamed = true;
      clearTimeout(gone);
      resolve(line[1]!);
    });
  });
  const exited = new Promise<void>((resolve) => holder.onExit(() => resolve()));
  return {
    path,
    // The types know only text; without an encoding it takes bytes.
    write: (bytes) => holder.write(Buffer.from(bytes) as unknown as string),
    received: () => Buffer.concat(chunks),
    close: () => {
      holder.kill('SIGKILL');
      return exited;
    },
  };
}
