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
import { flanksTurnedByLens, LENS_SD } from './lens.ts';
import { shankTurn, type Turn } from './shank-turn.ts';
import { tiedInteriors } from './tied-interiors.ts';
import { SHAPE_SIZE } from './wedge.ts';

/**
 * Two captures of one part: radius, ellipse, flanks and wall directions are shared, depths and optics are not. Insides of lit parts
 * are tied, and the turn is held by the shank as well.
 */
export type PairFit = {
  readonly captures: readonly [Prepared, Prepared];
  readonly problem: Problem;
  readonly fitted: Fitted;
  readonly maps: readonly [Int32Array, Int32Array];
  /** What the shank says; null where it says nothing. */
  readonly turn: SeenTurn | null;
  /** Standard uncertainty that unknown lenses give to the turn of the flanks, radians. */
  readonly lensSd: number;
};

/** With the later rotation less the baseline's as the flanks should show it, radians. */
type SeenTurn = Turn & { readonly value: number };

const SHARED = 6;

/** A silhouette's fit believes its flanks too much by about as much: dust, hairs, compression. From the laboratory and no theory. */
const DARK_FIRMNESS = 1.6;
/** What the same things leave of a turn beyond the fit's uncertainty, radians. From the laboratory and no theory. */
const FLANKS = (0.012 * Math.PI) / 180;

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
  /** What an earlier fit of the same two captures was told by the shank. */
  readonly turn?: SeenTurn | null;
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
  }
  const turn = options.turn === undefined ? turnOf(baseline, later) : options.turn;
  if (turn) priors.push(turnPrior(turn, maps, lit ? LIT_FIRMNESS : DARK_FIRMNESS));
  const problem: Problem = { parts, size, priors, ...bounds };
  return {
    captures: [baseline.prepared, later.prepared],
    problem,
    fitted: fitProblem(problem, start, { rounds: 2, most: 20, gain: 0.1 }),
    maps,
    turn,
    lensSd: LENS_SD * Math.hypot(flanksTurnedByLens(baseline), flanksTurnedByLens(later)),
  };
}

/** What the shank says of the later rotation less the baseline's. A lit part and a silhouette show their edges too differently. */
function turnOf(baseline: SingleFit, later: SingleFit): SeenTurn | null {
  if (baseline.prepared.darkPart !== later.prepared.darkPart) return null;
  const turn = shankTurn(baseline, later);
  if (!turn) return null;
  const [before, after] = [baseline, later].map(({ fitted: { p } }) => poseOfFit(p).rotation);
  return { ...turn, value: after - before + turn.radians };
}

function turnPrior({ value, standard }: SeenTurn, maps: Layout['maps'], firmness: number): Prior {
  const at = POSE + 2;
  return {
    terms: [
      [maps[1][at], 1],
      [maps[0][at], -1],
    ],
    value,
    sd: standard / firmness,
  };
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
 * The later capture's rotation less the baseline's, radians, with its standard uncertainty; `inflation` multiplies the fit's own. Each
 * capture's own rotation is known far worse, since nothing tells a turned part from one whose flanks differ; that is shared. The fit
 * has the turn of the flanks as the lens shows them. What the shank told of the lens is taken out of it, and what it left open stays
 * in the uncertainty; where no shank is seen, all that lenses may do.
 */
export function rotationBetween(pair: PairFit, inflation = 1): { radians: number; standard: number } {
  const { fitted, problem, maps, turn } = pair;
  const n = problem.size;
  const { p, covariance } = fitted;
  const [b, l] = [maps[0][POSE + 2], maps[1][POSE + 2]];
  const shown = p[l] - p[b];
  const variance =
    FLANKS ** 2 +
    inflation ** 2 *
      Math.max(0, covariance[b * (n + 1)] + covariance[l * (n + 1)] - 2 * covariance[b * n + l]);
  if (!turn) return { radians: shown, standard: Math.hypot(Math.sqrt(variance), pair.lensSd) };
  const { part } = turn;
  return {
    radians: turn.value - turn.radians + part.radians + part.follows * (shown - turn.value),
    standard: Math.hypot(part.follows * Math.sqrt(variance), part.standard),
  };
}
