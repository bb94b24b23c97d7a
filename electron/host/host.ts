import { Refusal, hostMethods } from '../../shared/index.ts';
import type { EventName, HostHandlers, HostReply, MethodName } from '../../shared/index.ts';
import type { Context, PdfPrinter } from './context.ts';
import { measurePending, offerDemo } from './demo.ts';
import { cleanText } from './clean.ts';
import { createEngine } from './engine.ts';
import { titleOf } from './gesture-titles.ts';
import { collectionHandlers } from './handlers/collection.ts';
import { historyHandlers } from './handlers/history.ts';
import { listeningHandlers } from './handlers/listening.ts';
import { markHandlers } from './handlers/marks.ts';
import { offerHandlers } from './handlers/offers.ts';
import { pictureHandlers } from './handlers/pictures.ts';
import { scaleHandlers } from './handlers/scales.ts';
import { playingHandlers } from './handlers/playing.ts';
import { sheetHandlers } from './handlers/sheet.ts';
import { wearHandlers } from './handlers/wear.ts';
import { createIncoming } from './incoming.ts';

import { createJobs } from './jobs.ts';
import { openCollection } from './store/collection.ts';
import type { Collection } from './store/collection.ts';
import { asGesture } from './store/gestures.ts';

export type HostListener = (name: EventName, event: unknown) => void;

/** The machine's side as every shell sees it: one way to call, one way to listen. */
export type Host = {
  readonly collectionFolder: string;
  /** Never rejects: whatever happens is a reply. */
  call(name: string, input: unknown): Promise<HostReply>;
  listen(listener: HostListener): () => void;
  /** Brings in the demo collection on the first run, then goes on with what is unmeasured in the background. */
  start(): Promise<void>;
  close(): Promise<void>;
};

export type HostOptions = {
  readonly folder: string;
  /** Named to whoever finds the collection in use. */
  readonly who: string;
  readonly shell: Context['shell'];
  readonly version: string;
  /** The built engine worker. */
  readonly workerFile: string;
  readonly printPdf: PdfPrinter | null;
  readonly demoFolder: string | null;
  readonly timeLimitMs?: number;
};

const DEFAULT_TIME_LIMIT_MS = 180_000;

export async function openHost(options: HostOptions): Promise<Host> {
  const collection = await openCollection({ folder: options.folder, who: options.who });
  return createHost(collection, options);
}

function createHost(collection: Collection, options: HostOptions): Host {
  const listeners = new Set<HostListener>();
  const emit: Context['emit'] = (name, event) => listeners.forEach((listener) => listener(name, event));
  const { workerFile, shell, version, printPdf, demoFolder } = options;
  const context: Context = {
    collection,
    measuring: createEngine({ workerFile, threads: 1 }),
    pictures: createEngine({ workerFile, threads: 1 }),
    jobs: createJobs(emit),
    emit,
    shell,
    version,
    printPdf,
    demoFolder,
    timeLimitMs: options.timeLimitMs ?? DEFAULT_TIME_LIMIT_MS,
  };
  const incoming = createIncoming(context);
  const handlers: HostHandlers = {
    ...collectionHandlers(context),
    ...pictureHandlers(context, incoming),
    ...markHandlers(context),
    ...listeningHandlers(context),
    ...offerHandlers(context),
    ...scaleHandlers(context, incoming),
    ...historyHandlers(context),
    ...sheetHandlers(context),
    ...wearHandlers(context),
    ...playingHandlers(context),
  };
  let background: Promise<void> = Promise.resolve();
  let closed = false;
  return {
    collectionFolder: collection.folder,
    call: async (name, input) => (closed ? goodbye : reply(handlers, name, input)),
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    async start() {
      await offerDemo(context).catch((error: unknown) => report('demo', error));
      background = measurePending(context);
    },
    async close() {
      if (closed) return;
      closed = true;
      context.jobs.cancelAll();
      await Promise.all([context.measuring.close(), context.pictures.close(), background]);
      collection.close();
    },
  };
}

const goodbye: HostReply = {
  ok: false,
  error: { code: 'closing', message: 'The program is closing. What was saved is safe.' },
};

const isMethod = (name: string): name is MethodName => Object.hasOwn(hostMethods, name);

/** Checks the input, runs, checks the output: neither side of the border believes the other. */
async function reply(handlers: HostHandlers, name: string, input: unknown): Promise<HostReply> {
  try {
    if (!isMethod(name)) throw new Refusal('no-such-method', 'The program has no such function.');
    const method = hostMethods[name];
    const shaped = method.input.safeParse(input);
    const read = shaped.success ? method.input.safeParse(cleanText(shaped.data)) : shaped;
    if (!read.success) throw badInput(read.error.issues[0]?.path ?? []);
    const handler = handlers[name] as (checked: unknown) => Promise<unknown>;
    const key = (read.data as { gesture?: string }).gesture ?? null;
    const value = await asGesture(titleOf(name), key, () => handler(read.data));
    return { ok: true, value: method.output.parse(value) };
  } catch (error) {
    return { ok: false, error: sentenceFor(name, error) };
  }
}

/** Names the place; what is wrong with it the window has told already, in its own words. */
function badInput(path: PropertyKey[]): Refusal {
  const where = path.length > 0 ? ` (${path.map(String).join('.')})` : '';
  return new Refusal(
    'bad-input',
    `Something that was entered cannot be used${where}. Correct it and try again.`,
  );
}

/** Programmers' words go to standard error, the person gets a sentence. */
function sentenceFor(name: string, error: unknown): { code: string; message: string } {
  if (error instanceof Refusal) return { code: error.code, message: error.message };
  report(name, error);
  const message = error instanceof Error ? error.message : String(error);
  const code = (error as NodeJS.ErrnoException | null)?.code;
  if (code === 'ENOSPC' || /database or disk is full/i.test(message))
    return { code: 'disk-full', message: 'The disk is full. Nothing was changed. Make room and try again.' };
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS' || /readonly database/i.test(message))
    return {
      code: 'not-writable',
      message: 'The collection cannot be written to. Nothing was changed. Check the rights of its folder.',
    };
  return {
    code: 'failed',
    message: 'Something in the program went wrong. Nothing was changed; try the same step again.',
  };
}

function report(what: string, error: unknown): void {
  const text = error instanceof Error ? (error.stack ?? error.message) : String(error);
  process.stderr.write(`host: ${what}: ${text}\n`);
}
