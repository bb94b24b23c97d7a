import {
  decodeMessage,
  encodeMessage,
  Refusal,
  type EventName,
  type EventOf,
  type HostClient,
  type HostReply,
  type InputOf,
  type MethodName,
  type OutputOf,
} from '../shared/index.ts';
import type * as Events from './events.ts';

/**
 * The window's only way to the machine's side: the preload's object inside Electron, else the loopback server.
 * Whatever goes wrong on the way comes out as a Refusal with a sentence; nothing else is thrown.
 */
type Bridge = {
  call: (name: string, input: unknown) => Promise<unknown>;
  on: (name: string, listener: (event: unknown) => void) => () => void;
};
declare global {
  // Set by the preload script; absent in a browser window.
  var daybookHost: Bridge | undefined;
}

const TOKEN_KEY = 'daybook-token';
const LOST =
  'The part of the program that keeps the collection does not answer. What was saved is safe. Start Stylus Daybook again.';

/** A preload may hand over the reply as it came or the bare value; no method's value has an `ok` of its own. */
function isReply(value: unknown): value is HostReply {
  if (typeof value !== 'object' || value === null) return false;
  const reply = value as { ok?: unknown; error?: unknown };
  return (reply.ok === true && 'value' in reply) || (reply.ok === false && typeof reply.error === 'object');
}

function unwrap(reply: unknown): unknown {
  if (!isReply(reply)) return reply;
  if (reply.ok) return reply.value;
  throw new Refusal(reply.error.code, reply.error.message);
}

/** The sentence of any failure; programming errors keep their details in the console and out of the window. */
export function asRefusal(error: unknown): Refusal {
  if (error instanceof Refusal) return error;
  const shaped = error as { code?: unknown; message?: unknown } | null;
  if (typeof shaped?.code === 'string' && typeof shaped.message === 'string')
    return new Refusal(shaped.code, shaped.message);
  console.error(error);
  return new Refusal(
    'failed',
    'Something in the program went wrong. Nothing was lost; try the same step again.',
  );
}

function bridgeClient(bridge: Bridge): HostClient {
  return {
    async call<M extends MethodName>(name: M, input: InputOf<M>) {
      try {
        return unwrap(await bridge.call(name, input)) as OutputOf<M>;
      } catch (error) {
        throw asRefusal(error);
      }
    },
    on<E extends EventName>(name: E, listener: (event: EventOf<E>) => void) {
      return bridge.on(name, (event) => void deliver(name, event, listener));
    },
  };
}

let checks: Promise<typeof Events> | null = null;

/** Events keep their order: all of them wait for the same promise. */
async function deliver<E extends EventName>(
  name: E,
  event: unknown,
  listener: (event: EventOf<E>) => void,
): Promise<void> {
  checks ??= import('./events.ts');
  try {
    const { checkedEvent } = await checks;
    const checked = checkedEvent(name, event);
    if (checked !== null) listener(checked);
  } catch (error) {
    // Where the file could not be read, the next event tries again.
    checks = null;
    console.error(error);
  }
}

/** Takes the token out of the address bar, so that it is neither bookmarked nor shown. */
function takeToken(): string {
  const found = /(?:^#|&)token=([^&]+)/.exec(location.hash);
  if (!found) return sessionStorage.getItem(TOKEN_KEY) ?? '';
  sessionStorage.setItem(TOKEN_KEY, found[1]);
  history.replaceState(null, '', location.pathname + location.search + '#/');
  return found[1];
}

/**
 * Above this a body is handed over as a blob. Sending bytes as they are is work of the page's own thread: 150 to 280 ms
 * of processor time for a picture of 2 MB, in which the window did not answer; as a blob it is 20 to 30.
 */
const LARGE_BYTES = 65_536;

async function post(path: string, token: string, body: Uint8Array, signal?: AbortSignal): Promise<Response> {
  return fetch(path, {
    method: 'POST',
    headers: { 'x-daybook-token': token, 'content-type': 'application/octet-stream' },
    body: body.byteLength > LARGE_BYTES ? new Blob([body as BlobPart]) : (body as BodyInit),
    ...(signal ? { signal } : {}),
  });
}

const wait = (ms: number): Promise<void> =>
  new Promise((resolve) => {
    setTimeout(resolve, ms);
  });

/** Reads newline-delimited events for as long as the server lives, and asks again after a gap. */
async function followEvents(token: string, onLine: (name: string, event: unknown) => void): Promise<void> {
  for (let pause = 250; ; pause = Math.min(pause * 2, 5000)) {
    try {
      const response = await post('/api/events', token, encodeMessage({}));
      if (response.status === 403 || response.status === 401) return;
      if (response.ok && response.body) {
        pause = 250;
        await readLines(response.body, onLine);
      }
    } catch {
      // The server is away or closing; the calls themselves tell the person.
    }
    await wait(pause);
  }
}

async function readLines(
  body: ReadableStream<Uint8Array<ArrayBuffer>>,
  onLine: (name: string, event: unknown) => void,
): Promise<void> {
  const reader = body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    const lines = (rest + value).split('\n');
    rest = lines.pop() ?? '';
    for (const line of lines) {
      if (line.trim() === '') continue;
      const message = JSON.parse(line) as { name: string; event: unknown };
      onLine(message.name, message.event);
    }
  }
}

function loopbackClient(): HostClient {
  const token = takeToken();
  const listeners = new Map<string, Set<(event: unknown) => void>>();
  let following = false;
  return {
    async call<M extends MethodName>(name: M, input: InputOf<M>) {
      let reply: unknown;
      try {
        const response = await post(`/api/${name}`, token, encodeMessage(input));
        if (response.status === 401 || response.status === 403)
          throw new Refusal(
            'not-let-in',
            'This page has no key to the collection. Close it and start Stylus Daybook again; it opens a page of its own.',
          );
        reply = decodeMessage(new Uint8Array(await response.arrayBuffer()));
      } catch (error) {
        if (error instanceof Refusal) throw error;
        throw new Refusal('host-away', LOST);
      }
      return unwrap(reply) as OutputOf<M>;
    },
    on<E extends EventName>(name: E, listener: (event: EventOf<E>) => void) {
      const set = listeners.get(name) ?? new Set();
      listeners.set(name, set);
      const heard = (event: unknown): void => void deliver(name, event, listener);
      set.add(heard);
      if (!following) {
        following = true;
        void followEvents(token, (which, event) => listeners.get(which)?.forEach((hear) => hear(event)));
      }
      return () => set.delete(heard);
    },
  };
}

export function connectHost(): HostClient {
  return globalThis.daybookHost ? bridgeClient(globalThis.daybookHost) : loopbackClient();
}
