import { toPicture } from './flanks.ts';
import { valueAt, type Plane } from './planes.ts';
import type { LightReading } from './reading.ts';

/**
 * How far a live frame is from the pose of an earlier picture of the same part. Everything hangs on the flanks, which
 * do not wear, so a worn tip is not pulled towards its worn look.
 */
export type PoseSource = {
  readonly width: number;
  readonly height: number;
  readonly reading: LightReading;
  /** um per pixel; null where it is not known. */
  readonly umPerPx: number | null;
  readonly look: Look;
};

/** The part above its tip zone, sampled in its own frame: field = 0, part about 1. */
export type Look = {
  readonly values: Float32Array;
  /** Variance that noise alone gives a sample. */
  readonly noise: number;
};

export type PoseDifference = {
  /** Live minus baseline, degrees, anticlockwise on screen positive, in (-180, 180]. */
  readonly rotationDeg: number;
  /** Where the tip lies minus where the baseline has it, pixels of the live frame, x right, y down. */
  readonly shiftXPx: number;
  readonly shiftYPx: number;
  /** Size of the part in the live frame over its size in the baseline, both as their scales say: 1 = as stated. */
  readonly scale: number;
  /** What carries the scale reading: the shank's width, or the tip's radius where a shank is missing. */
  readonly scaleFrom: 'shank' | 'radius';
  /** Root mean square difference of the looks beyond their noise, as a part of the contrast: 0 = the same view. */
  readonly view: number;
};

/** The looks' grid, in radii of the tip: above the tip zone, over the flanks and what is between them. */
const LOOK = { from: -7, to: -1.2, half: 4.2, step: 0.2 } as const;

/** Samples the part in its own frame. Places outside the picture are NaN. */
export function lookOf(plane: Plane, reading: LightReading): Look {
  const { flanks, part } = reading;
  const across = Math.round((2 * LOOK.half) / LOOK.step) + 1;
  const down = Math.round((LOOK.to - LOOK.from) / LOOK.step) + 1;
  const values = new Float32Array(across * down).fill(NaN);
  const contrast = Math.max(0.03, reading.contrast);
  const r = flanks.radiusPx;
  // Four readings a quarter of a step apart, so that a sample stands for its cell and noise falls.
  const quarter = (LOOK.step * r) / 4;
  for (let j = 0; j < down; j++)
    for (let i = 0; i < across; i++) {
      const u = (i * LOOK.step - LOOK.half) * r;
      const v = (LOOK.from + j * LOOK.step) * r;
      let sum = 0;
      let n = 0;
      for (const [du, dv] of CORNERS) {
        const [x, y] = toPicture(flanks, u + du * quarter, v + dv * quarter);
        if (x < 0 || y < 0 || x > plane.width - 1 || y > plane.height - 1) continue;
        sum += Math.abs(valueAt(plane, x, y) - part.field(x, y)) / contrast;
        n++;
      }
      if (n === CORNERS.length) values[j * across + i] = sum / n;
    }
  // Readings closer than a pixel share their noise.
  const independent = Math.min(CORNERS.length, Math.max(1, (2 * quarter) ** 2));
  return { values, noise: (reading.noise / contrast) ** 2 / independent };
}

const CORNERS = [
  [-1, -1],
  [1, -1],
  [-1, 1],
  [1, 1],
] as const;

const wrapped = (degrees: number): number => -((((180 - degrees) % 360) + 360) % 360) + 180;

/** Pixels of the live frame per pixel of the baseline: by the scales where both are known, else by the frames. */
export function framesRatio(baseline: PoseSource, live: Omit<PoseSource, 'look'>): number {
  if (baseline.umPerPx !== null && live.umPerPx !== null) return baseline.umPerPx / live.umPerPx;
  return live.width / baseline.width;
}

/** Where a place of the baseline lies in the live frame, when both frames are laid centre on centre. */
export function placeInLive(
  baseline: Pick<PoseSource, 'width' | 'height'>,
  live: Pick<PoseSource, 'width' | 'height'>,
  ratio: number,
  x: number,
  y: number,
): [number, number] {
  return [
    (live.width - 1) / 2 + ratio * (x - (baseline.width - 1) / 2),
    (live.height - 1) / 2 + ratio * (y - (baseline.height - 1) / 2),
  ];
}

export function poseDifference(baseline: PoseSource, live: PoseSource): PoseDifference {
  const ratio = framesRatio(baseline, live);
  const [from, to] = [baseline.reading, live.reading];
  const [x, y] = placeInLive(baseline, live, ratio, from.flanks.xPx, from.flanks.yPx);
  const shanks = [from.part.located.shankPx, to.part.located.shankPx];
  const byShank = shanks[0] !== null && shanks[1] !== null;
  const sizes = byShank ? (shanks as [number, number]) : [from.flanks.radiusPx, to.flanks.radiusPx];
  return {
    rotationDeg: wrapped(((to.flanks.rotation - from.flanks.rotation) * 180) / Math.PI),
    shiftXPx: to.flanks.xPx - x,
    shiftYPx: to.flanks.yPx - y,
    scale: sizes[1] / sizes[0] / ratio,
    scaleFrom: byShank ? 'shank' : 'radius',
    view: lookDifference(baseline.look, live.look),
  };
}

/** Root mean square difference beyond noise; 1 where the two have too little in common to be compared. */
function lookDifference(a: Look, b: Look): number {
  let sum = 0;
  let n = 0;
  for (let i = 0; i < a.values.length; i++) {
    const d = a.values[i] - b.values[i];
    if (!Number.isFinite(d)) continue;
    sum += d * d;
    n++;
  }
  if (n < a.values.length / 8) return 1;
  return Math.min(1, Math.sqrt(Math.max(0, sum / n - a.noise - b.noise)));
}
