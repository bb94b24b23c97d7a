import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { greyOfRgba } from '../../core/live/planes.ts';
import { poseSourceOf, readFrame } from '../../renderer/camera/reading.ts';
import { median, quantile, runChild } from './measure.ts';
import type { PairFile } from './pictures.ts';
import { row, section, type Row, type Section } from './table.ts';

/**
 * What the reading thread does with a live frame, outside of a page: RGBA to grey, the tip's place and sharpness, the
 * difference from the baseline's pose. The camera's own share is left out: it differs from one to the next.
 */
export type Live = {
  /** Frames in which the tip was read. */
  readonly read: number;
  readonly frames: number;
  readonly greyMs: readonly number[];
  readonly readMs: readonly number[];
  /** Processor time of both together. */
  readonly cpuMs: readonly number[];
};

/** The page looks no oftener (renderer/camera/reader.worker.ts). */
const MOST_A_SECOND = 1000 / 90;
const ROUNDS = 8;
const WARM = 2;

type Frame = { readonly width: number; readonly height: number; readonly rgba: Uint8Array };

async function frameOf(file: string): Promise<Frame> {
  const raw = await sharp(readFileSync(file))
    .ensureAlpha()
    .toColourspace('srgb')
    .raw()
    .toBuffer({ resolveWithObject: true });
  return { width: raw.info.width, height: raw.info.height, rgba: new Uint8Array(raw.data) };
}

const cpuSince = (before: NodeJS.CpuUsage): number => {
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
};

export async function liveOf(folder: string, pairs: readonly PairFile[]): Promise<Live> {
  const [greyMs, readMs, cpuMs]: [number[], number[], number[]] = [[], [], []];
  let read = 0;
  let frames = 0;
  for (const pair of pairs) {
    const first = await frameOf(join(folder, pair.baseline));
    const frame = await frameOf(join(folder, pair.later));
    const { width, height } = first;
    const grey = greyOfRgba(first.rgba, width, height);
    const baseline = poseSourceOf({ width, height, grey }, pair.baselineScaleUmPerPx);
    const greys = new Float32Array(width * height);
    for (let i = 0; i < ROUNDS; i++) {
      const cpu = process.cpuUsage();
      const at = performance.now();
      const plane = greyOfRgba(frame.rgba, width, height, greys);
      const turned = performance.now();
      const now = (): number => performance.now();
      const reading = readFrame({ width, height, grey: plane }, baseline, pair.laterScaleUmPerPx, now);
      const done = performance.now();
      if (i < WARM) continue;
      frames++;
      if (reading.ok) read++;
      greyMs.push(turned - at);
      readMs.push(done - turned);
      cpuMs.push(cpuSince(cpu));
    }
  }
  return { read, frames, greyMs, readMs, cpuMs };
}

function rowsOf(size: string, live: Live): Row[] {
  const runs = live.frames;
  const both = live.greyMs.map((ms, i) => ms + live.readMs[i]);
  const note = `${live.read} of ${live.frames} frames read, with the pose against a baseline`;
  return [
    row(`live frame of ${size}: to grey`, median(live.greyMs), 'ms', { runs }),
    row(`live frame of ${size}: pose and sharpness`, median(live.readMs), 'ms', { runs, note }),
    row(`live frame of ${size}: both`, median(both), 'ms', { runs }),
    row(`live frame of ${size}: both, 95th of 100`, quantile(both, 0.95), 'ms', { runs }),
    row(`live frame of ${size}: both, processor time`, median(live.cpuMs), 'ms', { runs }),
    row(`live frames of ${size} that could be read in a second`, 1000 / median(both), '', {
      runs,
      note: `the page asks for at most ${MOST_A_SECOND.toFixed(0)}`,
    }),
  ];
}

export async function live(
  folder: string,
  { small, large }: { readonly small: readonly PairFile[]; readonly large: readonly PairFile[] },
): Promise<Section> {
  const rows: Row[] = [];
  for (const [size, pairs] of [
    ['1.2 MP', small.slice(0, 6)],
    ['5 MP', large],
  ] as const)
    rows.push(...rowsOf(size, (await runChild('live', { folder, pairs })).value as Live));
  return section(rows);
}
