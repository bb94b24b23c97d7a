import { availableParallelism, totalmem } from 'node:os';
import { createEngine } from '../host/engine.ts';
import type { Engine } from '../host/engine.ts';
import type { WorkerAhead } from '../host/engine-start.ts';
import { refusedReport, runCantilever, runCompare, runExamine } from '../host/measure.ts';
import { runSlide } from '../host/slide.ts';
import { HELP, UsageError, commandOf } from './arguments.ts';
import type { Command, PairRequest, SlideRequest } from './arguments.ts';
import { readPairs } from './pairs.ts';
import { textOf } from './text.ts';
import type { AnyReport, ReportKind } from './text.ts';

export type Streams = { readonly out: NodeJS.WritableStream; readonly err: NodeJS.WritableStream };
type Measured = Exclude<Command, { name: 'help' }>;

/** Memory that a measuring thread may come to hold with the largest pictures. */
const THREAD_BYTES = 2 ** 31;
/** A thread for each core, as far as the memory reaches. */
const threadsFor = (command: Measured): number =>
  command.name === 'compare-batch'
    ? Math.max(1, Math.min(availableParallelism(), Math.floor(totalmem() / THREAD_BYTES)))
    : 1;

/** What a batch may grow by while one of its jobs runs: the others' pictures count too. */
const GROWTH_MB_PER_THREAD = 1_280;

function withId<R extends AnyReport>(report: R, id: string | undefined): R {
  if (id === undefined) return report;
  const { ok, ...rest } = report;
  return { ok, ...rest, id } as R;
}

function line(report: AnyReport, json: boolean, kind: ReportKind): string {
  return json ? `${JSON.stringify(report)}\n` : textOf(report, kind);
}

const write = (stream: NodeJS.WritableStream, text: string): Promise<void> =>
  new Promise((done) => stream.write(text, () => done()));

async function comparePair(engine: Engine, pair: PairRequest, timeLimitMs: number): Promise<AnyReport> {
  const { id, view, baselineScale, laterScale, repeatability } = pair;
  const job = {
    view,
    baseline: { path: pair.baseline },
    later: { path: pair.later },
    baselineScale,
    laterScale,
    ...(repeatability && { baselineRepeatability: repeatability, laterRepeatability: repeatability }),
  };
  try {
    return withId(await runCompare(engine, job, { timeLimitMs }), id);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    return withId(refusedReport({ code: 'failed', message: `The comparison broke down: ${message}.` }), id);
  }
}

async function slideReport(engine: Engine, slide: SlideRequest, timeLimitMs: number): Promise<AnyReport> {
  const { id, image, turned, pitchUm, pitchRelativeStandard } = slide;
  const job = (path: string) => ({ picture: { path }, pitchUm, pitchRelativeStandard });
  if (turned === null) return withId(await runSlide(engine, job(image), null, { timeLimitMs }), id);
  const other = await runSlide(engine, job(turned), null, { timeLimitMs });
  if (!other.ok) {
    const { code, message } = other.reason;
    return withId({ ...other, reason: { code, message: `The turned picture: ${message}` } }, id);
  }
  const against = {
    umPerPx: other.scaleUmPerPx.value,
    standardUmPerPx: other.standardUmPerPx,
    acrossDeg: other.acrossDeg,
  };
  return withId(await runSlide(engine, job(image), against, { timeLimitMs }), id);
}

/** Measures with all threads, writes in the order of the input, each line as soon as its turn has come. */
async function batch(
  engine: Engine,
  command: Extract<Measured, { name: 'compare-batch' }>,
  out: NodeJS.WritableStream,
) {
  const pairs = await readPairs(command.pairsFile);
  const { repeatability, timeLimitMs } = command;
  const started: Promise<AnyReport>[] = pairs.map((pair) =>
    comparePair(engine, repeatability ? { ...pair, repeatability } : pair, timeLimitMs),
  );
  for (const report of started) await write(out, line(await report, command.json, 'compare'));
  return 0;
}

async function single(
  engine: Engine,
  command: Exclude<Measured, { name: 'compare-batch' }>,
): Promise<AnyReport> {
  const { timeLimitMs } = command;
  if (command.name === 'compare') return comparePair(engine, command.pair, timeLimitMs);
  if (command.name === 'scale') return slideReport(engine, command.slide, timeLimitMs);
  const { id, view, image, scale, otherLight, line: given, repeatability } = command.single;
  const other = otherLight === undefined ? {} : { otherLight: { path: otherLight } };
  const job = {
    view,
    picture: { path: image },
    scale,
    ...other,
    ...(given ? { line: given } : {}),
    ...(repeatability ? { repeatability } : {}),
  };
  const run = command.name === 'examine' ? runExamine : runCantilever;
  return withId(await run(engine, job, { timeLimitMs }), id);
}

async function measure(
  command: Measured,
  workerFile: string,
  ahead: WorkerAhead | undefined,
  out: NodeJS.WritableStream,
): Promise<number> {
  const threads = threadsFor(command);
  const limits = { growthMb: GROWTH_MB_PER_THREAD * Math.max(2, threads) };
  const engine = createEngine({ workerFile, threads, limits, ahead });
  try {
    if (command.name === 'compare-batch') return await batch(engine, command, out);
    const report = await single(engine, command);
    await write(out, line(report, command.json, command.name));
    return report.ok ? 0 : 1;
  } finally {
    await engine.close();
  }
}

/** Runs one command and returns its exit status: 0 answered, 1 refused, 2 wrong usage or an unreadable pairs file. */
export async function runDaybook(
  args: string[],
  streams: Streams,
  workerFile: string,
  ahead?: WorkerAhead,
): Promise<number> {
  // A reader that closed early (… | head) is no failure of ours.
  streams.out.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit(0);
  });
  try {
    if (args[0] === 'collection') {
      const { COLLECTION_HELP, runCollection } = await import('./collection.ts');
      if (!args.includes('--help') && !args.includes('-h'))
        return await runCollection(args.slice(1), streams, workerFile);
      await write(streams.out, COLLECTION_HELP);
      return 0;
    }
    const command = commandOf(args);
    if (command.name !== 'help') return await measure(command, workerFile, ahead, streams.out);
    await write(streams.out, HELP);
    return 0;
  } catch (error) {
    if (!(error instanceof UsageError)) throw error;
    await write(streams.err, `daybook: ${error.message}\nSee: npm run --silent daybook -- --help\n`);
    return 2;
  }
}
