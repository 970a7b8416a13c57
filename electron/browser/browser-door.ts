/**
 * The browser door: the page over loopback HTTP, the bridge over a WebSocket
 * on the same port. Who may come in is in `door-key.ts`.
 *
 *   GET /, /assets/…          the page; no token
 *   GET /door?token=          204 or 401: lets the page tell a wrong token from a host that is gone
 *   GET /exports/NAME?token=  one exported file, as a download
 *   GET /bridge?token=        WebSocket upgrade
 */
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Duplex } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { type WebSocket, WebSocketServer } from 'ws';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { Host } from '../host/host.ts';
import { pageHeaders } from '../page/content-policy.ts';
import { findPageFile, isPageBuilt } from '../page/page-files.ts';
import { createDoorKey, type DoorKey } from './door-key.ts';
import { createWsCarrier } from './ws-carrier.ts';

export const USUAL_HTTP_PORT = 4870;
/** More than anyone opens; a runaway script reaches it soon. */
const MAX_PAGES = 32;
/** No request of the contract comes near it. */
const MAX_MESSAGE_BYTES = 1024 * 1024;

export interface BrowserDoorOptions {
  readonly host: Pick<Host, 'connect' | 'exportPath'>;
  /** Folder of the built page. */
  readonly pageFolder: string;
  /** Null: the usual port, or any free one when that is taken. 0: any free one. */
  readonly httpPort: number | null;
  readonly log: (line: string) => void;
}

export interface BrowserDoor {
  /** With the token in its fragment: for the operator's eyes and browser. */
  readonly address: string;
  readonly port: number;
  readonly token: string;
  /** Pages are disconnected; the host is left running. */
  close(): Promise<void>;
}

/** Errors: one sentence and what to do. */
export async function openBrowserDoor(options: BrowserDoorOptions): Promise<Result<BrowserDoor, string>> {
  if (!(await isPageBuilt(options.pageFolder))) {
    return err('The page has not been built. Run "npm run build", or "npm start", which builds it.');
  }
  const server = createServer();
  const port = await listen(server, options.httpPort);
  if (!port.ok) return port;

  const key = createDoorKey(port.value);
  const sockets = new WebSocketServer({ noServer: true, maxPayload: MAX_MESSAGE_BYTES, perMessageDeflate: false });
  server.on('request', (request, response) => {
    answer(options, key, request, response).catch((error: unknown) => {
      options.log(`a request failed: ${error instanceof Error ? error.message : String(error)}`);
      response.destroy();
    });
  });
  server.on('upgrade', (request: IncomingMessage, stream: Duplex, head: Buffer) => {
    stream.on('error', () => stream.destroy());
    const refusal = upgradeRefusal(key, request, sockets.clients.size);
    if (refusal !== null) {
      options.log(`a connection was refused: ${refusal}`);
      stream.end(`HTTP/1.1 ${refusal}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`);
      return;
    }
    sockets.handleUpgrade(request, stream, head, (socket: WebSocket) => {
      options.host.connect(createWsCarrier(socket, options.log));
    });
  });
  return ok({
    address: `http://127.0.0.1:${port.value}/#token=${key.token}`,
    port: port.value,
    token: key.token,
    close: () => closeAll(server, sockets),
  });
}

async function listen(server: Server, wanted: number | null): Promise<Result<number, string>> {
  const first = await tryListen(server, wanted ?? USUAL_HTTP_PORT);
  if (first === null) return ok((server.address() as AddressInfo).port);
  if (wanted === null && first === 'EADDRINUSE') {
    const second = await tryListen(server, 0);
    if (second === null) return ok((server.address() as AddressInfo).port);
  }
  return err(
    first === 'EADDRINUSE'
      ? `Port ${wanted} is in use by another program. Choose another with --http-port, or 0 for any free one.`
      : `Port ${wanted ?? USUAL_HTTP_PORT} could not be opened (${first}). Choose another with --http-port.`,
  );
}

/** Null when it listens, else the system's code. Loopback only, ever. */
function tryListen(server: Server, port: number): Promise<string | null> {
  return new Promise((resolve) => {
    const failed = (error: NodeJS.ErrnoException): void => resolve(error.code ?? error.message);
    server.once('error', failed);
    server.listen({ host: '127.0.0.1', port }, () => {
      server.off('error', failed);
      resolve(null);
    });
  });
}

/** Status line for an upgrade that is refused, or null. */
function upgradeRefusal(key: DoorKey, request: IncomingMessage, pages: number): string | null {
  if (!key.isOwnHost(request.headers.host)) return '403 Forbidden (Host)';
  if (!key.isOwnOrigin(request.headers.origin)) return '403 Forbidden (Origin)';
  const { path, token } = targetOf(request);
  if (path !== '/bridge') return '404 Not Found';
  if (!key.isToken(token)) return '401 Unauthorized';
  return pages >= MAX_PAGES ? '503 Service Unavailable' : null;
}

async function answer(
  options: BrowserDoorOptions,
  key: DoorKey,
  request: IncomingMessage,
  response: ServerResponse,
): Promise<void> {
  for (const [name, value] of Object.entries(pageHeaders(key.webSocketOrigins))) response.setHeader(name, value);
  response.setHeader('Cache-Control', 'no-store');
  if (!key.isOwnHost(request.headers.host)) return refuse(response, 403, 'This address is not served here.');
  if (request.method !== 'GET' && request.method !== 'HEAD') return refuse(response, 405, 'Only GET is served here.');

  const { path, token } = targetOf(request);
  const isExport = path.startsWith('/exports/');
  if (isExport || path === '/door') {
    if (!key.isToken(token)) return refuse(response, 401, 'Open the address that Runstand printed when it started.');
    if (!isExport) return void response.writeHead(204).end();
    return sendExport(options, path.slice('/exports/'.length), request, response);
  }
  const file = await findPageFile(options.pageFolder, path);
  if (file === null) return refuse(response, 404, 'There is nothing at this address.');
  response.setHeader('Content-Type', file.contentType);
  response.setHeader('Cache-Control', file.cacheControl);
  return sendFile(file.path, file.bytes, request, response);
}

async function sendExport(
  options: BrowserDoorOptions,
  encodedName: string,
  request: IncomingMessage,
  response: ServerResponse,
): Promise<void> {
  const name = decoded(encodedName);
  // The host knows its exports by plain names; anything like a path is not one.
  const path = name === null || /[/\\\0]|^\.+$/.test(name) ? null : options.host.exportPath(name);
  const info = path === null ? null : await stat(path).catch(() => null);
  if (name === null || path === null || info === null || !info.isFile()) {
    return refuse(response, 404, 'There is no such export. Make it again from the Logbook.');
  }
  response.setHeader('Content-Type', 'application/octet-stream');
  response.setHeader('Content-Disposition', `attachment; filename*=UTF-8''${encodeURIComponent(name)}`);
  return sendFile(path, info.size, request, response);
}

async function sendFile(
  path: string,
  bytes: number,
  request: IncomingMessage,
  response: ServerResponse,
): Promise<void> {
  response.setHeader('Content-Length', bytes);
  if (request.method === 'HEAD' || bytes === 0) return void response.writeHead(200).end();
  response.writeHead(200);
  // `end` keeps a file that grows meanwhile to the length that was announced.
  await pipeline(createReadStream(path, { end: bytes - 1 }), response);
}

function refuse(response: ServerResponse, status: number, sentence: string): void {
  response.setHeader('Content-Type', 'text/plain; charset=utf-8');
  response.writeHead(status).end(`${sentence}\n`);
}

/** Path as sent, not normalised (a URL parser would hide `..`), and the token of the query. */
function targetOf(request: IncomingMessage): { path: string; token: string | null } {
  const target = request.url ?? '/';
  const mark = target.indexOf('?');
  if (mark === -1) return { path: target, token: null };
  return { path: target.slice(0, mark), token: new URLSearchParams(target.slice(mark + 1)).get('token') };
}

function decoded(text: string): string | null {
  try {
    return decodeURIComponent(text);
  } catch {
    return null;
  }
}

async function closeAll(server: Server, sockets: WebSocketServer): Promise<void> {
  for (const socket of sockets.clients) socket.close(1001);
  const closed = new Promise<void>((resolve) => server.close(() => resolve()));
  // A page that is gone answers no close: half a second, then by force.
  const force = setTimeout(() => {
    for (const socket of sockets.clients) socket.terminate();
    server.closeAllConnections();
  }, 500);
  server.closeIdleConnections();
  await closed;
  clearTimeout(force);
  sockets.close();
}
