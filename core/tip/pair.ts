import { INTERIOR, POSE, SHADE, SIGMA, TONE, WEIGHT, type Band } from './capture-model.ts';
import { fitProblem, type Fitted } from './fit.ts';
import type { Part, Prior, Problem } from './problem.ts';
import {
  boundsOf,
  captureModel,
  capturePriors,
  carriedInterior,
  LIT_FIRMNESS,
  partOf,
  poseOfFit,
  setBounds,
  shapePriors,
  type Prepared,
  type SingleFit,
} from './single.ts';
import { shankTurn } from './shank-turn.ts';
import { tiedInteriors } from './tied-interiors.ts';
import { SHAPE_SIZE } from './wedge.ts';

/**
 * Two captures of one part: radius, ellipse, flanks and wall directions are shared, depths and optics are not. Insides of lit parts
 * are tied, and their turn is held by the shank as well.
 */
export type PairFit = {
  readonly captures: readonly [Prepared, Prepared];
  readonly problem: Problem;
  readonly fitted: Fitted;
  readonly maps: readonly [Int32Array, Int32Array];
};

const SHARED = 6;

type Layout = { maps: [Int32Array, Int32Array]; size: number };

function layout(sizes: [number, number]): Layout {
  let next = SHARED;
  const maps = sizes.map((size) =>
    Int32Array.from({ length: size }, (_, i) => (i < SHARED ? i : next++)),
  ) as [Int32Array, Int32Array];
  return { maps, size: next };
}

export type PairOptions = {
  /** Relative standard uncertainty of the ratio of the two scales. */
  readonly ratioSd: number;
  readonly masks?: readonly [((band: Band) => Float64Array) | null, ((band: Band) => Float64Array) | null];
  /** No cuts: the tip's shape is not asked for (flanks only, the tip masked). */
  readonly uncut?: boolean;
};

/** Beyond that a silhouette's pixels are so many that camera noise is the least of its errors. */
const mostPixels = ({ darkPart }: Prepared): number => (darkPart ? 6000 : 9000);

/** Joint fit, started from the two single fits. */
export function fitPair(baseline: SingleFit, later: SingleFit, options: PairOptions): PairFit {
  const singles = [baseline, later] as const;
  const shape = sharedStart(baseline, later);
  const models = singles.map((single) => {
    const p = single.fitted.p;
    return captureModel(
      single.prepared,
      ownShape(shape, p),
      poseOfFit(p),
      p[SIGMA],
      mostPixels(single.prepared),
    );
  });
  const lit = singles.every(({ prepared }) => !prepared.darkPart);
  const { maps, size: exposure } = layout([models[0].size, models[1].size]);
  // one more for lit parts: how much more the later capture is exposed
  const size = lit ? exposure + 1 : exposure;
  const start = new Float64Array(size);
  const bounds = boundsOf(size);
  const priors: Prior[] = shapePriors(
    maps[0],
    singles.some((single) => !single.prepared.darkPart),
  );
  const parts: Part[] = singles.map((single, i) => {
    const map = maps[i];
    const p = single.fitted.p;
    const own = ownShape(shape, p);
    for (let k = 0; k < SHAPE_SIZE; k++) start[map[k]] = own[k];
    for (let k = SHAPE_SIZE; k < INTERIOR; k++) start[map[k]] = p[k];
    start.set(carriedInterior({ model: single.problem.parts[0].model, p }, models[i]), map[INTERIOR]);
    setBounds(map, bounds, own, single.prepared.umPerPx);
    if (options.uncut)
      for (const k of [6, 7]) {
        start[map[k]] = 0;
        bounds.upper[map[k]] = 0;
      }
    priors.push(
      ...capturePriors(map, single.prepared, models[i].knots.length, i === 0 ? 1e-6 : options.ratioSd),
    );
    const part = partOf(models[i], map, single.prepared);
    const mask = options.masks?.[i];
    if (mask) part.mask.set(mask(models[i].band));
    return part;
  });
  // Captures of one stylus usually come from one camera: tone and sharpening tie loosely.
  const tie = (local: number, sd: number): void => {
    priors.push({
      terms: [
        [maps[0][local], 1],
        [maps[1][local], -1],
      ],
      value: 0,
      sd,
    });
  };
  if (baseline.prepared.linearised === later.prepared.linearised) tie(TONE, 0.06);
  tie(WEIGHT, 0.3);
  tie(SHADE, 0.2);
  if (lit) {
    const tied = singles.map(({ prepared }, i) => ({ model: models[i], map: maps[i], prepared }));
    priors.push(...tiedInteriors([tied[0], tied[1]], start, shape[0], exposure));
    priors.push(...turnPriors(baseline, later, maps));
  }
  const problem: Problem = { parts, size, priors, ...bounds };
  return {
    captures: [baseline.prepared, later.prepared],
    problem,
    fitted: fitProblem(problem, start, { rounds: 2, most: 20, gain: 0.1 }),
    maps,
  };
}

/** What the shank says of the later rotation less the baseline's; none where it says nothing. */
function turnPriors(baseline: SingleFit, later: SingleFit, maps: Layout['maps']): Prior[] {
  const turn = shankTurn(baseline, later);
  if (!turn) return [];
  const [before, after] = [baseline, later].map(({ fitted: { p } }) => poseOfFit(p).rotation);
  const at = POSE + 2;
  return [
    {
      terms: [
        [maps[1][at], 1],
        [maps[0][at], -1],
      ],
      value: after - before + turn.radians,
      sd: turn.standard / LIT_FIRMNESS,
    },
  ];
}

/** Information-weighted mean of the two shapes; wall directions from the deeper cut. */
function sharedStart(baseline: SingleFit, later: SingleFit): Float64Array {
  const out = new Float64Array(SHAPE_SIZE);
  const weight = (f: SingleFit, k: number): number => {
    const v = f.fitted.covariance[k * f.problem.size + k];
    return v > 0 && Number.isFinite(v) ? 1 / v : 1e-9;
  };
  for (let k = 0; k < SHARED; k++) {
    const wb = weight(baseline, k);
    const wl = weight(later, k);
    out[k] = (wb * baseline.fitted.p[k] + wl * later.fitted.p[k]) / (wb + wl);
  }
  return out;
}

function ownShape(shared: Float64Array, p: Float64Array): Float64Array {
  const own = shared.slice();
  own[6] = Math.max(p[6], 0.006 * shared[0]);
  own[7] = Math.max(p[7], 0.006 * shared[0]);
  return own;
}

/** Local parameters of one capture of the pair. */
export function localParameters(pair: PairFit, which: 0 | 1): Float64Array {
  return Float64Array.from(pair.maps[which], (g) => pair.fitted.p[g]);
}

/**
 * Standard uncertainty of the later capture's rotation against the baseline's, radians, from the fit alone. Each capture's
 * own rotation is known far worse, since nothing tells a turned part from one whose flanks differ; that is shared. A
 * camera's lens turns the flanks of a part by a little that no fit knows of: never below LENS.
 */
export function turnSd(pair: PairFit): number {
  const n = pair.problem.size;
  const { covariance } = pair.fitted;
  const [b, l] = [pair.maps[0][POSE + 2], pair.maps[1][POSE + 2]];
  const fit = covariance[b * (n + 1)] + covariance[l * (n + 1)] - 2 * covariance[b * n + l];
  return Math.hypot(Math.sqrt(Math.max(0, fit)), LENS);
}
/** 0.025 degrees, from the laboratory's pictures with slight lens distortion and from no theory. */
const LENS = (0.025 * Math.PI) / 180;
