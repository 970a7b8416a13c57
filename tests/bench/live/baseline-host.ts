/** The plain host: parser-readline, split and Number, CRC checked, one JSON message for each line. */
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { ReadlineParser } from '@serialport/parser-readline';
import { SerialPort } from 'serialport';
import { WebSocketServer } from 'ws';
import { LINES } from './bench-channels.ts';

const [path = ''] = process.argv.slice(2);
const pageFolder = join(import.meta.dirname, '../../../build/out/live-bench');
const types: Readonly<Record<string, string>> = { html: 'text/html', js: 'text/javascript', css: 'text/css' };

const server = createServer((request, response) => {
  const name = (request.url ?? '/').split('?')[0]!;
  try {
    const body = readFileSync(join(pageFolder, name));
    response.writeHead(200, { 'content-type': types[name.split('.').at(-1)!] ?? 'text/plain' }).end(body);
  } catch {
    response.writeHead(404).end();
  }
});
const sockets = new WebSocketServer({ server, perMessageDeflate: false });
const table = Uint16Array.from({ length: 256 }, (_, byte) => {
  let crc = byte << 8;
  for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? ((crc << 1) ^ 0x1021) & 0xffff : (crc << 1) & 0xffff;
  return crc;
});

const port = new SerialPort({ path, baudRate: 921_600 });
const lines = port.pipe(new ReadlineParser({ delimiter: '\n' }));
lines.on('data', (data: string | Buffer) => {
  const line = data.toString();
  const tilde = line.lastIndexOf('~');
  if (Number.parseInt(line.slice(tilde + 1), 16) !== crcOf(line, tilde)) return;
  const fields = line.slice(0, tilde).split(' ');
  if (fields[0] !== 'S') return;
  const values = fields.slice(4).map(Number);
  const message = {
    n: values[LINES],
    t: Number.parseInt(fields[2]!, 16) / 1e6,
    v: values.slice(0, LINES).map((v) => v / 10),
  };
  const text = JSON.stringify(message);
  for (const socket of sockets.clients) socket.send(text);
});
port.once('open', () => {
  server.listen(0, '127.0.0.1', () => {
    process.stdout.write(`at http://127.0.0.1:${(server.address() as AddressInfo).port}/baseline.html\n`);
  });
});
process.once('SIGTERM', () => process.exit(0));

function crcOf(line: string, length: number): number {
  let crc = 0xffff;
  for (let i = 0; i < length; i++) crc = ((crc << 8) & 0xffff) ^ table[(crc >> 8) ^ line.charCodeAt(i)]!;
  return crc;
}
