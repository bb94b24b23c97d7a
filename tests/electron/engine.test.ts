import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { createEngine, type Engine, type JobOptions } from '../../electron/host/engine.ts';
import { runExamine } from '../../electron/host/measure.ts';
import { buildHost, picture, temporaryFolder, workerFile } from './support.ts';

/** A thread that does what the job's path says, instead of measuring. */
const PUPPET = `
import { parentPort, workerData } from 'node:worker_threads';
const flag = new Int32Array(workerData.cancelFlag);
let served = 0;
parentPort.on('message', ({ number, input }) => {
  const what = input.picture.path;
  const done = (value, spoilt = false) => parentPort.postMessage({ number, type: 'done', output: { ok: true, value }, spoilt });
  served++;
  if (what === 'count') return done({ served });
  if (what === 'spoil') return done({ served }, true);
  if (what === 'crash') throw new Error('as planned');
  if (what === 'exit') process.exit(7);
  if (what === 'print') { console.log('noise'); process.stdout.write('more noise'); return done({}); }
  if (what === 'hang') for (;;) {}
  if (what === 'heap') for (const held = []; ; ) held.push(new Array(1e5).fill(held.length));
  if (what === 'pictures') for (const held = []; ; ) held.push(Buffer.alloc(2e7, held.length + 1));
  if (what === 'obey') {
    parentPort.postMessage({ number, type: 'progress', stage: 'Working', fraction: 0.5 });
    while (Atomics.load(flag, 0) === 0);
    return parentPort.postMessage({ number, type: 'cancelled' });
  }
});
`;

function puppet(threads = 1, limits = {}): Engine {
  const file = join(temporaryFolder(), 'puppet.mjs');
  writeFileSync(file, PUPPET);
  const engine = createEngine({ workerFile: file, threads, limits });
  onTestFinished(() => engine.close());
  return engine;
}

const job = (path: string) => ({ view: 'front' as const, picture: { path }, scale: null });
const run = (engine: Engine, what: string, options = {}) =>
  engine.run('examine', job(what), { timeLimitMs: 10_000, ...options });

describe('the measuring threads', () => {
  it('are kept while they behave and replaced after anything that may have spoilt them', async () => {
    const engine = puppet();
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 1 } });
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 2 } });
    expect(await run(engine, 'spoil')).toMatchObject({ value: { served: 3 } });
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 1 } });
  });

  it.each(['crash', 'exit'])('turn a %s into a refusal and go on', async (what) => {
    const engine = puppet();
    expect(await run(engine, what)).toMatchObject({ ok: false, reason: { code: 'failed' } });
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 1 } });
  });

  it('are ended when the time is up', async () => {
    const engine = puppet();
    const started = performance.now();
    const outcome = await run(engine, 'hang', { timeLimitMs: 300 });
    expect(outcome).toMatchObject({ ok: false, reason: { code: 'timed-out' } });
    expect(performance.now() - started).toBeLessThan(5_000);
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 1 } });
  });

  it.each([
    ['heap', { heapMb: 64 }],
    ['pictures', { growthMb: 400 }],
  ])('are ended and replaced when they take too much memory: %s', async (what, limits) => {
    const engine = puppet(1, limits);
    const before = process.memoryUsage.rss();
    const outcome = await run(engine, what, { timeLimitMs: 60_000 });
    expect(outcome).toMatchObject({ ok: false, reason: { code: 'failed' } });
    expect(outcome.ok ? '' : outcome.reason.message).toContain('more memory than measuring may use');
    expect(process.memoryUsage.rss() - before).toBeLessThan(2e9);
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 1 } });
  });

  it('follow a cancel by flag, and keep running afterwards', async () => {
    const engine = puppet();
    const controller = new AbortController();
    const stages: string[] = [];
    const onProgress = (stage: string) => {
      stages.push(stage);
      controller.abort();
    };
    await expect(run(engine, 'obey', { signal: controller.signal, onProgress })).rejects.toThrow('cancelled');
    expect(stages).toEqual(['Working']);
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 2 } });
  });

  it('are ended when they do not follow it', async () => {
    const engine = puppet();
    const controller = new AbortController();
    const cancelled = run(engine, 'hang', { signal: controller.signal });
    setTimeout(() => controller.abort(), 100);
    await expect(cancelled).rejects.toThrow('cancelled');
    expect(await run(engine, 'count')).toMatchObject({ value: { served: 1 } });
  });

  it('give up a job that still waits', async () => {
    const engine = puppet();
    const controller = new AbortController();
    const first = run(engine, 'hang', { timeLimitMs: 500 });
    const second = run(engine, 'count', { signal: controller.signal });
    controller.abort();
    await expect(second).rejects.toThrow('cancelled');
    expect(await first).toMatchObject({ ok: false });
  });

  it('take up what may wait after everything else', async () => {
    const engine = puppet();
    const order: string[] = [];
    const after = async (name: string, options: Partial<JobOptions> = {}) => {
      await run(engine, 'count', options);
      order.push(name);
    };
    await Promise.all([
      after('running'),
      after('may wait', { afterOthers: true }),
      after('may wait, too', { afterOthers: true }),
      after('first'),
      after('second'),
    ]);
    expect(order).toEqual(['running', 'first', 'second', 'may wait', 'may wait, too']);
  });

  it('end with the program, and what was running is cancelled, not answered', async () => {
    const engine = puppet();
    const running = run(engine, 'hang');
    const waiting = run(engine, 'count');
    const both = Promise.allSettled([running, waiting]);
    await engine.close();
    expect((await both).map((result) => result.status)).toEqual(['rejected', 'rejected']);
  });

  it('believe no answer of the wrong shape', async () => {
    const report = await runExamine(puppet(), job('count'), { timeLimitMs: 10_000 });
    expect(report).toMatchObject({ ok: false, reason: { code: 'failed' } });
  });
});

describe('the built thread', () => {
  beforeAll(buildHost);

  it('refuses what is no picture and shrinks what is one', async () => {
    const engine = createEngine({ workerFile, threads: 1 });
    onTestFinished(() => engine.close());
    const limit = { timeLimitMs: 20_000 };
    const bad = { source: { bytes: new Uint8Array([1, 2, 3]) }, maxEdgePx: 100 };
    expect(await engine.run('show', bad, limit)).toMatchObject({
      ok: false,
      reason: { code: 'unreadable-image' },
    });
    const good = { source: { bytes: await picture() }, maxEdgePx: 16 };
    expect(await engine.run('show', good, limit)).toMatchObject({
      ok: true,
      value: { widthPx: 16, heightPx: 12 },
    });
  });
});
