import type { Evaluation } from './capture-model.ts';
import type { Look, Part, Problem, Spread } from './problem.ts';

function relativeVariance(part: Part, k: number, model: number): number {
  const field = part.model.band.field[k] || 1;
  return part.floor + (1 - part.floor) * Math.min(1.5, Math.max(0, model / field));
}

/** Share of the inside in what a pixel shows, by its depth below the edge, um: 0 outside, 1 inside. */
const insideness = (t: number): number => Math.min(1, Math.max(0, 0.5 - t / 2));

/**
 * Robust spread of normalised residuals outside and inside the edge. Outside there is camera noise; inside, textures
 * and reflections that the smooth interior leaves, which must not be weighed as if they were as well known.
 */
function spread(part: Part, residual: Float64Array, seen: Evaluation): Spread {
  const lists: [number[], number[]] = [[], []];
  const z = new Float64Array(residual.length);
  for (let k = 0; k < residual.length; k += 1)
    if (part.mask[k] > 0) {
      z[k] = residual[k] / Math.sqrt(relativeVariance(part, k, seen.model[k]));
      lists[insideness(seen.t[k]) < 0.5 ? 0 : 1].push(Math.abs(z[k]));
    }
  const [outside, inside] = lists.map((list) => {
    const sorted = Float64Array.from(list).sort();
    return Math.max(2e-4, 1.4826 * (sorted[sorted.length >> 1] ?? 1));
  });
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
  const sums = new Map<number, { sum: number; squares: number }>();
  for (let k = 0; k < z.length; k++) {
    if (part.mask[k] === 0) continue;
    const inside = insideness(seen.t[k]) < 0.5 ? 0 : 1;
    const own = inside === 0 ? spreads.outside : spreads.inside;
    const value = Math.max(-3, Math.min(3, z[k] / own));
    const cell = 2 * (Math.floor(band.y[k] / block) * 65536 + Math.floor(band.x[k] / block)) + inside;
    const at = sums.get(cell);
    if (at) {
      at.sum += value;
      at.squares += value * value;
    } else sums.set(cell, { sum: value, squares: value * value });
  }
  const total = [0, 0];
  const alone = [0, 0];
  for (const [cell, { sum, squares }] of sums) {
    total[cell & 1] += sum * sum;
    alone[cell & 1] += squares;
  }
  const [outsideTogether, insideTogether] = [0, 1].map((i) =>
    Math.min(MOST_TOGETHER, Math.max(1, alone[i] > 0 ? total[i] / alone[i] : 1)),
  );
  return { outsideTogether, insideTogether };
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
