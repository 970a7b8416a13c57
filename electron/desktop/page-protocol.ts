/** `app://runstand/…`: the built page for the desktop window, with the same policy as in a browser. */
import { readFile } from 'node:fs/promises';
import { pageHeaders } from '../page/content-policy.ts';
import { findPageFile } from '../page/page-files.ts';
import { PAGE_HOST } from './navigation-policy.ts';

/** For `protocol.handle`. The desktop's page connects nowhere: its bridge is a port. */
export async function answerPageRequest(pageFolder: string, request: Request): Promise<Response> {
  const headers = pageHeaders([]);
  const { host, pathname } = new URL(request.url);
  const file = host === PAGE_HOST && request.method === 'GET' ? await findPageFile(pageFolder, pathname) : null;
  if (file === null) return new Response('There is nothing at this address.\n', { status: 404, headers });
  return new Response(new Uint8Array(await readFile(file.path)), {
    headers: { ...headers, 'Content-Type': file.contentType, 'Cache-Control': file.cacheControl },
  });
}
