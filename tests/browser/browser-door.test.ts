/** The browser door over real HTTP on loopback: who comes in, and under which headers. */
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { request as httpRequest, type IncomingHttpHeaders } from 'node:http';
import { connect as connectSocket, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { type BrowserDoor, openBrowserDoor } from '../../electron/browser/browser-door.ts';
import { contentSecurityPolicy } from '../../electron/page/content-policy.ts';
import type { HostCarrier, RendererMessage } from '../../shared-core/bridge/contract.ts';
import { decodeWire, encodeWire } from '../../shared-core/bridge/wire.ts';

let folder: string;
let door: BrowserDoor;
const connected: HostCarrier[] = [];
const received: RendererMessage[] = [];

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-door-'));
  mkdirSync(join(folder, 'page', 'assets'), { recursive: true });
  writeFileSync(join(folder, 'page', 'index.html'), '<!doctype html><title>Runstand</title>');
  writeFileSync(join(folder, 'page', 'assets', 'main-1a2b.js'), 'export {};');
  writeFileSync(join(folder, 'page', 'secret.txt'), 'not a kind that the page has');
  writeFileSync(join(folder, 'outside.js'), 'outside the page');
  symlinkSync(join(folder, 'outside.js'), join(folder, 'page', 'linked.js'));
  writeFileSync(join(folder, 'session 1.csv'), 'time_us,rpm\n');
  const opened = await openBrowserDoor({
    host: {
      connect(carrier) {
        connected.push(carrier);
        carrier.onMessage((message) => received.push(message));
        carrier.post({ type: 'hello', contract: 1, appVersion: 'test', door: 'browser', notice: '' });
      },
      exportPath: (name) => (name === 'session 1.csv' ? join(folder, name) : null),
    },
    pageFolder: join(folder, 'page'),
    httpPort: 0,
    log: () => {},
  });
  if (!opened.ok) throw new Error(opened.error);
  door = opened.value;
});

afterAll(async () => {
  await door.close();
  rmSync(folder, { recursive: true });
});

describe('given the page', () => {
  test('when it is asked for without a token, then it is served, uncached, under the policy', async () => {
    const answer = await get('/');
    expect(answer.status).toBe(200);
    expect(answer.body).toContain('Runstand');
    expect(answer.headers['content-type']).toBe('text/html; charset=utf-8');
    expect(answer.headers['cache-control']).toBe('no-store');
    expect(answer.headers['x-content-type-options']).toBe('nosniff');
    expect(answer.headers['referrer-policy']).toBe('no-referrer');
    expect(answer.headers['content-security-policy']).toBe(
      contentSecurityPolicy([`ws://127.0.0.1:${door.port}`, `ws://localhost:${door.port}`]),
    );
    // No answer may be read by another site's script.
    expect(answer.headers['access-control-allow-origin']).toBeUndefined();
  });

  test('when the policy is read, then it allows no inline script, no eval and no stranger', () => {
    const policy = contentSecurityPolicy([]);
    expect(policy).toMatch(/^default-src 'none'; script-src 'self'; style-src 'self';/);
    expect(policy).not.toMatch(/unsafe|\*|https?:/);
  });

  test('when a script is asked for, then it is served as one', async () => {
    const answer = await get('/assets/main-1a2b.js');
    expect(answer.status).toBe(200);
    expect(answer.headers['content-type']).toBe('text/javascript; charset=utf-8');
  });

  test.each([
    '/../outside.js',
    '/assets/../../outside.js',
    '/%2e%2e/outside.js',
    '/..%2foutside.js',
    '/assets/%2e%2e%2f%2e%2e%2foutside.js',
    '/%2e%2e%5coutside.js',
    '/..%5coutside.js',
    '/linked.js',
    '//outside.js',
    '/outside.js%00.html',
    '/%',
    '/secret.txt',
    '/assets',
    '/missing.js',
    '/C:/outside.js',
  ])('when %s is asked for, then nothing is served', async (path) => {
    const answer = await get(path);
    expect(answer.status).toBe(404);
    expect(answer.body).not.toContain('outside the page');
  });

  test('when something is posted, then it is refused', async () => {
    expect((await get('/', {}, 'POST')).status).toBe(405);
  });
});

describe('given a Host header', () => {
  test.each([
    { host: () => `127.0.0.1:${door.port}`, status: 200 },
    { host: () => `localhost:${door.port}`, status: 200 },
    // A rebound name, and names that begin or end like ours.
    { host: () => `evil.example:${door.port}`, status: 403 },
    { host: () => '127.0.0.1', status: 403 },
    { host: () => `127.0.0.1:${door.port + 1}`, status: 403 },
    { host: () => `127.0.0.1.evil.example:${door.port}`, status: 403 },
    { host: () => `localhost:${door.port}.evil.example`, status: 403 },
    { host: () => `127.0.0.2:${door.port}`, status: 403 },
  ])('when a request names it, then $status (case %#)', async ({ host, status }) => {
    expect((await get('/', { Host: host() })).status).toBe(status);
    const upgrade = await connect({ host: host() });
    expect(upgrade.status).toBe(status === 200 ? 101 : 403);
  });
});

test('given an old client that sends no Host at all, when it asks for the page, then 403', async () => {
  const answer = await new Promise<string>((resolve) => {
    let text = '';
    const socket = connectSocket(door.port, '127.0.0.1', () => socket.write('GET / HTTP/1.0\r\n\r\n'));
    socket.on('data', (chunk) => {
      text += chunk.toString();
    });
    socket.on('close', () => resolve(text));
  });
  expect(answer).toMatch(/^HTTP\/1\.1 403 /);
});

describe('given an upgrade to the bridge', () => {
  test('when Host, Origin and token are ours, then the page and the host talk', async () => {
    const { socket, first } = await connect({ keep: true });
    expect(first).toMatchObject({ type: 'hello', door: 'browser' });
    const credit: RendererMessage = { type: 'credit', stream: 'live', count: 3 };
    const before = received.length;
    socket?.send(encodeWire(credit));
    await expect.poll(() => received.length).toBe(before + 1);
    expect(received.at(-1)).toEqual(credit);
    socket?.terminate();
  });

  test.each([
    { what: 'no Origin', change: { origin: null } },
    { what: 'a foreign Origin', change: { origin: 'http://evil.example' } },
    { what: 'the Origin of a file', change: { origin: 'null' } },
    { what: 'our address by https', change: { origin: 'https://127.0.0.1:PORT' } },
    { what: 'an Origin that begins like ours', change: { origin: 'http://127.0.0.1:PORT.evil.example' } },
    { what: 'an Origin on another port', change: { origin: 'http://127.0.0.1:1' } },
  ])('when it has $what, then 403', async ({ change }) => {
    const origin = change.origin?.replace('PORT', String(door.port)) ?? null;
    expect((await connect({ origin })).status).toBe(403);
  });

  test.each([
    { what: 'no token', path: () => '/bridge' },
    { what: 'an empty token', path: () => '/bridge?token=' },
    { what: 'a wrong token of the right length', path: () => `/bridge?token=${'0'.repeat(64)}` },
    { what: 'a token cut short', path: () => `/bridge?token=${door.token.slice(0, 63)}` },
    { what: 'a token with more behind it', path: () => `/bridge?token=${door.token}0` },
    { what: 'a wrong token before the right one', path: () => `/bridge?token=x&token=${door.token}` },
  ])('when it has $what, then 401 and the host hears nothing', async ({ path }) => {
    const before = connected.length;
    expect((await connect({ path: path() })).status).toBe(401);
    expect(connected.length).toBe(before);
  });

  test('when it is for another path, then 404', async () => {
    expect((await connect({ path: `/other?token=${door.token}` })).status).toBe(404);
  });
});

describe('given an export', () => {
  test('when it is asked for with the token, then it is downloaded', async () => {
    const answer = await get(`/exports/session%201.csv?token=${door.token}`);
    expect(answer.status).toBe(200);
    expect(answer.body).toBe('time_us,rpm\n');
    expect(answer.headers['content-disposition']).toBe("attachment; filename*=UTF-8''session%201.csv");
    expect(answer.headers['cache-control']).toBe('no-store');
  });

  test.each(['', '?token=', `?token=${'f'.repeat(64)}`])('when it is asked for with "%s", then 401', async (query) => {
    const answer = await get(`/exports/session%201.csv${query}`);
    expect(answer.status).toBe(401);
    expect(answer.body).not.toContain('rpm');
  });

  test.each(['other.csv', '..%2foutside.js', '%2e%2e', '..', '%00', '%', ''])(
    'when "%s" is asked for, then 404',
    async (name) => {
      expect((await get(`/exports/${name}?token=${door.token}`)).status).toBe(404);
    },
  );
});

test('given the token, when the page asks whether it is right, then the door says so', async () => {
  expect((await get(`/door?token=${door.token}`)).status).toBe(204);
  expect((await get('/door?token=old')).status).toBe(401);
});

test('given the address to print, then the token stands in the fragment, which no browser sends', () => {
  expect(door.address).toBe(`http://127.0.0.1:${door.port}/#token=${door.token}`);
  expect(door.token).toMatch(/^[0-9a-f]{64}$/);
});

test('given two doors, then their tokens differ', async () => {
  const other = await openBrowserDoor(plain({ httpPort: 0 }));
  expect(other.ok && other.value.token !== door.token).toBe(true);
  if (other.ok) await other.value.close();
});

test('given a port that is taken, when it was asked for by number, then the sentence says so', async () => {
  const busy = createServer();
  await new Promise<void>((resolve) => busy.listen(0, '127.0.0.1', resolve));
  const { port } = busy.address() as { port: number };
  expect(await openBrowserDoor(plain({ httpPort: port }))).toEqual({
    ok: false,
    error: expect.stringMatching(/in use by another program/),
  });
  await new Promise((resolve) => busy.close(resolve));
});

test('given the usual port is taken, when none was asked for, then another is found', async () => {
  // Whoever holds it, we or another program on this machine: the second of two can never have it.
  const first = await openBrowserDoor(plain({ httpPort: null }));
  const second = await openBrowserDoor(plain({ httpPort: null }));
  expect(first.ok && second.ok && first.value.port !== second.value.port).toBe(true);
  for (const each of [first, second]) if (each.ok) await each.value.close();
});

test('given no built page, when the door is opened, then the sentence says how to build it', async () => {
  expect(await openBrowserDoor({ ...plain({ httpPort: 0 }), pageFolder: join(folder, 'nowhere') })).toEqual({
    ok: false,
    error: expect.stringMatching(/npm run build/),
  });
});

test('given an open page, when the door closes, then the page is told and the close ends', async () => {
  const own = await openBrowserDoor(plain({ httpPort: 0 }));
  if (!own.ok) throw new Error(own.error);
  const origin = `http://127.0.0.1:${own.value.port}`;
  const socket = new WebSocket(`${origin.replace('http', 'ws')}/bridge?token=${own.value.token}`, { origin });
  await new Promise<void>((resolve) => socket.on('open', () => resolve()));
  const told = new Promise<number>((resolve) => socket.on('close', resolve));
  await own.value.close();
  expect(await told).toBe(1001);
});

function plain({ httpPort }: { httpPort: number | null }) {
  return {
    host: { connect: () => {}, exportPath: () => null },
    pageFolder: join(folder, 'page'),
    httpPort,
    log: () => {},
  };
}

interface Answer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}

/** node:http, because fetch would tidy paths and set its own Host. */
function get(path: string, headers: Record<string, string> = {}, method = 'GET'): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const request = httpRequest({ host: '127.0.0.1', port: door.port, path, method, headers }, (response) => {
      let body = '';
      response.setEncoding('utf8');
      response.on('data', (chunk: string) => {
        body += chunk;
      });
      response.on('end', () => resolve({ status: response.statusCode ?? 0, headers: response.headers, body }));
    });
    request.on('error', reject);
    request.end();
  });
}

interface Upgrade {
  readonly path?: string;
  readonly origin?: string | null;
  readonly host?: string;
  readonly keep?: boolean;
}

/** Status of the upgrade; where it succeeded, the first message too. */
function connect(upgrade: Upgrade): Promise<{ status: number; first?: unknown; socket?: WebSocket }> {
  const {
    path = `/bridge?token=${door.token}`,
    origin = `http://127.0.0.1:${door.port}`,
    host,
    keep = false,
  } = upgrade;
  return new Promise((resolve) => {
    const socket = new WebSocket(`ws://127.0.0.1:${door.port}${path}`, {
      ...(origin === null ? {} : { origin }),
      ...(host === undefined ? {} : { headers: { Host: host } }),
    });
    socket.on('unexpected-response', (request, response) => {
      request.destroy();
      resolve({ status: response.statusCode ?? 0 });
    });
    socket.on('error', () => {});
    socket.on('message', (data: Buffer) => {
      const message = decodeWire(data);
      if (!keep) socket.terminate();
      resolve({ status: 101, first: message.ok ? message.value : null, socket });
    });
  });
}
