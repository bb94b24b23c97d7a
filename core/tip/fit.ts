import { invertSymmetric, solveSymmetric } from '../fit/normal-equations.ts';
import { evaluateCapture, type CaptureModel, type Evaluation } from './capture-model.ts';

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
export type Fitted = {
  readonly p: Float64Array;
  /** Covariance scaled with the residuals, size x size. */
  readonly covariance: Float64Array;
  readonly evaluations: readonly Evaluation[];
  /** Robust standard deviation of the residuals per part, in grey of a pixel at the field's level. */
  readonly sigma: readonly number[];
  readonly residuals: readonly Float64Array[];
  /** Robust weights used last, per part. */
  readonly weights: readonly Float64Array[];
  readonly cost: number;
  readonly converged: boolean;
};

type System = {
  a: Float64Array;
  g: Float64Array;
  cost: number;
  evaluations: Evaluation[];
  residuals: Float64Array[];
};

function localOf(part: Part, p: Float64Array): Float64Array {
  return Float64Array.from(part.map, (g) => p[g]);
}

/** Normal equations at p with fixed weights (already including 1/variance). */
function systemAt(problem: Problem, p: Float64Array, weights: readonly Float64Array[]): System {
  const n = problem.size;
  const a = new Float64Array(n * n);
  const g = new Float64Array(n);
  let cost = 0;
  const evaluations: Evaluation[] = [];
  const residuals: Float64Array[] = [];
  problem.parts.forEach((part, index) => {
    const { band, size } = part.model;
    const la = new Float64Array(size * size);
    const lg = new Float64Array(size);
    const residual = new Float64Array(band.n);
    const used = new Int32Array(size);
    const w = weights[index];
    evaluations.push(
      evaluateCapture(part.model, localOf(part, p), (k, model, d) => {
        const r = band.grey[k] - model;
        residual[k] = r;
        const wk = w[k];
        if (wk === 0) return;
        cost += wk * r * r;
        let count = 0;
        for (let i = 0; i < size; i++) if (d[i] !== 0) used[count++] = i;
        for (let q = 0; q < count; q++) {
          const i = used[q];
          const wd = wk * d[i];
          lg[i] += wd * r;
          for (let q2 = 0; q2 <= q; q2++) la[i * size + used[q2]] += wd * d[used[q2]];
        }
      }),
    );
    residuals.push(residual);
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
  return { a, g, cost, evaluations, residuals };
}

function relativeVariance(part: Part, k: number, model: number): number {
  const field = part.model.band.field[k] || 1;
  return part.floor + (1 - part.floor) * Math.min(1.5, Math.max(0, model / field));
}

/** Robust spread of normalised residuals (median of absolute values). */
function spread(part: Part, residual: Float64Array, model: Float64Array): number {
  const values: number[] = [];
  for (let k = 0; k < residual.length; k += 1)
    if (part.mask[k] > 0) values.push(Math.abs(residual[k]) / Math.sqrt(relativeVariance(part, k, model[k])));
  values.sort((x, y) => x - y);
  return Math.max(2e-4, 1.4826 * (values[values.length >> 1] ?? 1));
}

function weightsOf(
  problem: Problem,
  residuals: readonly Float64Array[],
  evaluations: readonly Evaluation[],
  sigma: readonly number[],
  robust: boolean,
): Float64Array[] {
  return problem.parts.map((part, i) =>
    residuals[i].map((r, k) => {
      if (part.mask[k] === 0) return 0;
      const v = relativeVariance(part, k, evaluations[i].model[k]) * sigma[i] * sigma[i];
      const z = (r * r) / v;
      // Huber up to 3 sigma, falling off beyond 6: specks and scratches lose their vote, noise keeps it.
      const w = !robust || z < 9 ? 1 : z < 36 ? 3 / Math.sqrt(z) : (3 * 6) / z;
      return (part.mask[k] * w) / v;
    }),
  );
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
 * How hard a fit tries: rounds of new weights, iterations in each, relative gain below which a round is settled.
 */
export type Effort = { readonly rounds: number; readonly most: number; readonly gain: number };

/**
 * Levenberg-Marquardt with bounds; robust weights and the noise scale are renewed between rounds.
 */
export function fitProblem(problem: Problem, start: Float64Array, effort: Effort): Fitted {
  const { rounds, most, gain: enough } = effort;
  let p = clampTo(problem, start);
  const flat = problem.parts.map((part) => Float64Array.from(part.mask, (m) => m));
  let system = systemAt(problem, p, flat);
  let sigma = problem.parts.map((part, i) => spread(part, system.residuals[i], system.evaluations[i].model));
  let weights = weightsOf(problem, system.residuals, system.evaluations, sigma, true);
  let converged = false;
  for (let round = 0; round < rounds; round++) {
    system = systemAt(problem, p, weights);
    let lambda = round === 0 ? 1e-2 : 1e-4;
    converged = false;
    for (let iteration = 0; iteration < most; iteration++) {
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
      const next = systemAt(problem, tried, weights);
      if (next.cost <= system.cost) {
        const gain = (system.cost - next.cost) / (next.cost + 1e-300);
        p = tried;
        system = next;
        lambda = Math.max(1e-7, lambda / 6);
        if (gain < enough) {
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
    sigma = problem.parts.map((part, i) => spread(part, system.residuals[i], system.evaluations[i].model));
    weights = weightsOf(problem, system.residuals, system.evaluations, sigma, true);
  }
  system = systemAt(problem, p, weights);
  const covariance = covarianceAt(problem, system.a);
  return {
    p,
    covariance,
    evaluations: system.evaluations,
    sigma,
    residuals: system.residuals,
    weights,
    cost: system.cost,
    converged,
  };
}

/** Inverse of the information; a matrix that cannot be inverted gives variances of 1e6: nothing is known then. */
function covarianceAt(problem: Problem, a: Float64Array): Float64Array {
  const n = problem.size;
  const sub = a.slice();
  for (let i = 0; i < n; i++) if (!(sub[i * n + i] > 0)) sub[i * n + i] = 1e-12;
  return (
    invertSymmetric(sub, n) ?? Float64Array.from({ length: n * n }, (_, k) => (k % (n + 1) === 0 ? 1e6 : 0))
  );
}

/** Covariance of the parameters if the truth were `p` (weights kept from a fit): for limits. */
export function covarianceIf(
  problem: Problem,
  p: Float64Array,
  weights: readonly Float64Array[],
): Float64Array {
  return covarianceAt(problem, systemAt(problem, p, weights).a);
}
