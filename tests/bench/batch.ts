import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { availableParallelism } from 'node:os';
import type { ComparisonReport } from '../../shared/index.ts';
import { median, node, root, runProcess, type Ran } from './measure.ts';
import { row, section, type Row, type Section } from './table.ts';

const PYTHON = '/usr/bin/python3';

const daybook = (...args: string[]): Promise<Ran> =>
  runProcess(...node(join(root, 'electron', 'daybook.mjs'), ...args));

const native = (pairs: string, processes: number): Promise<Ran> =>
  runProcess(PYTHON, [join(root, 'tests', 'bench', 'native.py'), pairs, String(processes)]);

const linesOf = <T>(ran: Ran): T[] =>
  ran.out
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as T);

type Native = {
  id: string;
  laterUm: { left: number; right: number };
  rotationDeg: number;
  steps: Record<string, number>;
};

async function whyNoNative(): Promise<string | null> {
  if (!existsSync(PYTHON)) return `${PYTHON} is not there`;
  const probe = await runProcess(PYTHON, ['-c', 'import cv2, skimage, scipy']);
  return probe.status === 0 ? null : 'OpenCV, scikit-image or SciPy is not installed for it';
}

function checkedLines<T>(ran: Ran, count: number, who: string): T[] {
  const lines = linesOf<T>(ran);
  if (ran.status !== 0 || lines.length !== count)
    throw new Error(
      `bench: ${who} gave ${lines.length} of ${count} answers (status ${ran.status})\n${ran.err.slice(-2000)}`,
    );
  return lines;
}

/** That the yardstick does the same work: how far its widths and turns lie from the program's. */
function agreement(ours: readonly ComparisonReport[], theirs: readonly Native[]): Row[] {
  const widths: number[] = [];
  const turns: number[] = [];
  for (const report of ours) {
    const other = theirs.find((one) => one.id === report.id);
    if (!report.ok || other === undefined) continue;
    const { left, right } = report.flats;
    widths.push(Math.abs(left.laterUm.value - other.laterUm.left));
    widths.push(Math.abs(right.laterUm.value - other.laterUm.right));
    turns.push(Math.abs(report.registration.rotationDeg - other.rotationDeg));
  }
  const note = 'that both do the same work; no statement on who is right';
  return [
    row('program and native, width of a flat apart', median(widths), 'µm', { runs: widths.length, note }),
    row('program and native, rotation apart', median(turns), '°', { runs: turns.length, note }),
  ];
}

/** Whole processes in turn, so that a busy minute hits all of them. */
export async function batch(smallFile: string, count: number, runs: number): Promise<Section> {
  const why = await whyNoNative();
  const cores = Math.min(2, availableParallelism());
  const ours: Ran[] = [];
  const plain: Ran[] = [];
  const spread: Ran[] = [];
  for (let i = 0; i < runs; i++) {
    ours.push(await daybook('compare', '--pairs', smallFile, '--json'));
    if (why !== null) continue;
    plain.push(await native(smallFile, 1));
    spread.push(await native(smallFile, cores));
  }
  const reports = checkedLines<ComparisonReport>(ours[0], count, 'the program');
  const time = (runs: readonly Ran[]): number => median(runs.map((ran) => ran.ms));
  const cpu = (runs: readonly Ran[]): number => median(runs.map((ran) => ran.cpuMs ?? NaN));
  const memory = (runs: readonly Ran[]): number => Math.max(...runs.map((ran) => ran.peakMb ?? NaN));
  const rows = [
    row(`batch of ${count} pairs of 1.2 MP`, time(ours) / 1000, 's', {
      runs,
      note: `whole process; ${reports.filter((report) => !report.ok).length} refused`,
    }),
    row('the same, processor time', cpu(ours) / 1000, 's', { runs }),
    row('the same, largest memory', memory(ours), 'MB'),
  ];
  if (why !== null) return section(rows, [`the ratios against a native pipeline: ${why}`]);
  const theirs = checkedLines<Native>(plain[0], count, 'the native pipeline');
  rows.push(
    row('native, one process', time(plain) / 1000, 's', { runs, note: 'OpenCV uses the cores as it likes' }),
    row(`native, ${cores} processes`, time(spread) / 1000, 's', { runs }),
    row('native, one process, processor time', cpu(plain) / 1000, 's', { runs }),
    row('native, largest memory', memory(plain), 'MB'),
    row('ratio to native, one process', time(ours) / time(plain), '', { runs, atMost: 1 }),
    row('ratio of processor times, one process', cpu(ours) / cpu(plain), '', {
      runs,
      note: 'what else the machine did hardly matters',
    }),
    row(`ratio to native, ${cores} processes`, time(ours) / time(spread), '', { runs }),
  );
  for (const name of Object.keys(theirs[0].steps))
    rows.push(
      row(`native: ${name}`, median(theirs.map((one) => one.steps[name])), 'ms', {
        runs: theirs.length,
        note: 'of one pair',
      }),
    );
  return section([...rows, ...agreement(reports, theirs)]);
}

/** `daybook compare` on one pair, from the command to its end. */
export async function commandLine(
  folder: string,
  pair: {
    baseline: string;
    later: string;
    baselineScaleUmPerPx: number;
    laterScaleUmPerPx: number;
  },
  runs: number,
): Promise<Section> {
  const args = ['compare', '--view', 'front', '--json', '--baseline', join(folder, pair.baseline)];
  args.push('--baseline-scale', String(pair.baselineScaleUmPerPx), '--later', join(folder, pair.later));
  args.push('--later-scale', String(pair.laterScaleUmPerPx));
  const ran: Ran[] = [];
  for (let i = 0; i < runs; i++) ran.push(await daybook(...args));
  const failed = ran.find((one) => one.status !== 0);
  if (failed) throw new Error(`bench: the command line ended with ${failed.status}\n${failed.err}`);
  return section([
    row('one pair of 1.2 MP, whole process', median(ran.map((one) => one.ms)) / 1000, 's', {
      runs: ran.length,
      atMost: 1.2,
    }),
    row('the same, processor time', median(ran.map((one) => one.cpuMs ?? NaN)) / 1000, 's', { runs }),
    row('the same, largest memory', Math.max(...ran.map((one) => one.peakMb ?? NaN)), 'MB'),
  ]);
}
