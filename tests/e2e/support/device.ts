/** The simulated bench as a process of its own on a pseudo-terminal: a serial port with a bench behind it. */
import { spawn } from 'node:child_process';
import { join } from 'node:path';

export interface RunningDevice {
  readonly path: string;
  stop(): Promise<void>;
}

const root = join(import.meta.dirname, '..', '..', '..');
const START_LIMIT_MS = 20_000;

export async function startDevice(...options: readonly string[]): Promise<RunningDevice> {
  const child = spawn(process.execPath, [join(root, 'simulator', 'device', 'main.ts'), '--pty', ...options], {
    cwd: root,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  let text = '';
  const path = await new Promise<string>((resolve, reject) => {
    const late = setTimeout(
      () => reject(new Error(`no port within ${START_LIMIT_MS / 1000} s:\n${text}`)),
      START_LIMIT_MS,
    );
    const look = (chunk: Buffer): void => {
      text += chunk.toString();
      const line = /^(\/\S+)\r?\n/m.exec(text);
      if (line === null) return;
      clearTimeout(late);
      resolve(line[1]!);
    };
    child.stdout.on('data', look);
    child.stderr.on('data', look);
    child.once('exit', (code) => reject(new Error(`it ended with ${code}:\n${text}`)));
  });
  return {
    path,
    async stop() {
      child.kill('SIGTERM');
      await ended;
    },
  };
}
