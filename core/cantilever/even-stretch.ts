import { AXIS_PARAMETERS, type AxisFit, fitAxis, type FitPoints } from './axis-fit.ts';
import { type AxisModel, type Frame, headingAt } from './axis-model.ts';
import { bendOf, CORRELATION, UNSEEN_DEG } from './budget.ts';
import { edgeBends } from './edgewise.ts';
import { type EvenRange, evenRange, QUITE_EVEN } from './even-range.ts';
import type { Joint } from './joint.ts';
import { every, pickSections } from './points.ts';
import type { EdgePoints } from './sections.ts';
import { starts } from './starts.ts';

/** Points that tell one start from another. */
export const ENOUGH_POINTS = 300;

/** The start that explains most points. */
export function bestOf(
  points: FitPoints,
  frame: Frame,
  models: readonly AxisModel[],
  rounds: number,
): AxisFit | null {
  let best: AxisFit | null = null;
  for (const model of models) {
    const fit = fitAxis(points, frame, model, rounds);
    if (fit !== null && (best === null || fit.cost < best.cost)) best = fit;
  }
  return best;
}

/** A tube that bends by more is no straight one with a flare, degrees. */
const STRAIGHT_DEG = 1;
/** Part of the even stretch that must be left without its flares. */
const MOST_OF_IT = 0.75;

/** By how much the doubt may grow for leaving out a flare, whose own pull is in no budget. */
const LITTLE_MORE = 1.2;

/** First section's place and the way to the next, fractions of the frame's length. */
type Place = { readonly firstFraction: number; readonly step: number };

export type EvenStretch = {
  readonly agreed: Agreed;
  /** What it was taken from. */
  readonly widest: EvenRange;
  /** Share of all that is even at all which was left out. */
  readonly leftOut: number;
};

/**
 * The part of the tube that tells the bend. A flare at the block, of glue or of the tube itself, begins gently, and its
 * two sides are seldom alike: where hardly any bend is seen, what departs from the taper by little is left out, too, if
 * that leaves hardly more in doubt. In a bend that would cut the tube where it bends, since a width taken askew is no longer even.
 */
export function evenStretch(
  edges: EdgePoints,
  joint: Joint | null,
  frame: Frame,
  start: AxisModel,
  sigma: number,
  place: Place,
): EvenStretch | null {
  const all = evenRange(edges, sigma, joint);
  const first = all && agreeingPart(edges, all, frame, start, place);
  if (!all || first === null) return null;
  const main = mainRun(first);
  const whole = main === null ? first : agreeingPart(edges, main, frame, first.plain.model, place);
  if (whole === null) return null;
  const cut = ({ from, to }: EvenRange): number => Math.max(0, 1 - (to - from) / (all.to - all.from));
  const tip = place.firstFraction + (edges.sections - 1) * place.step;
  const withFlares = { agreed: whole, widest: all, leftOut: cut(whole.even) };
  if (Math.abs(bendOf(whole.plain.model, place.firstFraction, tip)) >= STRAIGHT_DEG) return withFlares;
  const quite = evenRange(edges, sigma, joint, QUITE_EVEN);
  if (quite === null || 1 - cut(quite) <= MOST_OF_IT) return withFlares;
  const agreed = agreeingPart(edges, quite, frame, whole.plain.model, place);
  const doubted =
    agreed === null || doubtOf(agreed, UNSEEN_DEG * cut(quite)) >= LITTLE_MORE * doubtOf(whole, 0);
  return doubted ? withFlares : { agreed, widest: quite, leftOut: cut(agreed.even) };
}

/** A gap between two runs that the fit used, of the stretch, and the sections in it that it threw out: no fibre and no speck. */
const GAP = 0.1;
const THROWN_OUT = 10;
/** A run beyond them that is shorter than this, of the stretch, may suit the rest by chance. */
const SHORT_RUN = 0.15;

/**
 * The stretch without a short run at either end that lies beyond sections of which the fit believed neither edge. Where the edge is
 * hardly brighter than the field, the step from shadow to light is taken for it; there both edges run on side by side, in a
 * wrong place, and where they meet the axis that the rest tells they bend it. Null where there is no such run.
 */
function mainRun({ even, trimmed, plain }: Agreed): EvenRange | null {
  const length = even.to - even.from;
  const used = new Map<number, boolean>();
  trimmed.section.forEach((k, i) => used.set(k, (used.get(k) ?? true) && plain.weight[i] > BELIEVED));
  const list = [...used.keys()].toSorted((a, b) => a - b);
  // from a stretch's end inwards: where the first used one lies behind such a gap
  const cutFrom = (inwards: readonly number[]): number | null => {
    let [run, thrown] = [0, 0];
    let last = inwards[0];
    for (const k of inwards) {
      if (!used.get(k)) {
        thrown++;
        continue;
      }
      if (thrown >= THROWN_OUT && Math.abs(k - last) > GAP * length)
        return run > 0 && run < SHORT_RUN * length ? k : null;
      run++;
      thrown = 0;
      last = k;
    }
    return null;
  };
  const from = cutFrom(list);
  const to = cutFrom(list.toReversed());
  if (from === null && to === null) return null;
  return { ...even, from: even.from + (from ?? 0), to: to === null ? even.to : even.from + to };
}
/** Weight from which on an edge counts as used. */
const BELIEVED = 0.1;

/** What a part leaves in doubt, with the scatter of its edges, degrees (standard). */
const doubtOf = ({ doubt, plain }: Agreed, unseen: number): number => {
  const k = AXIS_PARAMETERS.indexOf('bend');
  const scatter = Math.sqrt(plain.covariance[k * (AXIS_PARAMETERS.length + 1)]) * (180 / Math.PI);
  return Math.hypot(doubt, CORRELATION * scatter, unseen);
};

/** Parts of the even stretch left out at either end while the edges disagree about the bend: of its length. */
const CUTS = [0, 0.07, 0.14, 0.21, 0.28, 0.35];
const MOST_CUT = 0.42;
/** Edges that agree within this many of their own deviations, or degrees, are left alone. */
const AGREED = 3.5;
const AGREED_DEG = 0.15;

export type Agreed = {
  even: EvenRange;
  trimmed: EdgePoints;
  plain: AxisFit;
  difference: number;
  /** Standard uncertainty by which parts are compared, degrees. */
  doubt: number;
};

/**
 * The even stretch, or so much of it that both edges tell the same bend: a lump or a highlight at one end bends one edge
 * only. Of several parts the one that leaves least in doubt.
 */
function agreeingPart(
  edges: EdgePoints,
  widest: EvenRange,
  frame: Frame,
  start: AxisModel,
  { firstFraction, step }: Place,
): Agreed | null {
  // Parts are compared by every few points; what is chosen is fitted with all.
  const part = (even: EvenRange, from: AxisModel | null): (Agreed & { sure: boolean }) | null => {
    const trimmed = pickSections(edges, even);
    const stride = from === null ? Math.max(1, Math.floor((2 * trimmed.x.length) / ENOUGH_POINTS)) : 1;
    const points = stride > 1 ? every(trimmed, stride) : trimmed;
    const plain =
      from === null
        ? bestOf(points, frame, starts(trimmed, frame).slice(0, 2), 4)
        : fitAxis(points, frame, from, 6);
    const bends = plain && edgeBends(plain, points.side, frame);
    if (plain === null || bends === null) return null;
    const unseen = 1 - (even.to - even.from) / (widest.to - widest.from);
    const degrees = (rad: number): number => (rad * 180) / Math.PI;
    const difference = Math.abs(degrees(bends.difference));
    const scatter = (CORRELATION * degrees(bends.standard)) / Math.sqrt(stride);
    const beyond = [
      [firstFraction + even.to * step, firstFraction + widest.to * step],
      [firstFraction + widest.from * step, firstFraction + even.from * step],
    ].reduce(
      (sum, [a, b]) => sum + Math.abs(degrees(headingAt(plain.model, b) - headingAt(plain.model, a))),
      0,
    );
    return {
      even,
      trimmed,
      plain,
      difference,
      doubt: Math.hypot(difference / 2, scatter, 0.3 * beyond, UNSEEN_DEG * unseen),
      sure: difference < Math.max(AGREED_DEG, AGREED * scatter),
    };
  };
  let best = part(widest, start);
  if (best === null || best.sure) return best;
  const length = widest.to - widest.from;
  for (const tip of CUTS)
    for (const root of CUTS) {
      if (tip + root === 0 || tip + root > MOST_CUT) continue;
      const from = Math.round(widest.from + root * length);
      const here = part({ ...widest, from, to: Math.round(widest.to - tip * length) }, null);
      if (here !== null && here.doubt < best.doubt) best = here;
    }
  return part(best.even, best.plain.model);
}
