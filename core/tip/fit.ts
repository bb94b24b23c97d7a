import { invertBlock } from '../fit/normal-equations.ts';
import { emptyEvaluation, INTERIOR } from './capture-model.ts';
import { withKernels, type BandKernel } from './kernel/band-kernel.ts';
import { normalSystem, type NormalSystem } from './kernel/normal-system.ts';
import type { Look, Part, Prior, Problem, Spread, Weights } from './problem.ts';
import { spreads, weightsOf } from './weights.ts';

export type Fitted = {
  readonly p: Float64Array;
  /** Covariance scaled with the residuals, size x size. */
  readonly covariance: Float64Array;
  /** Robust standard deviation of the residuals per part, in grey of a pixel at the field's level. */
  readonly sigma: readonly Spread[];
  readonly residuals: readonly Float64Array[];
  /** Robust weights used last, per part. */
  readonly weights: Weights;
  readonly converged: boolean;
};

/** What a step is reckoned from, beside the matrix that the bench holds. */
type Slope = { readonly g: Float64Array; readonly cost: number };

function localOf(part: Part, p: Float64Array): Float64Array {
  const out = new Float64Array(part.map.length);
  for (let i = 0; i < out.length; i++) out[i] = p[part.map[i]];
  return out;
}

/** A problem with the kernels of its captures, and its normal equations as they were renewed last. */
type Bench = {
  readonly problem: Problem;
  readonly kernels: readonly BandKernel[];
  readonly system: NormalSystem;
};

function onBench<T>(problem: Problem, work: (bench: Bench) => T): T {
  return withKernels(
    problem.parts.map(({ model }) => model),
    (kernels, own) => work({ problem, kernels, system: normalSystem(own, problem.size) }),
  );
}

/**
 * Asks the model at p, with `slopes` for its derivatives, too, which the kernels keep; writes over `spare`, a look at the
 * same problem that nobody needs any more.
 */
function lookAt({ problem, kernels }: Bench, p: Float64Array, slopes: boolean, spare?: Look): Look {
  const evaluations = problem.parts.map((part, i) => {
    const out = spare?.evaluations[i] ?? emptyEvaluation(part.model);
    kernels[i].evaluate(localOf(part, p), slopes, out);
    return out;
  });
  const residuals = problem.parts.map(({ model: { band } }, i) => {
    const { model } = evaluations[i];
    const out = spare?.residuals[i] ?? new Float64Array(band.n);
    for (let k = 0; k < band.n; k++) out[k] = band.grey[k] - model[k];
    return out;
  });
  return { p, evaluations, residuals };
}

/** Weighted sum of squares, priors included; weights already include 1/variance. */
export function costOf(
  problem: Problem,
  { p, residuals }: { readonly p: Float64Array; readonly residuals: readonly Float64Array[] },
  weights: Weights,
): number {
  // plain loops: a sum that a function inside closes over is a new number on the heap at every pixel
  let cost = 0;
  for (let i = 0; i < residuals.length; i++) {
    const w = weights[i];
    const residual = residuals[i];
    for (let k = 0; k < w.length; k++) cost += w[k] * residual[k] * residual[k];
  }
  for (const prior of problem.priors) cost += (departure(prior, p) / prior.sd) ** 2;
  return cost;
}

function departure({ value, terms }: Prior, p: Float64Array): number {
  let r = value;
  for (const [i, f] of terms) r -= f * p[i];
  return r;
}

/** Gradient of half the cost, sign turned: J^T W r and the priors' share. */
function gradientOf({ problem, kernels }: Bench, look: Look, weights: Weights): Float64Array {
  const g = new Float64Array(problem.size);
  problem.parts.forEach(({ map }, index) => {
    const own = kernels[index].gradient(weights[index], look.residuals[index]);
    for (let i = 0; i < own.length; i++) g[map[i]] += own[i];
  });
  for (const prior of problem.priors) {
    const r = departure(prior, look.p) / (prior.sd * prior.sd);
    for (const [i, f] of prior.terms) g[i] += f * r;
  }
  return g;
}

/** J^T W J and the priors' share, in the bench's system. */
function renewSystem({ problem, kernels, system }: Bench, weights: Weights): void {
  const n = problem.size;
  system.clear();
  problem.parts.forEach(({ map }, index) => system.add(kernels[index].information(weights[index]), map));
  const a = system.matrix();
  for (const { terms, sd } of problem.priors) {
    const w = 1 / (sd * sd);
    for (const [i, f] of terms) for (const [j, f2] of terms) a[i * n + j] += w * f * f2;
  }
}

function informationOf(bench: Bench, weights: Weights): Float64Array {
  renewSystem(bench, weights);
  return bench.system.matrix().slice();
}

function clampTo(problem: Problem, p: Float64Array): Float64Array {
  return p.map((v, i) => Math.min(problem.upper[i], Math.max(problem.lower[i], v)));
}

/**
 * Every parameter once: the captures' interiors knot by knot, of which only neighbours are tied, then what all share. Where two
 * captures' interiors are tied to each other, their knots go side by side.
 */
function eliminationOrder({ parts, size }: Problem): number[] {
  const knotted = parts.map(({ model, map }) => {
    const n = model.knots.length;
    return Array.from(model.knots, (s, knot) => {
      const own: number[] = [];
      for (let i = INTERIOR + knot; i < model.size; i += n) own.push(map[i]);
      return { s, own };
    });
  });
  const along = parts.every(({ model }) => model.humps)
    ? knotted.flat().sort((a, b) => a.s - b.s)
    : knotted.flat();
  const order = new Set(along.flatMap(({ own }) => own));
  for (let i = 0; i < size; i++) order.add(i);
  return [...order];
}

/** Free parameters, in the order given: those not pushed against a bound by the gradient. */
function freeSet(problem: Problem, p: Float64Array, g: Float64Array, order: readonly number[]): number[] {
  return order.filter(
    (i) => !(p[i] <= problem.lower[i] && g[i] < 0) && !(p[i] >= problem.upper[i] && g[i] > 0),
  );
}

/**
 * How hard a fit tries: rounds of new weights (one more where the last one still moved them), iterations in each, and the
 * gain of cost (chi squared, about 1 per standard deviation squared) promised by the quadratic model below which a round is
 * settled.
 */
export type Effort = { readonly rounds: number; readonly most: number; readonly gain: number };

/**
 * The cost of one and the same outline wanders a little as corners move between the nodes of the blur's sum (1e-4 of the
 * contrast a pixel). A step that promises less than a round's gain cannot be judged by the cost; it is taken on the
 * model's word.
 */
const QUADRATURE_NOISE = 2;

/**
 * Steps that promise a gain of less than this, all in all, keep the derivatives of where they began: 3 standard deviations
 * of parameters known to some hundredths of the blur turn the model's tangent by a few per cent, which slows the last
 * steps by as much and moves their end by a few per cent of a standard deviation. Values alone cost a third.
 */
const TANGENT_HOLDS = 10;
/** Too little for a new round to ask for them again. */
const TANGENT_SAME = 2;

/** Rounds before the last end sooner: new weights are about to move the fit again. In gains of the last one. */
const LOOSELY = 3;

/**
 * Weights that a round has moved by less than this part of their sum will move no value in another one: a clean picture's
 * move by up to 0.06 in the second round, those of pictures with dust or glints by 0.1 to 0.4.
 */
const WEIGHTS_HOLD = 0.08;

/** Sum of the changes of all weights, over their sum. */
function movedBy(before: Weights, after: Weights): number {
  let moved = 0;
  let sum = 0;
  for (let i = 0; i < after.length; i++) {
    const [w, old] = [after[i], before[i]];
    for (let k = 0; k < w.length; k++) {
      moved += Math.abs(w[k] - old[k]);
      sum += w[k];
    }
  }
  return sum > 0 ? moved / sum : 0;
}

/**
 * Levenberg-Marquardt with bounds; robust weights and the noise scale are renewed between rounds.
 */
export const fitProblem = (problem: Problem, start: Float64Array, effort: Effort): Fitted =>
  onBench(problem, (bench) => fitOnBench(bench, start, effort));

function fitOnBench(bench: Bench, start: Float64Array, effort: Effort): Fitted {
  const { problem, system } = bench;
  const { rounds, most, gain: enough } = effort;
  const order = eliminationOrder(problem);
  let look = lookAt(bench, clampTo(problem, start), true);
  let spare: Look | undefined;
  // gain promised by the steps since the derivatives were taken
  let travelled = 0;
  let sigma = spreads(problem, look);
  let weights = weightsOf(problem, look, sigma);
  const slopeHere = (tolerated: number): Slope => {
    if (travelled > tolerated) {
      lookAt(bench, look.p, true, look);
      travelled = 0;
    }
    renewSystem(bench, weights);
    return { g: gradientOf(bench, look, weights), cost: costOf(problem, look, weights) };
  };
  let converged = false;
  let restless = false;
  for (let round = 0; round < rounds || (round === rounds && restless); round++) {
    const last = round + 1 >= rounds;
    let slope = slopeHere(TANGENT_SAME);
    let lambda = round === 0 ? 1e-2 : 1e-4;
    converged = false;
    for (let iteration = 0; iteration < most; iteration++) {
      const { p } = look;
      const free = freeSet(problem, p, slope.g, order);
      const step = system.step(slope.g, free, lambda);
      if (!step) {
        lambda = Math.max(1e-6, lambda * 10);
        if (lambda > 1e8) break;
        continue;
      }
      const tried = clampTo(
        problem,
        p.map((v, i) => v + step[i]),
      );
      const promised = system.promise(
        slope.g,
        tried.map((v, i) => v - p[i]),
      );
      const settled = promised < (last ? enough : LOOSELY * enough);
      if (settled && !last) {
        converged = true;
        break;
      }
      const there = lookAt(bench, tried, false, spare);
      spare = there;
      const cost = costOf(problem, there, weights);
      if (cost <= slope.cost + (settled ? QUADRATURE_NOISE : 0)) {
        spare = look;
        look = there;
        travelled += promised;
        lambda = Math.max(1e-7, lambda / 6);
        if (settled) {
          converged = true;
          break;
        }
        slope = travelled < TANGENT_HOLDS ? { g: gradientOf(bench, look, weights), cost } : slopeHere(0);
      } else if (travelled > 0) {
        slope = slopeHere(0);
      } else {
        lambda *= 8;
        if (lambda > 1e6) {
          converged = true;
          break;
        }
      }
    }
    sigma = spreads(problem, look);
    const renewed = weightsOf(problem, look, sigma);
    restless = movedBy(weights, renewed) > WEIGHTS_HOLD;
    weights = renewed;
  }
  const { p, residuals } = look;
  const information = informationOf(bench, weights);
  let covariance: Float64Array | null = null;
  return {
    p,
    // an inverse of a hundred parameters is dear, and many fits are only a step towards the next
    get covariance() {
      return (covariance ??= covarianceAt(problem, information));
    },
    sigma,
    residuals,
    weights,
    converged,
  };
}

/**
 * Covariance of all but the interior parameters, at their places in a size x size matrix, 0 elsewhere: nobody asks for the
 * interior's, and there are many of them. A matrix that cannot be inverted gives variances of 1e6: nothing is known then.
 * What is not positive on the diagonal of `a` is made so.
 */
function covarianceAt(problem: Problem, a: Float64Array): Float64Array {
  const n = problem.size;
  for (let i = 0; i < n; i++) if (!(a[i * n + i] > 0)) a[i * n + i] = 1e-12;
  const keep = [...new Set(problem.parts.flatMap((part) => [...part.map.subarray(0, INTERIOR)]))];
  const block = invertBlock(a, n, keep, eliminationOrder(problem));
  const out = new Float64Array(n * n);
  keep.forEach((i, ki) => {
    if (block) keep.forEach((j, kj) => (out[i * n + j] = block[ki * keep.length + kj]));
    else out[i * (n + 1)] = 1e6;
  });
  return out;
}

/** Covariance of the parameters if the truth were `p` (weights kept from a fit): for limits. */
export function covarianceIf(problem: Problem, p: Float64Array, weights: Weights): Float64Array {
  const information = onBench(problem, (bench) => {
    lookAt(bench, p, true);
    return informationOf(bench, weights);
  });
  return covarianceAt(problem, information);
}
