import { answer, refuse, type Outcome } from '../../shared/index.ts';
import { runsBeyond, type Offsets, type Run } from '../edge/offsets.ts';
import { median } from '../fit/select.ts';
import { fitPair, localParameters, type PairFit } from '../tip/pair.ts';
import { FOOT, type CleanSingle } from '../tip/clean-single.ts';
import { departuresOf, maskOut, tipZone } from '../tip/suspect.ts';
import { SIGMA } from '../tip/capture-model.ts';
import { costOf } from '../tip/fit.ts';
import { SIDES, type Side } from '../tip/walls.ts';
import { flatWidth, wedgeOf } from '../tip/wedge.ts';

/** A registered pair: the joint fit and what is left between the two outlines. */
export type Registered = {
  readonly pair: PairFit;
  readonly parameters: readonly [Float64Array, Float64Array];
  readonly offsets: readonly [Offsets, Offsets];
  /** Later minus baseline offset, outward um, on the later capture's grid: what the two fits leave unexplained. */
  readonly change: { readonly s: Float64Array; readonly value: Float64Array; readonly noise: number };
  /** Unexplained local changes: recession negative. */
  readonly runs: readonly Run[];
  /** Departures already there in the baseline. */
  readonly baselineRuns: readonly Run[];
  /**
   * How far each capture's widths move when the places beside chips and residue count or not, um: baseline, later. A lump's
   * foot and a worn wall look alike, and nobody knows where one ends.
   */
  readonly beside: readonly [Record<Side, number>, Record<Side, number>];
  /** Root-mean-square distance of the two contours on shank and flanks, outside the tip zone, um. */
  readonly residual: number;
};

/** Floors, um: what an honest picture of an honest wedge may still leave. */
const CHANGE_FLOOR = 0.9;
/** Lit from the front: what a lamp a little elsewhere makes of a shaded edge. */
const LIT_CHANGE_FLOOR = 2.2;
const SHAPE_FLOOR = 1.6;
/** Contours of one part that differ by more than this on the flanks cannot be compared, um. */
const WORST_RESIDUAL = 1.2;

function interpolate(o: Offsets, s: number): number {
  const n = o.s.length;
  const at = (s - o.s[0]) / (o.s[1] - o.s[0]);
  if (at < 0 || at > n - 1) return NaN;
  const i = Math.min(n - 2, Math.floor(at));
  return o.delta[i] + (at - i) * (o.delta[i + 1] - o.delta[i]);
}

function differenceOf(baseline: Offsets, later: Offsets): Registered['change'] {
  const value = later.delta.map((d, i) => d - interpolate(baseline, later.s[i]));
  const finite = Array.from(value).filter(Number.isFinite);
  const noise = Math.max(0.04, 1.4826 * median(finite.map(Math.abs)));
  return { s: later.s, value, noise };
}

type Seen = Omit<Registered, 'pair' | 'residual' | 'beside'>;

function look(pair: PairFit): Seen {
  const parameters = [localParameters(pair, 0), localParameters(pair, 1)] as const;
  const departures = ([0, 1] as const).map((i) =>
    departuresOf(pair.captures[i], pair.problem.parts[i].model, parameters[i], SHAPE_FLOOR),
  );
  const change = differenceOf(departures[0].offsets, departures[1].offsets);
  const lit = pair.captures.some(({ darkPart }) => !darkPart);
  const threshold = Math.max(lit ? LIT_CHANGE_FLOOR : CHANGE_FLOOR, 5 * change.noise);
  const runs = runsBeyond(change.s, change.value, threshold, 2);
  const odd = departures[0].runs;
  return {
    parameters,
    offsets: [departures[0].offsets, departures[1].offsets],
    change,
    runs: [
      ...(lit ? runs.filter((run) => !odd.some((other) => meet(run, other))) : runs),
      ...oddCuts(pair, parameters),
    ],
    baselineRuns: odd,
  };
}

/**
 * Where the baseline of a part lit from the front departs from its own fit already, its shading is not understood there; the
 * shading of the later picture, lit from a little elsewhere, then departs in another way, and nothing need have changed.
 */
const meet = (a: Run, b: Run): boolean => a.from < b.to + BESIDE && b.from < a.to + BESIDE;
const BESIDE = 3;

/**
 * Grooves have walls at 45 degrees, and a stylus in its cartridge leans by a few; a new loss that lies elsewhere on the tip
 * was not worn there by a groove. The fit takes the plane that it likes best for it, far from what it is told of walls.
 */
const MOST_TILT = (6.5 * Math.PI) / 180;
/** More than the depth that a fit may give one wall by mistake, um. */
const LEAST_CUT = 0.5;

/** Or than so many of its standard deviations: what glints and dark rims hide can have any depth. */
const SURE_CUT = 8;

/** Cuts of the later capture that no groove makes, as the chips that they must be. */
function oddCuts(
  { fitted, problem, maps }: PairFit,
  [baseline, later]: readonly [Float64Array, Float64Array],
): Run[] {
  const wedge = wedgeOf(later);
  return SIDES.flatMap((side, k) => {
    const [tilt, depth] = [later[4 + k], later[6 + k]];
    const sd = Math.sqrt(Math.max(0, fitted.covariance[maps[1][6 + k] * (problem.size + 1)]));
    if (Math.abs(tilt) < MOST_TILT || depth - baseline[6 + k] < Math.max(LEAST_CUT, SURE_CUT * sd)) return [];
    const half = wedge.radius * Math.asin(Math.min(1, flatWidth(wedge, side) / (2 * wedge.radius)));
    const at = (k === 0 ? -1 : 1) * wedge.radius * (Math.PI / 4 - tilt);
    return [{ from: at - half, to: at + half, extreme: -depth, at }];
  });
}

/** Root-mean-square of the change outside the tip zone, or on the outer fifth where the flanks end earlier. */
function residualOutside(change: Registered['change'], p: ArrayLike<number>): number {
  const last = change.s[change.s.length - 1];
  const from = Math.min(tipZone(p), 0.8 * last);
  const outside: number[] = [];
  change.s.forEach((s, i) => {
    if (Math.abs(s) > from && Number.isFinite(change.value[i])) outside.push(Math.abs(change.value[i]));
  });
  outside.sort((a, b) => a - b);
  // fluff on a flank is no failure of the registration: the middle four fifths count
  const kept = outside.slice(0, Math.max(1, Math.ceil(0.8 * outside.length)));
  return Math.sqrt(kept.reduce((sum, v) => sum + v * v, 0) / kept.length);
}

type Settled = { readonly pair: PairFit; readonly seen: Seen };
const settled = (pair: PairFit): Settled => ({ pair, seen: look(pair) });

/**
 * A fit that counts the foot of a lump as outline leans on it, by flats too wide, a scale too small and an apex too low, and
 * then finds the lump smaller than it is and its foot well explained. So it is tried as well with FOOT left out on either side
 * at first. Silhouettes alone: what departs from a lit part's outline is as often its shading. This is the one that explains
 * better what both took into account.
 */
function better(a: Settled, b: Settled): Settled {
  if (a === b) return a;
  const parts = a.pair.problem.parts;
  const weights = parts.map((part, i) => {
    const other = b.pair.problem.parts[i].mask;
    const [wa, wb] = [a.pair.fitted.weights[i], b.pair.fitted.weights[i]];
    return wa.map((w, k) => (part.mask[k] > 0 && other[k] > 0 ? Math.max(w, wb[k]) : 0));
  });
  const cost = ({ pair: { problem, fitted } }: Settled): number => costOf(problem, fitted, weights);
  return cost(a) <= cost(b) ? a : b;
}

function besideOf(a: Settled, b: Settled): Registered['beside'] {
  const apart = (i: 0 | 1): Record<Side, number> => {
    const [one, other] = [a, b].map(({ seen }) => wedgeOf(seen.parameters[i]));
    const of = (side: Side): number => Math.abs(flatWidth(one, side) - flatWidth(other, side));
    return Object.fromEntries(SIDES.map((side) => [side, of(side)])) as Record<Side, number>;
  };
  return [apart(0), apart(1)];
}

/**
 * Lays the later capture over the baseline by the joint fit: flanks carry the pose, the flats are free in each capture,
 * so that wear cannot pull the registration. Local changes that no flat explains are masked and the fit repeated.
 * @param ratioSd relative standard uncertainty of the ratio of the two scales
 */
export function registerPair(
  cleanBaseline: CleanSingle,
  cleanLater: CleanSingle,
  ratioSd: number,
): Outcome<Registered> {
  const [baseline, later] = [cleanBaseline.fit, cleanLater.fit];
  // what each capture alone already showed to be dirt or damage has no say in the first joint fit either
  const known = [cleanBaseline, cleanLater].map((c) =>
    maskOut(c.runs, c.fit.fitted.p, 1.5 * c.fit.fitted.p[SIGMA]),
  ) as [ReturnType<typeof maskOut>, ReturnType<typeof maskOut>];
  const first = settled(fitPair(baseline, later, { ratioSd, masks: known }));
  const refitted = (from: Settled, beyond: number): Settled => {
    let now = from;
    for (let round = 0; round < 2; round++) {
      const all = [...now.seen.runs, ...now.seen.baselineRuns];
      if (all.length === 0) break;
      // what was added or broken off later leaves the baseline's picture of the place as good as it was
      const masks = ([0, 1] as const).map((i) => {
        const p = now.seen.parameters[i];
        const margin = 1.5 * p[SIGMA] + (round === 0 ? beyond : 0);
        return maskOut(i === 0 ? now.seen.baselineRuns : all, p, margin);
      }) as [ReturnType<typeof maskOut>, ReturnType<typeof maskOut>];
      now = settled(fitPair(baseline, later, { ratioSd, masks, turn: first.pair.turn }));
    }
    return now;
  };
  const close = refitted(first, 0);
  const dark = baseline.prepared.darkPart && later.prepared.darkPart;
  const wide = dark && close !== first ? refitted(first, FOOT) : close;
  const { pair, seen } = better(close, wide);
  const beside = besideOf(close, wide);
  const residual = residualOutside(seen.change, seen.parameters[0]);
  if (!(residual < WORST_RESIDUAL))
    return refuse(
      'registration-failed',
      `The unworn flanks of the two captures do not lie over each other (${Number.isFinite(residual) ? residual.toFixed(1) : 'over 10'}\u00a0µm apart). Clean the part, find the same pose and light again, and check both scales.`,
    );
  return answer({ pair, residual, beside, ...seen });
}
