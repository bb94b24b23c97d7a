import type { CDPSession } from 'playwright-core';

/** What the page's own thread did, from Chromium's trace: in processor time, which other programs cannot lengthen. */
export type TraceEvent = {
  readonly name: string;
  readonly ph: string;
  readonly pid: number;
  readonly tid: number;
  readonly ts: number;
  readonly tts?: number;
  readonly dur?: number;
  readonly tdur?: number;
  readonly args?: { readonly name?: string };
};
export type Frames = { readonly count: number; readonly p95: number; readonly longestTask: number };

const SCRIPT = new Set(['FireAnimationFrame', 'EventDispatch', 'FunctionCall', 'TimerFire', 'RunMicrotasks']);
const TASKS = new Set(['RunTask', 'ThreadControllerImpl::RunTask']);

export async function traced(session: CDPSession, act: () => Promise<void>): Promise<TraceEvent[]> {
  const events: TraceEvent[] = [];
  const hear = ({ value }: { value: unknown[] }): void => void events.push(...(value as TraceEvent[]));
  session.on('Tracing.dataCollected', hear);
  await session.send('Tracing.start', {
    transferMode: 'ReportEvents',
    traceConfig: { includedCategories: ['devtools.timeline', 'toplevel'] },
  });
  await act();
  const complete = new Promise<void>((resolve) => {
    session.once('Tracing.tracingComplete', () => resolve());
  });
  await session.send('Tracing.end');
  await complete;
  session.off('Tracing.dataCollected', hear);
  return events;
}

/** Script per frame, milliseconds: what ran on the page's thread from one animation frame to the next. */
export function framesOf(events: readonly TraceEvent[]): Frames {
  const frame = events.find((event) => event.name === 'FireAnimationFrame');
  if (frame === undefined) throw new Error('framesOf: no frame was drawn');
  const own = events.filter(
    (event) => event.pid === frame.pid && event.tid === frame.tid && event.ph === 'X',
  );
  const start = (event: TraceEvent): number => event.tts ?? event.ts;
  const length = (event: TraceEvent): number => event.tdur ?? event.dur ?? 0;
  const starts = own
    .filter((event) => event.name === 'FireAnimationFrame')
    .map(start)
    .toSorted((a, b) => a - b);
  const spans: [number, number][] = [];
  for (const event of own.filter(({ name }) => SCRIPT.has(name)).toSorted((a, b) => start(a) - start(b))) {
    const [from, to] = [start(event), start(event) + length(event)];
    const last = spans.at(-1);
    if (last !== undefined && from <= last[1]) last[1] = Math.max(last[1], to);
    else spans.push([from, to]);
  }
  const script = starts.slice(0, -1).map((from, i) => {
    const until = starts[i + 1];
    const inside = ([a, b]: [number, number]): number => Math.max(0, Math.min(b, until) - Math.max(a, from));
    return spans.reduce((sum, span) => sum + inside(span), 0) / 1000;
  });
  const sorted = script.toSorted((a, b) => a - b);
  const tasks = own.filter(({ name }) => TASKS.has(name)).map((event) => length(event) / 1000);
  return {
    count: script.length,
    p95: sorted[Math.floor(0.95 * sorted.length)] ?? Infinity,
    longestTask: Math.max(0, ...tasks),
  };
}

export type Work = {
  /** Everything on the page's thread, milliseconds: script, style, layout, painting. */
  readonly all: number;
  readonly longestTask: number;
};

/** What a promise goes on with after a message came in is run outside any task of the trace. */
const PIECES = new Set([...TASKS, 'BlinkScheduler_PerformMicrotaskCheckpoint']);

/** What Chromium calls the thread of a page; its workers run script, too, on threads of their own. */
const PAGE_THREAD = 'CrRendererMain';

/** Everything that the page's thread did: the one of all pages' threads that fired most of the frames, timers and events. */
export function workOf(events: readonly TraceEvent[]): Work {
  const scripts = new Map<string, number>();
  const keyOf = ({ pid, tid }: TraceEvent): string => `${pid}/${tid}`;
  const pages = new Set(
    events.filter(({ ph, args }) => ph === 'M' && args?.name === PAGE_THREAD).map((event) => keyOf(event)),
  );
  for (const event of events)
    if (event.ph === 'X' && SCRIPT.has(event.name) && pages.has(keyOf(event)))
      scripts.set(keyOf(event), (scripts.get(keyOf(event)) ?? 0) + (event.tdur ?? 0));
  const page = [...scripts].toSorted((a, b) => b[1] - a[1]).at(0)?.[0];
  if (page === undefined) throw new Error('workOf: the page did nothing');
  const own = events
    .filter((event) => event.ph === 'X' && PIECES.has(event.name) && keyOf(event) === page)
    .toSorted((a, b) => a.ts - b.ts || (b.dur ?? 0) - (a.dur ?? 0));
  const outermost: TraceEvent[] = [];
  let until = -Infinity;
  for (const event of own) {
    if (event.ts < until) continue;
    outermost.push(event);
    until = event.ts + (event.dur ?? 0);
  }
  const times = outermost.map((event) => (event.tdur ?? event.dur ?? 0) / 1000);
  return { all: times.reduce((sum, ms) => sum + ms, 0), longestTask: Math.max(0, ...times) };
}
