/**
 * Who may come in through the browser door. Loopback is no boundary: any page
 * in any browser on this machine can reach it, and DNS rebinding makes a
 * foreign name resolve to it. So, three checks:
 *
 * - Host header: exactly ours, with port. Defeats rebinding, on every request.
 * - Origin header: exactly ours, on the WebSocket upgrade. Defeats other pages.
 * - token: 256 random bits per start, for the WebSocket, the exports and
 *   `/door`. Defeats other programs and users of this machine.
 *
 * The token stands in the fragment of the printed address, which a browser
 * never sends; the page takes it from there and puts it into the query of the
 * requests that need it. The page's own files hold no secret and need none.
 */
import { randomBytes, timingSafeEqual } from 'node:crypto';

export interface DoorKey {
  readonly token: string;
  isOwnHost(host: string | undefined): boolean;
  isOwnOrigin(origin: string | undefined): boolean;
  isToken(presented: string | null): boolean;
  /** For the page's connect-src. */
  readonly webSocketOrigins: readonly string[];
}

export function createDoorKey(port: number): DoorKey {
  const token = randomBytes(32).toString('hex');
  const hosts = [`127.0.0.1:${port}`, `localhost:${port}`];
  return {
    token,
    isOwnHost: (host) => host !== undefined && hosts.includes(host),
    isOwnOrigin: (origin) => origin !== undefined && hosts.some((host) => origin === `http://${host}`),
    isToken: (presented) => presented !== null && isSame(presented, token),
    webSocketOrigins: hosts.map((host) => `ws://${host}`),
  };
}

/** In time that does not tell how much of it matched. */
function isSame(presented: string, expected: string): boolean {
  const a = Buffer.from(presented);
  const b = Buffer.from(expected);
  return a.length === b.length && timingSafeEqual(a, b);
}
