import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { comparePair, type DecodedPicture } from '../../core/index.ts';
import { decodePicture } from '../../electron/host/pictures/decode.ts';
import type { PairFile } from './pictures.ts';
import { createEngine, type Engine } from '../../electron/host/engine.ts';
import { runCompare } from '../../electron/host/measure.ts';
import { median, memoryMb, quantile, root, runChild } from './measure.ts';
import { row, section, type Row, type Section } from './table.ts';

const workerFile = join(root, 'dist', 'host', 'engine-worker.js');
const LIMIT = { timeLimitMs: 120_000 };

const scaleOf = (umPerPx: number) => ({ umPerPx, standardUmPerPx: null });

const jobFor = (folder: string, pair: PairFile) => ({
  view: pair.view,
  baseline: { path: join(folder, pair.baseline) },
  later: { path: join(folder, pair.later) },
  baselineScale: scaleOf(pair.baselineScaleUmPerPx),
  laterScale: scaleOf(pair.laterScaleUmPerPx),
});

/** Processor time is the whole process's; nothing else runs in it meanwhile. */
type Timed = { readonly ms: number; readonly cpuMs: number; readonly ok: boolean };

async function timed(engine: Engine, folder: string, pair: PairFile): Promise<Timed> {
  const cpu = process.cpuUsage();
  const started = performance.now();
  const report = await runCompare(engine, jobFor(folder, pair), LIMIT);
  const ms = performance.now() - started;
  const used = process.cpuUsage(cpu);
  return { ms, cpuMs: (used.user + used.system) / 1000, ok: report.ok };
}

/** From a thread that is not started yet to the report. */
async function cold(folder: string, pairs: readonly PairFile[]): Promise<number[]> {
  const times: number[] = [];
  for (const pair of pairs) {
    const engine = createEngine({ workerFile, threads: 1 });
    times.push((await timed(engine, folder, pair)).ms);
    await engine.close();
  }
  return times;
}

/** In a thread that has measured `before` already. A refusal is quick and would flatter, so only answers count. */
async function warm(folder: string, before: readonly PairFile[], pairs: readonly PairFile[]) {
  const engine = createEngine({ workerFile, threads: 1 });
  const times: Timed[] = [];
  let refused = 0;
  for (const pair of before) await timed(engine, folder, pair);
  for (const pair of pairs) {
    const one = await timed(engine, folder, pair);
    if (one.ok) times.push(one);
    else refused++;
  }
  await engine.close();
  return { times, refused };
}

/** Milliseconds of every stage that the engine names, in this process, the decoder's share apart. */
export async function stagesOf(folder: string, pairs: readonly PairFile[]): Promise<Record<string, number>> {
  const all: Record<string, number[]> = {};
  const decoded = async (name: string): Promise<DecodedPicture> => {
    const picture = await decodePicture(new Uint8Array(readFileSync(join(folder, name))));
    if (!picture.ok) throw new Error(`bench: ${name}: ${picture.reason.message}`);
    return picture.value.picture;
  };
  for (const [i, pair] of pairs.entries()) {
    let at = performance.now();
    let stage = 'Decoding both pictures';
    const times: Record<string, number> = {};
    const turnTo = (next: string): void => {
      const now = performance.now();
      times[stage] = (times[stage] ?? 0) + now - at;
      [at, stage] = [now, next];
    };
    const baseline = await decoded(pair.baseline);
    const later = await decoded(pair.later);
    turnTo('Before the first stage');
    const scales = {
      baselineScale: scaleOf(pair.baselineScaleUmPerPx),
      laterScale: scaleOf(pair.laterScaleUmPerPx),
    };
    const control = { progress: turnTo, check: () => undefined, now: () => performance.now() };
    const report = await comparePair({ view: pair.view, baseline, later, ...scales }, control);
    turnTo('');
    // The first three warm the compiler up; a refused pair does not go through every stage.
    if (i < 3 || !report.ok) continue;
    for (const [name, ms] of Object.entries(times)) (all[name] ??= []).push(ms);
  }
  return Object.fromEntries(Object.entries(all).map(([name, values]) => [name, median(values)]));
}

/** Memory of the process after each comparison in its one measuring thread, MB. */
export async function memoryOver(
  folder: string,
  pairs: readonly PairFile[],
  times: number,
): Promise<number[]> {
  const engine = createEngine({ workerFile, threads: 1 });
  const found: number[] = [];
  for (let i = 0; i < times; i++) {
    await timed(engine, folder, pairs[i % pairs.length]);
    found.push(memoryMb() ?? NaN);
  }
  await engine.close();
  return found;
}

export type Sizes = { readonly small: readonly PairFile[]; readonly large: readonly PairFile[] };

export async function comparing(folder: string, { small, large }: Sizes): Promise<Section> {
  const rows: Row[] = [];
  for (const [size, pairs, bar] of [
    ['1.2 MP', small.slice(4, 28), 200],
    ['5 MP', large, 500],
  ] as const) {
    const coldTimes = await cold(folder, pairs.slice(0, 5));
    rows.push(row(`${size} pair, cold thread`, median(coldTimes), 'ms', { runs: coldTimes.length }));
    const { times, refused } = await warm(folder, small.slice(0, 4), pairs);
    const note = refused === 0 ? '' : `${refused} more were refused and do not count`;
    const runs = times.length;
    const wall = times.map(({ ms }) => ms);
    const cpu = times.map(({ cpuMs }) => cpuMs);
    rows.push(
      row(`${size} pair, warm thread`, median(wall), 'ms', { runs, atMost: bar, note }),
      row(`${size} pair, warm thread, 95th of 100`, quantile(wall, 0.95), 'ms', { runs }),
      row(`${size} pair, warm thread, processor time`, median(cpu), 'ms', { runs }),
    );
    const stages = await runChild('stages', {
      folder,
      pairs: [...small.slice(0, 3), ...pairs],
    });
    for (const [name, ms] of Object.entries(stages.value as Record<string, number>))
      if (ms >= 0.5) rows.push(row(`${size}: ${name}`, ms, 'ms', { runs: pairs.length, note: 'one stage' }));
  }
  return section(rows);
}

export async function growth(folder: string, { small }: Sizes): Promise<Section> {
  const times = 100;
  const { value: found, peakMb } = await runChild('growth', { folder, pairs: small, times });
  const value = found as number[];
  if (!value.every(Number.isFinite) || peakMb === null)
    return section([], ['memory growth: this system does not tell how much memory a process holds']);
  const before = median(value.slice(7, 10));
  const after = median(value.slice(-3));
  return section([
    row('memory after ten comparisons', before, 'MB', { note: 'whole process, one measuring thread' }),
    row(`memory after ${times} comparisons`, after, 'MB'),
    row('growth after the first ten', (100 * (after - before)) / before, '%', { atMost: 5 }),
    row('largest memory', peakMb, 'MB'),
  ]);
}
