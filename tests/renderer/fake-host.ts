import {
  CAUSES,
  Refusal,
  type Capture,
  type Comparison,
  type Entry,
  type EventName,
  type EventOf,
  type HostClient,
  type HostHandlers,
  type InputOf,
  type Mark,
  type MethodName,
  type OutputOf,
  type Stylus,
  type StylusDraft,
} from '../../shared/index.ts';

/** A host in memory, for the window's own tests. It keeps rows and measures nothing; what it answers is given to it. */
export type FakeHost = HostClient & {
  readonly rows: Rows;
  emit<E extends EventName>(name: E, event: EventOf<E>): void;
  /** The next call of a method fails with this. */
  failNext(method: MethodName, refusal: Refusal): void;
  readonly calls: { name: MethodName; input: unknown }[];
};
type Rows = {
  styluses: Stylus[];
  captures: Capture[];
  comparisons: Comparison[];
  entries: Entry[];
  marks: Mark[];
};

export const DRAFT: StylusDraft = {
  name: 'A stylus',
  cartridge: '',
  profile: '',
  deck: '',
  radiusUm: null,
  sideRadiusUm: null,
  ratedHours: null,
  startDate: null,
  startHours: 0,
  price: null,
  currency: '',
  limitUm: null,
  notes: '',
};

let made = 0;
const newId = (): string => `fake${String(++made).padStart(8, '0')}`;
const NOW = '2025-01-01T00:00:00Z';

export function stylusRow(part: Partial<Stylus> = {}): Stylus {
  return { ...DRAFT, id: newId(), createdAt: NOW, demo: false, binnedAt: null, retired: null, ...part };
}

export function captureRow(stylusId: string, part: Partial<Capture> = {}): Capture {
  return {
    id: newId(),
    stylusId,
    sha256: '0'.repeat(64),
    fileName: 'picture.png',
    mediaType: 'image/png',
    widthPx: 640,
    heightPx: 480,
    view: 'front',
    light: 'backlit',
    mirrored: null,
    taken: { wall: '2024-01-06', offset: null, source: 'person' },
    scale: { umPerPx: 1, standardUmPerPx: null, source: 'typed' },
    microscope: 'scope',
    camera: null,
    isBaseline: false,
    notes: '',
    createdAt: NOW,
    binnedAt: null,
    examination: null,
    cantilever: null,
    ...part,
  };
}

export function entryRow(stylusId: string, date: string, hours: number | null): Entry {
  const played =
    hours === null
      ? null
      : { amount: hours, unit: 'hours' as const, minutesPerSide: 22, hours, estimated: false };
  const kind = hours === null ? 'note' : 'playing';
  return { id: newId(), createdAt: NOW, binnedAt: null, stylusId, kind, date, played, text: '' };
}

export function comparisonRow(
  stylusId: string,
  baselineId: string,
  laterId: string,
  report: Comparison['report'],
  part: Partial<Comparison> = {},
): Comparison {
  const id = newId();
  const base = { id, stylusId, baselineId, laterId, createdAt: NOW, binnedAt: null };
  return { ...base, engineVersion: 'test', report, hoursAtLater: null, ...part };
}

/** `marks` may be left out by tests that have none. */
type PageRows = Omit<Rows, 'marks'> & Partial<Pick<Rows, 'marks'>>;

function rowOf<T extends { id: string }>(list: T[], id: string): T {
  const row = list.find((one) => one.id === id);
  if (row === undefined) throw new Refusal('not-found', 'This is not here.');
  return row;
}

export function pageOf(rows: PageRows, id: string): OutputOf<'stylus.page'> {
  const stylus = rows.styluses.find((row) => row.id === id);
  if (stylus === undefined) throw new Refusal('not-found', 'This stylus is not here.');
  const own = <T extends { stylusId: string; binnedAt: string | null }>(list: T[]): T[] =>
    list.filter((row) => row.stylusId === id && row.binnedAt === null);
  const entries = own(rows.entries);
  const hours = entries.reduce((sum, entry) => sum + (entry.played?.hours ?? 0), stylus.startHours ?? 0);
  return {
    stylus,
    captures: own(rows.captures),
    comparisons: own(rows.comparisons),
    entries,
    marks: own(rows.marks ?? []),
    habits: [],
    siblings: [],
    hoursNow: stylus.startHours === null ? null : hours,
  };
}

const notNeeded = (): never => {
  throw new Refusal('failed', 'The fake host does not do this.');
};

function handlersFor(rows: Rows, emit: FakeHost['emit']): HostHandlers {
  const changed = (stylusId: string | null): void => emit('changed', { stylusId });
  const find = (kind: InputOf<'bin.put'>['kind'], id: string): { binnedAt: string | null } => {
    const list = {
      stylus: rows.styluses,
      capture: rows.captures,
      comparison: rows.comparisons,
      entry: rows.entries,
      mark: rows.marks,
      habit: [],
      'scale-card': [],
      passage: [],
      recording: [],
      'sound-comparison': [],
      offer: [],
      study: [],
    };
    const row = list[kind].find((one) => one.id === id);
    if (row === undefined) throw new Refusal('not-found', 'It is not here.');
    return row;
  };
  return {
    'app.info': async () => ({
      shell: 'test',
      version: '0',
      engineVersion: 'test',
      collectionFolder: 'memory',
      demoPresent: rows.styluses.some((row) => row.demo),
      notices: [],
      canPrintPdf: false,
      canShowFolder: false,
      trouble: null,
      isCopy: false,
    }),
    'study.list': async () => ({ studies: [], counted: [], outdated: 0 }),
    'study.page': notNeeded,
    'study.create': notNeeded,
    'study.choose': notNeeded,
    'study.redo': notNeeded,
    'stylus.list': async () =>
      rows.styluses
        .filter((row) => row.binnedAt === null)
        .map((stylus) => {
          const page = pageOf(rows, stylus.id);
          const last = page.captures.at(-1);
          return {
            stylus,
            captureCount: page.captures.length,
            hoursNow: page.hoursNow,
            lastCapture: last?.taken ?? null,
            lastFlats: null,
            coverCaptureId: last?.id ?? null,
            confirmed: [],
          };
        }),
    'stylus.page': async ({ id }) => pageOf(rows, id),
    'stylus.open': async ({ id }) => ({ ...pageOf(rows, id), state: 'none', pieces: 0 }),
    'stylus.piece': async () => null,
    'stylus.renew': async () => null,
    'capture.known': async () =>
      rows.styluses
        .filter((row) => row.binnedAt === null)
        .map((stylus) => ({ stylus, captures: pageOf(rows, stylus.id).captures })),
    'capture.read': async ({ id }) => rowOf(rows.captures, id),
    'comparison.read': async ({ id }) => rowOf(rows.comparisons, id),
    'stylus.create': async (draft) => {
      const row = stylusRow(draft);
      rows.styluses.push(row);
      changed(null);
      return row;
    },
    'entry.add': async (draft) => {
      const row: Entry = { ...draft, id: newId(), createdAt: NOW, binnedAt: null };
      rows.entries.push(row);
      changed(draft.stylusId);
      return row;
    },
    'mark.list': async ({ stylusId }) => rows.marks.filter((row) => row.stylusId === stylusId),
    'mark.add': async ({ draft }) => {
      const row: Mark = { ...draft, id: newId(), createdAt: NOW, binnedAt: null };
      rows.marks.push(row);
      changed(draft.stylusId);
      return row;
    },
    'mark.update': async ({ id, draft }) => {
      const at = rows.marks.findIndex((row) => row.id === id);
      rows.marks[at] = { ...rows.marks[at], ...draft };
      changed(draft.stylusId);
      return rows.marks[at];
    },
    'bin.put': async ({ kind, id }) => {
      find(kind, id).binnedAt = NOW;
      changed(null);
      return {};
    },
    'bin.takeBack': async ({ kind, id }) => {
      find(kind, id).binnedAt = null;
      changed(null);
      return {};
    },
    'job.cancel': async () => ({}),
    'history.state': notNeeded,
    'history.undo': notNeeded,
    'history.redo': notNeeded,
    'stylus.update': notNeeded,
    'stylus.retire': notNeeded,
    'picture.offer': notNeeded,
    'picture.offerPixels': notNeeded,
    'picture.withdraw': notNeeded,
    'capture.add': notNeeded,
    'capture.addAll': notNeeded,
    'capture.update': notNeeded,
    'capture.picture': notNeeded,
    'capture.part': notNeeded,
    'capture.examine': notNeeded,
    'capture.cantilever': notNeeded,
    'comparison.run': notNeeded,
    'entry.update': notNeeded,
    'wear.course': notNeeded,
    'looks.list': notNeeded,
    'looks.calendar': notNeeded,
    'habit.add': notNeeded,
    'habit.update': notNeeded,
    'plays.read': notNeeded,
    'plays.import': notNeeded,
    'bin.list': notNeeded,
    'bin.empty': notNeeded,
    'stylus.export': notNeeded,
    'stylus.import': notNeeded,
    'keeping.status': notNeeded,
    'keeping.set': notNeeded,
    'keeping.check': notNeeded,
    'keeping.backUp': notNeeded,
    'keeping.export': notNeeded,
    'keeping.verify': notNeeded,
    'keeping.restore': notNeeded,
    'keeping.takeAsideBack': notNeeded,
    'keeping.lookInside': notNeeded,
    'keeping.leaveCopy': notNeeded,
    'keeping.keepSalvaged': notNeeded,
    'keeping.tryAgain': notNeeded,
    'keeping.showFolder': notNeeded,
    'demo.remove': notNeeded,
    'demo.add': notNeeded,
    'cleaning.judge': notNeeded,
    'scale.measure': notNeeded,
    'scale.cards': async () => [],
    'scale.keep': notNeeded,
    'scale.change': notNeeded,
    'picture.show': notNeeded,
    'listening.page': async () => ({
      passages: [],
      recordings: [],
      comparisons: [],
      takes: [],
      causes: CAUSES.map((cause) => ({ cause, answer: 'not-checked' as const, date: null, note: '' })),
    }),
    'advice.of': async () => ({
      outcome: 'cannot-tell' as const,
      sentence: 'Take a dated picture from the front, with a scale.',
      wall: null,
      wallInGroove: null,
      look: { date: '2024-01-01', overdue: false, why: 'There is no dated picture yet.' },
      steps: [],
      unknown: [],
      ruleOutFirst: [],
    }),
    'offer.list': async () => [],
    'passage.add': notNeeded,
    'passage.update': notNeeded,
    'cause.answer': notNeeded,
    'sound.offer': notNeeded,
    'sound.withdraw': notNeeded,
    'recording.add': notNeeded,
    'recording.measure': notNeeded,
    'recording.compare': notNeeded,
    'offer.page': notNeeded,
    'offer.create': notNeeded,
    'offer.update': notNeeded,
    'offer.html': notNeeded,
    'offer.pdf': notNeeded,
    'sheet.html': notNeeded,
    'sheet.pdf': notNeeded,
  };
}

type Step = { number: number; title: string; at: string; before: Rows; after: Rows };

/** The host's history, by snapshots: enough for the window, which only asks for steps and their names. */
function createSteps(rows: Rows) {
  let done: Step[] = [];
  let undone: Step[] = [];
  const named = (step: Step | undefined) =>
    step === undefined ? null : { number: step.number, title: step.title, at: step.at };
  const move = (way: 'undo' | 'redo') => {
    const step = way === 'undo' ? done.pop() : undone.pop();
    if (step === undefined)
      throw new Refusal('nothing-there', `There is nothing to ${way === 'undo' ? 'take back' : 'do again'}.`);
    (way === 'undo' ? undone : done).push(step);
    Object.assign(rows, structuredClone(way === 'undo' ? step.before : step.after));
    return { ...named(step)!, styluses: [], entryKind: null };
  };
  return {
    handlers: {
      'history.state': async () => ({ undo: named(done.at(-1)), redo: named(undone.at(-1)) }),
      'history.undo': async () => move('undo'),
      'history.redo': async () => move('redo'),
    },
    async recorded<T>(name: MethodName, work: () => Promise<T>): Promise<T> {
      const before = structuredClone(rows);
      const value = await work();
      const after = structuredClone(rows);
      if (!name.startsWith('history.') && JSON.stringify(before) !== JSON.stringify(after)) {
        done = [...done, { number: done.length + 1, title: name, at: NOW, before, after }];
        undone = [];
      }
      return value;
    },
  };
}

/** `over` replaces single methods, to let a test hold or refuse them. */
export function fakeHost(rows: Partial<Rows> = {}, over: Partial<HostHandlers> = {}): FakeHost {
  const kept: Rows = { styluses: [], captures: [], comparisons: [], entries: [], marks: [], ...rows };
  const listeners = new Map<EventName, Set<(event: never) => void>>();
  const emit: FakeHost['emit'] = (name, event) =>
    listeners.get(name)?.forEach((listener) => (listener as (event: unknown) => void)(event));
  const history = createSteps(kept);
  const handlers = { ...handlersFor(kept, emit), ...history.handlers, ...over };
  const failures = new Map<MethodName, Refusal>();
  const calls: FakeHost['calls'] = [];
  return {
    rows: kept,
    calls,
    emit,
    failNext: (method, refusal) => failures.set(method, refusal),
    async call<M extends MethodName>(name: M, input: InputOf<M>): Promise<OutputOf<M>> {
      calls.push({ name, input });
      const failure = failures.get(name);
      failures.delete(name);
      if (failure !== undefined) throw failure;
      // One table, one name: the compiler cannot follow that method and input belong together.
      const run = handlers[name] as unknown as (given: InputOf<M>) => Promise<OutputOf<M>>;
      return history.recorded(name, () => run(input));
    },
    on(name, listener) {
      const set = listeners.get(name) ?? new Set();
      listeners.set(name, set);
      set.add(listener);
      return () => set.delete(listener);
    },
  };
}
