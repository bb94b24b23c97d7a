import { factorFor, greyOfRgba, reduceBy, valueAt, type Plane } from '../live/planes.ts';
import { compose, IN_PLACE, inverse, leftBetween, placementOf, type Placement } from './align.ts';
import { energyOf, spreadEnergy, type Energy } from './energy.ts';

/**
 * Several focal planes merged into one picture: laid over each other, then at each place mostly the plane that is
 * sharpest there. Weights are a high power of the neighbourhood's energy, so planes change over smoothly, and where
 * nothing is to be seen all planes count alike and their noise averages.
 */
export type MergeInput = {
  readonly width: number;
  readonly height: number;
  /** RGBA, rows from the top. */
  readonly planes: readonly Uint8Array[];
};
export type Merged = {
  readonly rgba: Uint8Array<ArrayBuffer>;
  /** Number of the plane that the others were laid over. */
  readonly reference: number;
  /** Root mean square of what was left between planes and reference, pixels. */
  readonly alignmentPx: number;
  /** Largest change of size against the reference, relative. */
  readonly sizeChange: number;
  /** Share of the picture that each plane gave, 0..1. */
  readonly shares: readonly number[];
};

const ALIGN_EDGE_PX = 640;
/** An edge half as wide again as the sharpest has two thirds of its energy, and so counts less than a hundredth. */
const POWER = 14;
/** A plane that gives less than this at a place is left out there. */
const LEAST = 0.01;

/** `progress` gets 0..1 between the steps and may throw to stop the work. */
export function mergePlanes(
  { width, height, planes }: MergeInput,
  progress: (fraction: number) => void = () => undefined,
): Merged {
  if (planes.length < 2) throw new RangeError('mergePlanes: two planes at least');
  const factor = factorFor(width, height, ALIGN_EDGE_PX);
  const small: Plane[] = [];
  const energies: Energy[] = [];
  const reach = Math.max(8, Math.round(Math.max(width, height) / 100));
  planes.forEach((rgba, k) => {
    const grey = greyOfRgba(rgba, width, height);
    small.push(reduceBy(grey, factor));
    energies.push(spreadEnergy(energyOf(grey), reach));
    progress((0.25 * (k + 1)) / planes.length);
  });
  const reference = sharpest(energies);
  const placements = placeAll(small, energies, reference, factor, (f) => progress(0.25 + 0.35 * f));
  const left = small.map((plane, k) =>
    k === reference ? 0 : leftBetween(small[reference], placedSmall(plane, placements[k], factor), factor),
  );
  const others = left.filter((_, k) => k !== reference);
  const weights = weightsOf(energies, placements);
  progress(0.65);
  const rgba = blend(width, height, planes, placements, weights, energies[0], (f) =>
    progress(0.65 + 0.35 * f),
  );
  return {
    rgba,
    reference,
    alignmentPx: Math.sqrt(others.reduce((sum, px) => sum + px * px, 0) / others.length),
    sizeChange: Math.max(...placements.map((one) => Math.abs(one.zoom))),
    shares: weights.map((w) => w.reduce((sum, v) => sum + v, 0) / w.length),
  };
}

/**
 * From neighbour to neighbour, in the order in which they were taken: two neighbours are sharp in nearly the same
 * places, and only where they are equally sharp are they compared. A blurred corner lies elsewhere than a sharp one.
 */
function placeAll(
  small: readonly Plane[],
  energies: readonly Energy[],
  reference: number,
  factor: number,
  progress: (fraction: number) => void,
): Placement[] {
  const steps = small.slice(1).map((plane, k) => {
    progress(k / small.length);
    const [a, b] = [energies[k], energies[k + 1]];
    const alike = (x: number, y: number): number => {
      const gx = ((x + 0.5) * factor) / a.block - 0.5;
      const gy = ((y + 0.5) * factor) / a.block - 0.5;
      const [ea, eb] = [valueAt(a, gx, gy), valueAt(b, gx, gy)];
      return (Math.min(ea, eb) / Math.max(ea, eb, 1e-12)) ** 2;
    };
    return placementOf(small[k], plane, factor, alike);
  });
  const placements: Placement[] = small.map(() => IN_PLACE);
  for (let k = reference + 1; k < small.length; k++) placements[k] = compose(placements[k - 1], steps[k - 1]);
  for (let k = reference - 1; k >= 0; k--) placements[k] = compose(placements[k + 1], inverse(steps[k]));
  return placements;
}

/** The plane with the most places in which it is the sharpest. */
function sharpest(energies: readonly Energy[]): number {
  const wins = energies.map(() => 0);
  for (let i = 0; i < energies[0].data.length; i++) {
    let best = 0;
    for (let k = 1; k < energies.length; k++) if (energies[k].data[i] > energies[best].data[i]) best = k;
    // Counted by what there is to see, else the empty field would decide.
    wins[best] += energies[best].data[i];
  }
  return wins.indexOf(Math.max(...wins));
}

/** Where a place of the reference lies in a plane. */
const inPlane = (p: Placement, at: number, middle: number, shift: number): number =>
  middle + (1 + p.zoom) * (at - middle) + shift;

function placedSmall(plane: Plane, p: Placement, factor: number): Plane {
  const { width, height } = plane;
  const data = new Float32Array(width * height);
  const cx = (width - 1) / 2;
  const cy = (height - 1) / 2;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++)
      data[y * width + x] = valueAt(
        plane,
        inPlane(p, x, cx, p.dx / factor),
        inPlane(p, y, cy, p.dy / factor),
      );
  return { width, height, data };
}

/** Weights on the energies' grid, in the reference's places; they sum to 1 at each place. */
function weightsOf(energies: readonly Energy[], placements: readonly Placement[]): Float32Array[] {
  const { width, height, block } = energies[0];
  const weights = energies.map(() => new Float32Array(width * height));
  const cx = (width - 1) / 2;
  const cy = (height - 1) / 2;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      let top = 0;
      energies.forEach((energy, k) => {
        const p = placements[k];
        const e = valueAt(energy, inPlane(p, x, cx, p.dx / block), inPlane(p, y, cy, p.dy / block));
        weights[k][i] = e;
        top = Math.max(top, e);
      });
      let sum = 0;
      for (const w of weights) {
        w[i] = top > 0 ? (w[i] / top) ** POWER : 1;
        sum += w[i];
      }
      for (const w of weights) w[i] /= sum;
    }
  return weights;
}

/** Catmull-Rom kernel: passes through the samples, so resampling costs hardly any sharpness. */
function cubic(t: number, out: Float64Array): void {
  const t2 = t * t;
  const t3 = t2 * t;
  out[0] = -0.5 * t3 + t2 - 0.5 * t;
  out[1] = 1.5 * t3 - 2.5 * t2 + 1;
  out[2] = -1.5 * t3 + 2 * t2 + 0.5 * t;
  out[3] = 0.5 * t3 - 0.5 * t2;
}

function blend(
  width: number,
  height: number,
  planes: readonly Uint8Array[],
  placements: readonly Placement[],
  weights: readonly Float32Array[],
  grid: Energy,
  progress: (fraction: number) => void,
): Uint8Array<ArrayBuffer> {
  const out = new Uint8ClampedArray(4 * width * height);
  const maps = weights.map((data) => ({ width: grid.width, height: grid.height, data }));
  const cx = (width - 1) / 2;
  const cy = (height - 1) / 2;
  const wx = new Float64Array(4);
  const wy = new Float64Array(4);
  const sums = new Float64Array(3);
  for (let y = 0; y < height; y++) {
    if (y % 64 === 0) progress(y / height);
    const gy = (y + 0.5) / grid.block - 0.5;
    for (let x = 0; x < width; x++) {
      const gx = (x + 0.5) / grid.block - 0.5;
      sums.fill(0);
      let total = 0;
      for (let k = 0; k < planes.length; k++) {
        const weight = valueAt(maps[k], gx, gy);
        if (weight < LEAST) continue;
        total += weight;
        sample(planes[k], width, height, placements[k], x, y, cx, cy, weight, sums, wx, wy);
      }
      const i = 4 * (y * width + x);
      for (let c = 0; c < 3; c++) out[i + c] = sums[c] / total;
      out[i + 3] = 255;
    }
  }
  return new Uint8Array(out.buffer);
}

/** Adds weight x the plane's colour at the place of (x, y) to `sums`. */
function sample(
  rgba: Uint8Array,
  width: number,
  height: number,
  p: Placement,
  x: number,
  y: number,
  cx: number,
  cy: number,
  weight: number,
  sums: Float64Array,
  wx: Float64Array,
  wy: Float64Array,
): void {
  if (p === IN_PLACE) {
    const i = 4 * (y * width + x);
    for (let c = 0; c < 3; c++) sums[c] += weight * rgba[i + c];
    return;
  }
  const px = inPlane(p, x, cx, p.dx);
  const py = inPlane(p, y, cy, p.dy);
  const x0 = Math.floor(px);
  const y0 = Math.floor(py);
  cubic(px - x0, wx);
  cubic(py - y0, wy);
  for (let j = 0; j < 4; j++) {
    const row = Math.min(height - 1, Math.max(0, y0 - 1 + j)) * width;
    for (let i = 0; i < 4; i++) {
      const at = 4 * (row + Math.min(width - 1, Math.max(0, x0 - 1 + i)));
      const w = weight * wx[i] * wy[j];
      sums[0] += w * rgba[at];
      sums[1] += w * rgba[at + 1];
      sums[2] += w * rgba[at + 2];
    }
  }
}
