/** The host of the live benchmark in a process of its own: the real one behind the real browser door, on a given port. */
import { join } from 'node:path';
import { openBrowserDoor } from '../../../electron/browser/browser-door.ts';
import { startHost } from '../../../electron/host/host.ts';

const [path = '', dataFolder = ''] = process.argv.slice(2);
const log = (line: string): void => void process.stderr.write(`${line}\n`);
const host = startHost({ dataFolder, source: { kind: 'port', path, baud: 921_600 }, door: 'browser', log });
const pageFolder = join(import.meta.dirname, '../../../build/out/live-bench');
const door = await openBrowserDoor({ host, pageFolder, httpPort: 0, log });
if (!door.ok) throw new Error(door.error);
process.stdout.write(`at ${door.value.address}\n`);
process.once('SIGTERM', async () => {
  await door.value.close();
  await host.close();
  process.exit(0);
});
