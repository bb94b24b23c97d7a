import { timingSafeEqual } from 'node:crypto';
import type { IncomingMessage } from 'node:http';

/**
 * Who may talk to the server. The Host check comes before anything else: a page whose name was rebound to 127.0.0.1
 * sends its own name there, and no Origin with a plain GET.
 */
export type Verdict = { readonly status: number; readonly reason: string } | null;

const forbidden = (reason: string): Verdict => ({ status: 403, reason });

function values(request: IncomingMessage, name: string): string[] {
  const found: string[] = [];
  for (let i = 0; i < request.rawHeaders.length; i += 2)
    if (request.rawHeaders[i]?.toLowerCase() === name) found.push(request.rawHeaders[i + 1] ?? '');
  return found;
}

export function checkHost(request: IncomingMessage, port: number): Verdict {
  const hosts = values(request, 'host');
  const exact = hosts.length === 1 && hosts[0] === `127.0.0.1:${port}`;
  return exact ? null : forbidden('This server answers to its own address only.');
}

export function checkOrigin(request: IncomingMessage, port: number): Verdict {
  const origins = values(request, 'origin');
  const own = origins.every((origin) => origin === `http://127.0.0.1:${port}`);
  if (!own || origins.length > 1) return forbidden('Other pages are not let in.');
  const sites = values(request, 'sec-fetch-site');
  const foreign = sites.some((site) => site !== 'same-origin' && site !== 'none');
  // A plain visit from elsewhere may load the page itself (it holds no secret) but must not reach the functions.
  if (foreign && request.url?.startsWith('/api/')) return forbidden('Other pages are not let in.');
  return null;
}

export function checkToken(request: IncomingMessage, token: string): Verdict {
  const given = values(request, 'x-daybook-token');
  const a = Buffer.from(given.length === 1 ? (given[0] ?? '') : '');
  const b = Buffer.from(token);
  const same = a.byteLength === b.byteLength && timingSafeEqual(a, b);
  return same ? null : { status: 401, reason: 'The key is missing or wrong.' };
}
