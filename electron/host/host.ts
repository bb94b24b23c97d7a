import { Refusal, hostMethods } from '../../shared/index.ts';
import type { EventName, HostHandlers, HostReply, MethodName, Trouble } from '../../shared/index.ts';
import type { Context, PdfPrinter } from './context.ts';
import { createCalm } from './calm.ts';
import { measurePending, offerDemo } from './demo.ts';
import { cleanText } from './clean.ts';
import { createEngine } from './engine.ts';
import { titleOf } from './gesture-titles.ts';
import { cleaningHandlers } from './handlers/cleaning.ts';
import { collectionHandlers } from './handlers/collection.ts';
import { infoHandlers } from './handlers/info.ts';
import { keepingHandlers } from './handlers/keeping.ts';
import { historyHandlers } from './handlers/history.ts';
import { listeningHandlers } from './handlers/listening.ts';
import { markHandlers } from './handlers/marks.ts';
import { offerHandlers } from './handlers/offers.ts';
import { pictureHandlers } from './handlers/pictures.ts';
import { scaleHandlers } from './handlers/scales.ts';
import { studyHandlers } from './handlers/studies.ts';
import { playingHandlers } from './handlers/playing.ts';
import { sheetHandlers } from './handlers/sheet.ts';
import { wearHandlers } from './handlers/wear.ts';
import { createIncoming } from './incoming.ts';

import { createJobs } from './jobs.ts';
import { createKeeper } from './keeper.ts';
import type { Seat } from './keeper.ts';
import { holdFolder } from './store/hold.ts';
import type { Hold } from './store/hold.ts';
import { tendCollection } from './tend.ts';
import { checkedOnce } from './store/checked.ts';
import { asGesture } from './store/gestures.ts';

export type HostListener = (name: EventName, event: unknown) => void;

/** The machine's side as every shell sees it: one way to call, one way to listen. */
export type Host = {
  readonly collectionFolder: string;
  /** Never rejects: whatever happens is a reply. */
  call(name: string, input: unknown): Promise<HostReply>;
  listen(listener: HostListener): () => void;
  /**
   * Brings in the demo collection on the first run; in the background goes on with what is unmeasured and looks after
   * the collection.
   */
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
  /** Opens a folder in the system's file manager; null where there is none. */
  readonly showFolder?: ((path: string) => Promise<void>) | null;
};

const DEFAULT_TIME_LIMIT_MS = 180_000;
/** The address is given out and the window's start begun by then. */
const SHELF_AFTER_MS = 100;
/** Calls that wait for a calm moment themselves. */
const STEPS_BACK = new Set<string>(['looks.list', 'looks.calendar'] satisfies MethodName[]);

/** Rejects only when somebody else has the collection open; whatever else is wrong with it, the window says. */
export async function openHost(options: HostOptions): Promise<Host> {
  return openHostOn(await holdFolder(options.folder, options.who), options);
}

/** The same on a folder that is held already; lets it go when it cannot be done. */
export async function openHostOn(hold: Hold, options: Omit<HostOptions, 'folder' | 'who'>): Promise<Host> {
  try {
    return await createHost(hold, options);
  } catch (error) {
    hold.release();
    throw error;
  }
}

/** Answered also without an open collection. */
type AlwaysNames = keyof ReturnType<typeof infoHandlers> | keyof ReturnType<typeof keepingHandlers>;
type OnCollection = Omit<HostHandlers, AlwaysNames>;
type Present = { readonly context: Context; readonly handlers: OnCollection };

/** Everything that works on an open collection; made anew when another one is opened. */
export function handlersFor(context: Context): OnCollection {
  const incoming = createIncoming(context);
  return {
    ...collectionHandlers(context),
    ...pictureHandlers(context, incoming),
    ...markHandlers(context),
    ...listeningHandlers(context),
    ...offerHandlers(context),
    ...scaleHandlers(context, incoming),
    ...studyHandlers(context),
    ...cleaningHandlers(context),
    ...historyHandlers(context),
    ...sheetHandlers(context),
    ...wearHandlers(context),
    ...playingHandlers(context),
  };
}

async function createHost(hold: Hold, options: Omit<HostOptions, 'folder' | 'who'>): Promise<Host> {
  const listeners = new Set<HostListener>();
  const emit: Context['emit'] = (name, event) => listeners.forEach((listener) => listener(name, event));
  const { workerFile, shell, version, printPdf, demoFolder, showFolder = null } = options;
  const base: Omit<Context, 'collection'> = {
    measuring: createEngine({ workerFile, threads: 1 }),
    pictures: createEngine({ workerFile, threads: 1 }),
    jobs: createJobs(emit),
    calm: createCalm(),
    emit,
    shell,
    version,
    printPdf,
    demoFolder,
    timeLimitMs: options.timeLimitMs ?? DEFAULT_TIME_LIMIT_MS,
  };
  let background: Promise<unknown> = Promise.resolve();
  let present: Present | null = null;
  let tended: Context | null = null;
  const stopWork = async () => {
    base.jobs.cancelAll();
    await background;
  };
  const settle = ({ collection }: Seat) => {
    const context = collection === null ? null : { ...base, collection };
    present = context === null ? null : { context, handlers: handlersFor(context) };
    emit('changed', { stylusId: null });
  };
  const keeper = await createKeeper(hold, { before: stopWork, after: settle });
  settle(keeper.seat());
  const always = {
    ...infoHandlers({ ...base, keeper, showFolder }),
    ...keepingHandlers({ ...base, keeper, showFolder }),
  };
  const call = async (name: string, input: unknown): Promise<HostReply> => {
    const { trouble, isCopy } = keeper.seat();
    const answer = await reply({ ...present?.handlers, ...always }, trouble, name, input);
    return isCopy && !answer.ok && answer.error.code === 'not-writable' ? onlyACopy : answer;
  };
  let closed = false;
  let shelf: ReturnType<typeof setTimeout> | undefined;
  const readShelf = async (): Promise<void> => {
    await call('app.info', {});
    await call('stylus.list', {});
  };
  return {
    collectionFolder: hold.folder,
    call: async (name, input) => {
      if (closed) return goodbye;
      return STEPS_BACK.has(name) ? call(name, input) : base.calm.during(() => call(name, input));
    },
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    async start() {
      if (present === null) return;
      const { context } = present;
      await offerDemo(context).catch((error: unknown) => report('demo', error));
      // Asked again, it goes on with what is unmeasured; the backup that waits is waiting already.
      const more = tended === context ? [] : [tendCollection(context)];
      tended = context;
      background = Promise.all([background, measurePending(context), ...more]);
      // While the window itself starts: it asks for the shelf first, and finds it read.
      shelf ??= setTimeout(() => void readShelf(), SHELF_AFTER_MS);
    },
    async close() {
      if (closed) return;
      closed = true;
      clearTimeout(shelf);
      base.calm.end();
      base.jobs.cancelAll();
      await Promise.all([base.measuring.close(), base.pictures.close(), background]);
      keeper.close();
    },
  };
}

const onlyACopy: HostReply = {
  ok: false,
  error: {
    code: 'only-a-copy',
    message:
      'This is what could still be read, for looking only. Nothing was changed. Take a backup back, or go on with what is here.',
  },
};

const goodbye: HostReply = {
  ok: false,
  error: { code: 'closing', message: 'The program is closing. What was saved is safe.' },
};

const isMethod = (name: string): name is MethodName => Object.hasOwn(hostMethods, name);

/** Checks the input, runs, checks the output: neither side of the border believes the other. */
async function reply(
  handlers: Partial<HostHandlers>,
  trouble: Trouble | null,
  name: string,
  input: unknown,
): Promise<HostReply> {
  try {
    if (!isMethod(name)) throw new Refusal('no-such-method', 'The program has no such function.');
    const method = hostMethods[name];
    const shaped = method.input.safeParse(input);
    const read = shaped.success ? method.input.safeParse(cleanText(shaped.data)) : shaped;
    if (!read.success) throw badInput(read.error.issues[0]?.path ?? []);
    const handler = handlers[name] as ((checked: unknown) => Promise<unknown>) | undefined;
    if (handler === undefined) throw noHandler(name, trouble);
    const key = (read.data as { gesture?: string }).gesture ?? null;
    const value = await asGesture(titleOf(name, read.data), key, () => handler(read.data));
    return { ok: true, value: checkedOnce<unknown>(method.output, value) };
  } catch (error) {
    return { ok: false, error: sentenceFor(name, error) };
  }
}

/** Without an open collection most of the table has nobody behind it. */
function noHandler(name: string, trouble: Trouble | null): Error {
  return trouble === null
    ? new Error(`nobody answers to ${name}`)
    : new Refusal(trouble.code, trouble.message);
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
