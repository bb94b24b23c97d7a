import { select } from '../fit/select.ts';
import type { Evaluation } from './capture-model.ts';
import type { Look, Part, Problem, Spread } from './problem.ts';

function relativeVariance(part: Part, k: number, model: number): number {
  const field = part.model.band.field[k] || 1;
  return part.floor + (1 - part.floor) * Math.min(1.5, Math.max(0, model / field));
}

/** Share of the inside in what a pixel shows, by its depth below the edge, um: 0 outside, 1 inside. */
const insideness = (t: number): number => Math.min(1, Math.max(0, 0.5 - t / 2));

/** Robust standard deviation of numbers of which only the sizes are known. */
function typical(sizes: Float64Array): number {
  const middle = sizes.length === 0 ? 1 : select(sizes, sizes.length >> 1);
  return Math.max(2e-4, 1.4826 * middle);
}

/**
 * Robust spread of normalised residuals outside and inside the edge. Outside there is camera noise; inside, textures
 * and reflections that the smooth interior leaves, which must not be weighed as if they were as well known.
 */
function spread(part: Part, residual: Float64Array, seen: Evaluation): Spread {
  const z = new Float64Array(residual.length);
  // those of the outside from the front, those of the inside from the back
  const sizes = new Float64Array(residual.length);
  let front = 0;
  let back = sizes.length;
  for (let k = 0; k < residual.length; k += 1)
    if (part.mask[k] > 0) {
      z[k] = residual[k] / Math.sqrt(relativeVariance(part, k, seen.model[k]));
      const size = Math.abs(z[k]);
      if (insideness(seen.t[k]) < 0.5) sizes[front++] = size;
      else sizes[--back] = size;
    }
  const outside = typical(sizes.subarray(0, front));
  const inside = typical(sizes.subarray(back));
  const spreads = { outside, inside: Math.max(inside, 0.8 * outside) };
  return { ...spreads, ...togetherness(part, z, seen, spreads) };
}

/** Size of a block in which residuals are summed, um, and at least so many pixels. */
const BLOCK_UM = 4.5;
const BLOCK_PX = 4;
const MOST_TOGETHER = 25;

/**
 * How many pixels of one kind err together: the variance of sums over small blocks, against what independent pixels
 * would give. Compression, colour mosaic, sharpening and textures correlate neighbours; without this the fit would
 * believe them too much, against the priors and in its covariance.
 */
function togetherness(
  part: Part,
  z: Float64Array,
  seen: Evaluation,
  spreads: { outside: number; inside: number },
): { outsideTogether: number; insideTogether: number } {
  const { band, umPerPx } = part.model;
  const block = Math.max(BLOCK_PX * umPerPx, BLOCK_UM);
  const columns = cellsOf(band.x, block);
  const rows = cellsOf(band.y, block);
  // by place and kind: which of the sums, 0 as long as nothing lies there
  const slots = new Int32Array(2 * columns.count * rows.count);
  const sums: number[] = [];
  const squares: number[] = [];
  const kinds: number[] = [];
  for (let k = 0; k < z.length; k++) {
    if (part.mask[k] === 0) continue;
    const kind = insideness(seen.t[k]) < 0.5 ? 0 : 1;
    const own = kind === 0 ? spreads.outside : spreads.inside;
    const value = Math.max(-3, Math.min(3, z[k] / own));
    const row = Math.floor(band.y[k] / block) - rows.first;
    const cell = 2 * (row * columns.count + Math.floor(band.x[k] / block) - columns.first) + kind;
    if (slots[cell] === 0) {
      slots[cell] = kinds.push(kind);
      sums.push(0);
      squares.push(0);
    }
    const slot = slots[cell] - 1;
    sums[slot] += value;
    squares[slot] += value * value;
  }
  const total = [0, 0];
  const alone = [0, 0];
  for (let i = 0; i < kinds.length; i++) {
    total[kinds[i]] += sums[i] * sums[i];
    alone[kinds[i]] += squares[i];
  }
  const [outsideTogether, insideTogether] = [0, 1].map((i) =>
    Math.min(MOST_TOGETHER, Math.max(1, alone[i] > 0 ? total[i] / alone[i] : 1)),
  );
  return { outsideTogether, insideTogether };
}

/** The blocks of a given length in which places lie. */
function cellsOf(places: Float64Array, block: number): { first: number; count: number } {
  let least = Infinity;
  let most = -Infinity;
  for (let k = 0; k < places.length; k++) {
    if (places[k] < least) least = places[k];
    if (places[k] > most) most = places[k];
  }
  const first = Math.floor(least / block);
  return places.length === 0
    ? { first: 0, count: 0 }
    : { first, count: Math.floor(most / block) - first + 1 };
}

/** Of every capture of a look. */
export function spreads(problem: Problem, { residuals, evaluations }: Look): Spread[] {
  return problem.parts.map((part, i) => spread(part, residuals[i], evaluations[i]));
}

/** Robust weights, 1/variance and what neighbours share included. */
export function weightsOf(
  problem: Problem,
  { residuals, evaluations }: Look,
  sigma: readonly Spread[],
): Float64Array[] {
  return problem.parts.map((part, i) => {
    const { outside, inside, outsideTogether, insideTogether } = sigma[i];
    const weights = new Float64Array(residuals[i].length);
    for (let k = 0; k < weights.length; k++) {
      if (part.mask[k] === 0) continue;
      const r = residuals[i][k];
      const q = insideness(evaluations[i].t[k]);
      const relative = relativeVariance(part, k, evaluations[i].model[k]);
      const v = relative * ((1 - q) * outside ** 2 + q * inside ** 2);
      const together = (1 - q) * outsideTogether + q * insideTogether;
      const z = (r * r) / v;
      // Huber up to 3 sigma, falling off beyond 6: specks and scratches lose their vote, noise keeps it.
      const w = z < 9 ? 1 : z < 36 ? 3 / Math.sqrt(z) : (3 * 6) / z;
      weights[k] = (part.mask[k] * w) / (v * together);
    }
    return weights;
  });
}
