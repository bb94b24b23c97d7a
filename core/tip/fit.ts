import { invertBlock, solveSymmetric } from '../fit/normal-equations.ts';
import { gatherer } from './gather.ts';
import { evaluateCapture, INTERIOR, kindsOf, type CaptureModel, type Evaluation } from './capture-model.ts';

/**
 * Weighted least squares over one or several captures that share parameters. Each capture maps its local parameters
 * to global ones; priors are independent Gaussians on linear combinations of global parameters.
 */
export type Prior = {
  readonly terms: readonly [number, number][];
  readonly value: number;
  readonly sd: number;
};
export type Part = {
  readonly model: CaptureModel;
  /** Global index of each local parameter. */
  readonly map: Int32Array;
  /** Pixel weights 0..1 from masks (chip, residue) set by the caller. */
  readonly mask: Float64Array;
  /** Variance of a pixel relative to the field's: v = floor + (1 - floor) * grey/field. */
  readonly floor: number;
};
export type Problem = {
  readonly parts: readonly Part[];
  readonly size: number;
  readonly priors: readonly Prior[];
  readonly lower: Float64Array;
  readonly upper: Float64Array;
};
export type Spread = {
  readonly outside: number;
  readonly inside: number;
  /** Variance of sums over blocks of neighbours, over that of independent pixels; 1 or more. */
  readonly outsideTogether: number;
  readonly insideTogether: number;
};
export type Fitted = {
  readonly p: Float64Array;
  /** Covariance scaled with the residuals, size x size. */
  readonly covariance: Float64Array;
  readonly evaluations: readonly Evaluation[];
  /** Robust standard deviation of the residuals per part, in grey of a pixel at the field's level. */
  readonly sigma: readonly Spread[];
  readonly residuals: readonly Float64Array[];
  /** Robust weights used last, per part. */
  readonly weights: readonly Float64Array[];
  readonly cost: number;
  readonly converged: boolean;
};

/** The model and its derivatives at one set of parameters; weights may change without asking it again. */
type Look = {
  readonly p: Float64Array;
  readonly evaluations: Evaluation[];
  readonly residuals: Float64Array[];
};
type System = { a: Float64Array; g: Float64Array; cost: number };

function localOf(part: Part, p: Float64Array): Float64Array {
  return Float64Array.from(part.map, (g) => p[g]);
}

/** Asks the model at p; writes over `spare`, a look at the same problem that nobody needs any more. */
function lookAt(problem: Problem, p: Float64Array, spare?: Look): Look {
  const evaluations = problem.parts.map((part, i) =>
    evaluateCapture(part.model, localOf(part, p), spare?.evaluations[i]),
  );
  const residuals = problem.parts.map(({ model: { band } }, i) => {
    const { model } = evaluations[i];
    const out = spare?.residuals[i] ?? new Float64Array(band.n);
    for (let k = 0; k < band.n; k++) out[k] = band.grey[k] - model[k];
    return out;
  });
  return { p, evaluations, residuals };
}

/** Normal equations of a look with weights (already including 1/variance). */
function systemOf(problem: Problem, look: Look, weights: readonly Float64Array[]): System {
  const { p } = look;
  const n = problem.size;
  const a = new Float64Array(n * n);
  const g = new Float64Array(n);
  let cost = 0;
  problem.parts.forEach((part, index) => {
    const { band, size, knots } = part.model;
    const kinds = kindsOf(part.model);
    const row = INTERIOR + 2 * kinds;
    const la = new Float64Array(size * size);
    const lg = new Float64Array(size);
    const residual = look.residuals[index];
    const { rows, interval } = look.evaluations[index];
    const w = weights[index];
    const gather = gatherer(INTERIOR, kinds, knots.length);
    for (let k = 0; k < band.n; k++) {
      const wk = w[k];
      if (wk === 0) continue;
      cost += wk * residual[k] * residual[k];
      gather.add(Math.sqrt(wk), rows, k * row, interval[k], residual[k]);
    }
    gather.finish(la, lg);
    for (let i = 0; i < size; i++) {
      g[part.map[i]] += lg[i];
      for (let j = 0; j <= i; j++) {
        const gi = part.map[i];
        const gj = part.map[j];
        a[gi * n + gj] += la[i * size + j];
        if (i !== j) a[gj * n + gi] += la[i * size + j];
      }
    }
  });
  for (const prior of problem.priors) {
    let r = prior.value;
    for (const [i, f] of prior.terms) r -= f * p[i];
    const w = 1 / (prior.sd * prior.sd);
    cost += w * r * r;
    for (const [i, f] of prior.terms) {
      g[i] += w * f * r;
      for (const [j, f2] of prior.terms) a[i * n + j] += w * f * f2;
    }
  }
  return { a, g, cost };
}

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

function spreads(problem: Problem, { residuals, evaluations }: Look): Spread[] {
  return problem.parts.map((part, i) => spread(part, residuals[i], evaluations[i]));
}

function weightsOf(
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

function clampTo(problem: Problem, p: Float64Array): Float64Array {
  return p.map((v, i) => Math.min(problem.upper[i], Math.max(problem.lower[i], v)));
}

/** Free parameters: those not pushed against a bound by the gradient. */
function freeSet(problem: Problem, p: Float64Array, g: Float64Array): number[] {
  const free: number[] = [];
  for (let i = 0; i < p.length; i++) {
    if (p[i] <= problem.lower[i] && g[i] < 0) continue;
    if (p[i] >= problem.upper[i] && g[i] > 0) continue;
    free.push(i);
  }
  return free;
}

function stepOf(
  a: Float64Array,
  g: Float64Array,
  n: number,
  free: number[],
  lambda: number,
): Float64Array | null {
  const m = free.length;
  const sub = new Float64Array(m * m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) sub[i * m + j] = a[free[i] * n + free[j]];
    sub[i * m + i] += lambda * sub[i * m + i] + 1e-12;
  }
  const part = solveSymmetric(
    sub,
    free.map((i) => g[i]),
    m,
  );
  if (!part) return null;
  const step = new Float64Array(n);
  free.forEach((i, k) => (step[i] = part[k]));
  return step;
}

/**
 * How hard a fit tries: rounds of new weights, iterations in each, and the gain of cost (chi squared, about 1 per
 * standard deviation squared) promised by the quadratic model below which a round is settled.
 */
export type Effort = { readonly rounds: number; readonly most: number; readonly gain: number };

/**
 * The cost of one and the same outline wanders a little as corners move between the nodes of the blur's sum (1e-4 of the
 * contrast a pixel). A step that promises less than a round's gain cannot be judged by the cost; it is taken on the
 * model's word.
 */
const QUADRATURE_NOISE = 2;

/** Decrease of the cost that the quadratic model promises for a step from `p` to `tried`. */
function promisedGain(system: System, tried: Float64Array, p: Float64Array, n: number): number {
  let gain = 0;
  for (let i = 0; i < n; i++) {
    const si = tried[i] - p[i];
    if (si === 0) continue;
    let row = 0;
    for (let j = 0; j < n; j++) row += system.a[i * n + j] * (tried[j] - p[j]);
    gain += si * (2 * system.g[i] - row);
  }
  return gain;
}

/**
 * Levenberg-Marquardt with bounds; robust weights and the noise scale are renewed between rounds.
 */
export function fitProblem(problem: Problem, start: Float64Array, effort: Effort): Fitted {
  const { rounds, most, gain: enough } = effort;
  let look = lookAt(problem, clampTo(problem, start));
  let spare: Look | undefined;
  let sigma = spreads(problem, look);
  let weights = weightsOf(problem, look, sigma);
  let converged = false;
  for (let round = 0; round < rounds; round++) {
    let system = systemOf(problem, look, weights);
    let lambda = round === 0 ? 1e-2 : 1e-4;
    converged = false;
    for (let iteration = 0; iteration < most; iteration++) {
      const { p } = look;
      const free = freeSet(problem, p, system.g);
      const step = stepOf(system.a, system.g, problem.size, free, lambda);
      if (!step) {
        lambda = Math.max(1e-6, lambda * 10);
        if (lambda > 1e8) break;
        continue;
      }
      const tried = clampTo(
        problem,
        p.map((v, i) => v + step[i]),
      );
      const promised = promisedGain(system, tried, p, problem.size);
      const there = lookAt(problem, tried, spare);
      spare = there;
      const next = systemOf(problem, there, weights);
      const settled = promised < enough;
      if (next.cost <= system.cost + (settled ? QUADRATURE_NOISE : 0)) {
        spare = look;
        look = there;
        system = next;
        lambda = Math.max(1e-7, lambda / 6);
        if (settled) {
          converged = true;
          break;
        }
      } else {
        lambda *= 8;
        if (lambda > 1e6) {
          converged = true;
          break;
        }
      }
    }
    sigma = spreads(problem, look);
    weights = weightsOf(problem, look, sigma);
  }
  const { a: information, cost } = systemOf(problem, look, weights);
  const { p, evaluations, residuals } = look;
  let covariance: Float64Array | null = null;
  return {
    p,
    // an inverse of a hundred parameters is dear, and many fits are only a step towards the next
    get covariance() {
      return (covariance ??= covarianceAt(problem, information));
    },
    evaluations,
    sigma,
    residuals,
    weights,
    cost,
    converged,
  };
}

/**
 * Covariance of all but the interior parameters, at their places in a size x size matrix, 0 elsewhere: nobody asks for the
 * interior's, and there are many of them. A matrix that cannot be inverted gives variances of 1e6: nothing is known then.
 */
function covarianceAt(problem: Problem, a: Float64Array): Float64Array {
  const n = problem.size;
  const sub = a.slice();
  for (let i = 0; i < n; i++) if (!(sub[i * n + i] > 0)) sub[i * n + i] = 1e-12;
  const keep = [...new Set(problem.parts.flatMap((part) => [...part.map.subarray(0, INTERIOR)]))];
  const block = invertBlock(sub, n, keep);
  const out = new Float64Array(n * n);
  keep.forEach((i, ki) => {
    if (block) keep.forEach((j, kj) => (out[i * n + j] = block[ki * keep.length + kj]));
    else out[i * (n + 1)] = 1e6;
  });
  return out;
}

/** Covariance of the parameters if the truth were `p` (weights kept from a fit): for limits. */
export function covarianceIf(
  problem: Problem,
  p: Float64Array,
  weights: readonly Float64Array[],
): Float64Array {
  return covarianceAt(problem, systemOf(problem, lookAt(problem, p), weights).a);
}
