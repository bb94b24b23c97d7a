import { afterEach, describe, expect, it, vi } from 'vitest';
import { connectHost } from '../../renderer/host.ts';
import { decodeMessage, encodeMessage } from '../../shared/index.ts';

/** The one door to the machine's side, with the page's surroundings played by the test. */
function surround(hash: string, fetched: (url: string, init: RequestInit) => Promise<Response>) {
  const kept = new Map<string, string>();
  const location = { hash, pathname: '/', search: '' };
  vi.stubGlobal('location', location);
  vi.stubGlobal('history', {
    replaceState: (_state: unknown, _title: string, url: string) => {
      location.hash = url.slice(url.indexOf('#'));
    },
  });
  vi.stubGlobal('sessionStorage', {
    getItem: (key: string) => kept.get(key) ?? null,
    setItem: (key: string, value: string) => kept.set(key, value),
  });
  const fetch = vi.fn<typeof fetched>(fetched);
  vi.stubGlobal('fetch', fetch);
  return { kept, location, fetch };
}

const reply = (value: unknown, status = 200): Response =>
  new Response(encodeMessage(value) as Uint8Array<ArrayBuffer>, { status });

afterEach(() => {
  vi.unstubAllGlobals();
});

describe('the loopback client', () => {
  it('takes the token out of the address, keeps it for reloads and sends it in a header', async () => {
    const { kept, location, fetch } = surround('#token=abc_DEF-1', async () =>
      reply({ ok: true, value: [] }),
    );
    await connectHost().call('stylus.list', {});
    expect(location.hash).toBe('#/');
    expect([...kept.values()]).toEqual(['abc_DEF-1']);
    const [url, init] = fetch.mock.calls[0];
    expect(url).toBe('/api/stylus.list');
    expect(new Headers(init.headers).get('x-daybook-token')).toBe('abc_DEF-1');
    connectHost();
    expect([...kept.values()]).toEqual(['abc_DEF-1']);
  });

  it('carries bytes both ways', async () => {
    surround('', async (_url, init) => {
      const input = decodeMessage(init.body as Uint8Array) as { bytes: Uint8Array };
      return reply({ ok: true, value: { bytes: input.bytes.toReversed() } });
    });
    const back: unknown = await connectHost().call('picture.offer', {
      fileName: 'x',
      bytes: Uint8Array.of(1, 2, 3),
    });
    expect((back as { bytes: Uint8Array }).bytes).toEqual(Uint8Array.of(3, 2, 1));
  });

  it('hands a refusal over with code and sentence', async () => {
    surround('', async () => reply({ ok: false, error: { code: 'too-large', message: 'Too large.' } }));
    await expect(connectHost().call('stylus.list', {})).rejects.toMatchObject({
      name: 'Refusal',
      code: 'too-large',
      message: 'Too large.',
    });
  });

  it.each([
    ['a server that is gone', async () => Promise.reject(new TypeError('fetch failed')), 'host-away'],
    ['an answer cut short', async () => new Response(Uint8Array.of(9, 0, 0)), 'host-away'],
    ['a missing key', async () => new Response(null, { status: 403 }), 'not-let-in'],
  ])('says plainly what to do about %s', async (_what, answer, code) => {
    surround('', answer);
    const failure: unknown = await connectHost()
      .call('stylus.list', {})
      .catch((error: unknown) => error);
    expect(failure).toMatchObject({ name: 'Refusal', code });
    expect((failure as Error).message).toContain('tart Stylus Daybook again');
  });

  it('follows events over broken lines, and drops what is not in the contract', async () => {
    const lines =
      '\n{"name":"progress","event":{"jobId":"a","stage":"s","fraction":0.5}}\n{"name":"progress","event":{"jobId":1}}\n';
    surround('', async () => {
      const bytes = new TextEncoder().encode(lines);
      const body = new ReadableStream({
        start(controller) {
          controller.enqueue(bytes.slice(0, 20));
          controller.enqueue(bytes.slice(20));
        },
      });
      return new Response(body);
    });
    const heard: unknown[] = [];
    connectHost().on('progress', (event) => heard.push(event));
    await vi.waitFor(() => expect(heard).toEqual([{ jobId: 'a', stage: 's', fraction: 0.5 }]));
  });
});

describe('the preload’s client', () => {
  it('opens replies and passes bare values', async () => {
    const call = vi
      .fn<() => Promise<unknown>>()
      .mockResolvedValueOnce({ ok: true, value: [1] })
      .mockResolvedValueOnce({ ok: false, error: { code: 'busy', message: 'Busy.' } })
      .mockResolvedValueOnce([2]);
    vi.stubGlobal('daybookHost', { call, on: () => () => undefined });
    const host = connectHost();
    expect(await host.call('stylus.list', {})).toEqual([1]);
    await expect(host.call('stylus.list', {})).rejects.toMatchObject({ code: 'busy', message: 'Busy.' });
    expect(await host.call('stylus.list', {})).toEqual([2]);
  });
});
