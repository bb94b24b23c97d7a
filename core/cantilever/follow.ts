import { type AxisFit, fitAxis, type FitPoints } from './axis-fit.ts';
import { type AxisModel, type Frame, footOn, halfAt, toFrame, traceAxis } from './axis-model.ts';
import type { GreyImage } from '../image/grey.ts';
import { SHARED } from './correlated.ts';
import { bendBudget, bendOf, ENOUGH_TWICE } from './budget.ts';
import { endPiece, type EndPoints } from './end-piece.ts';
import { type EvenRange, evenRange } from './even-range.ts';
import { bestOf, ENOUGH_POINTS, evenStretch } from './even-stretch.ts';
import { type Joint, withoutJoint } from './joint.ts';
import { oneEdge } from './one-edge.ts';
import { type Base, withOwnWidths } from './own-width.ts';
import type { RoughAxis } from './path.ts';
import { withoutRimLight } from './rim-light.ts';
import { every, joined, lengthSkipped, pickSections } from './points.ts';
import {
  type EdgePoints,
  measureBlur,
  measureEdges,
  type Rim,
  type Section,
  sectionsOfRough,
} from './sections.ts';
import type { Silhouette } from './silhouette.ts';
import { chordFrame, starts } from './starts.ts';
import { type Walk, walkAlong } from './walk.ts';

export type Followed = {
  readonly frame: Frame;
  readonly fit: AxisFit;
  /** The points that the fit was given. */
  readonly points: FitPoints;
  /** Fractions of the frame's length: where the tube leaves the block, where its even part ends, and its own end. */
  readonly root: number;
  readonly even: number;
  readonly tip: number;
  /** Up to where both edges of every section are used, and up to where anything is: fractions of the frame's length. */
  readonly reached: number;
  readonly seen: number;
  /** How well what is used between them tells its own direction, degrees (standard): a bend may hide in it. */
  readonly seenSlope: number;
  /** Sections of the end piece that took part. */
  readonly endSections: number;
  /** Share of all its sections of which both edges take part, and how many they are. */
  readonly endBoth: number;
  readonly endBothSections: number;
  readonly sigma: number;
  /** Lit from the front. */
  readonly lit: boolean;
  /** What is left open of where the edges of a lit tube lie; `middles`: fractions of the frame's length. */
  readonly rims: readonly Rim[];
  /** Where a piece of another width begins: fraction of the frame's length; half and slope in px and px a section (1 px). */
  readonly joint: Joint | null;
  /** Edges found and used, over edges looked for in the even part. */
  readonly usedShare: number;
  /** By how much the two edges, each on its own, disagree about the bend, degrees. */
  readonly edgeDifference: number;
  /** Share of the even stretch that was left out because its edges disagree. */
  readonly leftOut: number;
  /** By how much the bend changes with the end piece, where it is not the same, degrees. */
  readonly endDifference: number;
};

/**
 * Axis of the tube in two passes: edges across the rough axis, then edges across the fitted one, which reach up to the
 * tube's end. Up to where the width follows its taper both
 * edges count with it; the flattened or widened end piece has a width of its own, and what is glue or diamond on its
 * edges is thrown out by the fit.
 */
export function followAxis(image: GreyImage, shape: Silhouette, rough: RoughAxis): Followed | null {
  const first = sectionsOfRough(rough);
  if (first.length < 40) return null;
  const blur = measureBlur(image, first);
  const steps = blur === null ? null : measureEdges(image, first, blur);
  const seen = lookAtEven(image, first, steps);
  const frame = seen && chordFrame(seen.edges);
  if (!frame) return null;
  const { edges, even } = seen;
  const { sigma } = edges;
  const coarse = search(pickSections(edges, even), frame);
  if (coarse === null) return null;
  const { model, walk } = farthest(shape, frame, [coarse.model, ...starts(edges, frame).slice(0, 1)]);
  const beyond = walk.firstFraction + (walk.sections.length - 1) * walk.step - 1;
  const goesOn = walk.firstFraction < -GOES_ON || beyond > GOES_ON_TO_THE_TIP;
  const longer = goesOn ? wholeTube(image, walk.sections, sigma) : null;
  return longer === null
    ? refine(image, frame, model, sigma, walk)
    : refine(image, longer.frame, longer.model, sigma, walkAlong(shape, longer.frame, longer.model));
}

/**
 * The model whose axis stays longest in the tube. The even part may end within the bend and then tells any bend; the
 * middle of all sections, however uneven, tells roughly where the tube goes.
 */
function farthest(shape: Silhouette, frame: Frame, models: readonly AxisModel[]) {
  const walks = models.map((model) => ({ model, walk: walkAlong(shape, frame, model) }));
  return walks.reduce((best, one) =>
    one.walk.sections.length > CLEARLY * best.walk.sections.length ? one : best,
  );
}

/** Longer by this is longer. */
const CLEARLY = 1.1;
/** Part of the first look's length that the tube goes on behind it, from which on it is looked at anew. */
const GOES_ON = 0.2;
/** Beyond it: more than a pressed or glued end piece takes. */
const GOES_ON_TO_THE_TIP = 0.35;

/** Frame and model of the whole tube, where dirt or shade had cut the first look short. */
function wholeTube(
  image: GreyImage,
  sections: readonly Section[],
  sigma: number,
): { frame: Frame; model: AxisModel } | null {
  const seen = lookAtEven(image, sections, measureEdges(image, sections, sigma));
  if (seen === null) return null;
  const trimmed = pickSections(seen.edges, seen.even);
  const frame = chordFrame(trimmed);
  const coarse = frame && search(trimmed, frame);
  return coarse && { frame, model: coarse.model };
}

/** The same where plain steps will not do: looking behind the edges takes time. */
const lookAtEven = (image: GreyImage, sections: readonly Section[], steps: EdgePoints | null) =>
  evenPart(steps, sections) ?? evenPart(steps && withoutRimLight(image, sections, steps), sections);

/** Edges without a joint's step, and the part over which they follow one taper; null when there is none. */
function evenPart(
  measured: EdgePoints | null,
  sections: readonly Section[],
): { edges: EdgePoints; even: EvenRange } | null {
  if (measured === null) return null;
  const { edges, joint } = withoutJoint(measured, sections, measured.sigma);
  const even = edges && evenRange(edges, measured.sigma, joint);
  return edges && even && { edges, even };
}

/** Best of several starts on thinned points, then once with all. */
function search(edges: EdgePoints, frame: Frame): AxisFit | null {
  const thin = every(edges, Math.max(1, Math.floor(edges.x.length / ENOUGH_POINTS)));
  const best = bestOf(thin, frame, starts(edges, frame), 6);
  return best && fitAxis(edges, frame, best.model, 4);
}

function refine(
  image: GreyImage,
  frame: Frame,
  start: AxisModel,
  blur: number,
  { sections, firstFraction, step }: Walk,
): Followed | null {
  const steps = measureEdges(image, sections, blur);
  const clear = steps && withoutRimLight(image, sections, steps);
  const sigma = clear?.sigma ?? blur;
  const { edges, joint } = withoutJoint(clear, sections, sigma);
  if (edges === null) return null;
  const stretch = evenStretch(edges, joint, frame, start, sigma, { firstFraction, step });
  if (stretch === null) return null;
  const { agreed, widest } = stretch;
  const { even, difference } = agreed;
  const ends = even.to < widest.to ? null : endPiece(edges, even.to, even.taper, sigma);
  const even0: Base = { points: agreed.trimmed, fit: agreed.plain, reached: even.to };
  const foundOn = (base: Base, points: FitPoints, fit: AxisFit): Followed => ({
    frame,
    fit,
    points,
    root: firstFraction,
    even: firstFraction + even.to * step,
    tip: firstFraction + (sections.length - 1) * step,
    reached: firstFraction + base.reached * step,
    seen: firstFraction + base.reached * step,
    seenSlope: 0,
    endSections: fit === base.fit ? 0 : endWeight(fit, base.points.x.length),
    ...(fit === base.fit || ends === null
      ? { endBoth: 0, endBothSections: 0 }
      : bothOf(fit, base.points.x.length, ends.edges)),
    sigma,
    lit: edges.lit,
    rims: edges.rims.map((rim) => ({ ...rim, middles: rim.middles.map((k) => firstFraction + k * step) })),
    joint: joint && { ...joint, after: firstFraction + joint.after * step },
    usedShare:
      agreed.plain.weight.filter((w) => w > 0.1).length /
      Math.max(1, 2 * (even.to - even.from - lengthSkipped(even))),
    edgeDifference: difference,
    leftOut: stretch.leftOut,
    endDifference: 0,
  });
  const evenAlone = foundOn(even0, even0.points, even0.fit);
  const doubt = bendBudget(evenAlone).combined.expanded;
  const wider = withOwnWidths(edges, agreed, widest, ends?.edges ?? null, frame, sigma).find(
    (one) => Math.abs(bendIn(evenAlone, one.fit) - bendIn(evenAlone, even0.fit)) <= doubt,
  );
  const base = wider ?? even0;
  const { points: trimmed, fit: plain } = base;
  const found = (points: FitPoints, fit: AxisFit): Followed => foundOn(base, points, fit);
  const without = found(trimmed, plain);
  if (ends === null) return without;
  const points = joined(trimmed, ends.edges);
  const fit = withEnd(points, frame, plain, ends.factor, starts(agreed.trimmed, frame, ends.edges));
  if (fit === null) return without;
  const fitted = found(points, fit);
  const seenTwice = fitted.endBoth >= ENOUGH_TWICE;
  const both = seenTwice ? { ...fitted, ...seenIn(fit, trimmed.x.length, frame) } : fitted;
  const told = Math.abs(bendIn(both, fit) - bendIn(without, plain));
  if (seenTwice && told < EDGES_AGREE_DEG) return surer(without, both);
  const alone = ([2, -2] as const).map((side) => oneEdge(points, trimmed.x.length, side, frame, fit));
  if (seenTwice) {
    const own = alone.flatMap((one) => (one === null ? [] : [bendIn(both, one.fit)]));
    const together = bendIn(both, fit);
    if (spread([together, ...own]) < Math.max(EDGES_AGREE_DEG, EDGES_AGREE * Math.abs(together)))
      return surer(without, both);
    const doubted = surer(without, { ...both, endBoth: 0, endBothSections: 0 });
    const apart = spread([bendIn(without, plain), together, ...own]);
    return { ...doubted, edgeDifference: Math.max(difference, apart), endDifference: apart };
  }
  const single = alone.reduce((a, b) => ((b?.share ?? 0) > (a?.share ?? 0) ? b : a));
  if (single === null || single.share < CLEAN_EDGE) return surer(without, both);
  const seen = seenIn(single.fit, trimmed.x.length, frame);
  const sole = { ...found(single.points, single.fit), endBoth: both.endBoth, ...seen };
  const apart = Math.abs(bendIn(both, fit) - bendIn(both, single.fit));
  const answer = surer(without, sole);
  return { ...answer, endDifference: Math.max(answer.endDifference, apart) };
}

/** Bend of a fit between the ends of what was followed, degrees. */
const bendIn = ({ root, tip }: Followed, { model }: AxisFit): number => bendOf(model, root, tip);

/**
 * An end piece that changes the bend by more must do so with either edge, degrees: a lump of glue on one side of a wider
 * end looks like a bent axis to both edges together, and each alone then tells another bend.
 */
const EDGES_AGREE_DEG = 0.3;
/** Or by this part of the bend. */
const EDGES_AGREE = 0.5;

const spread = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);

/** Share of one edge's points in the end piece that must follow the axis for it to be taken alone. */
const CLEAN_EDGE = 0.8;

/** Bends with and without the end piece that lie closer are the same, degrees. */
const SAME_DEG = 0.1;
/** Share of the end piece that must show both edges to move the bend; one edge alone only says that nothing contradicts. */
const LEAST_BOTH = 0.1;
/** An even part that tells the bend this well needs no help from a single edge, or from two, degrees. */
const GOOD_ALONE_DEG = { oneEdge: 0.4, bothEdges: 0.2 };
/** Deviations beyond which two edges of the end piece prove that the tube goes on bending there. */
const PROVED = 4;
/** Half widths over which both must be seen to move the bend: glue and the end's rim run side by side for less. */
const LEAST_PROOF = 0.8;

/**
 * The end piece carries the axis on to the tip, or bends it where glue hides one of its edges: when it tells another bend
 * than the even part alone, the even part if that is good, unless both edges of the end piece contradict it clearly; else
 * whichever leaves less in doubt.
 */
function surer(without: Followed, withEnds: Followed): Followed {
  const bend = (f: Followed): number => bendOf(f.fit.model, f.root, f.tip);
  const endDifference = Math.abs(bend(without) - bend(withEnds));
  const standard = (f: Followed): number => bendBudget(f).combined.standard;
  const [alone, together] = [standard(without), standard(withEnds)];
  const twoEdges = withEnds.endBoth > LEAST_BOTH;
  if (twoEdges && endDifference < Math.max(SAME_DEG, alone)) return withEnds;
  const short = withEnds.endBothSections < LEAST_PROOF * withEnds.fit.model.tipHalf;
  if (twoEdges && short) return { ...without, endSections: withEnds.endSections, endDifference };
  const proved = twoEdges && endDifference > PROVED * Math.hypot(alone, together);
  // What the end piece does not contradict was seen in it.
  const { seen, seenSlope } = endDifference < SAME_DEG ? withEnds : without;
  if (!proved && alone < (twoEdges ? GOOD_ALONE_DEG.bothEdges : GOOD_ALONE_DEG.oneEdge))
    return { ...without, endSections: withEnds.endSections, endDifference, seen, seenSlope };
  return { ...(alone < together ? without : withEnds), endDifference };
}

/**
 * The fit with the end piece, started from its commonest width and from each edge's own distance to the continued
 * axis (one side may be all glue and diamond), and from bends that lead into its middle: the even part may end within the
 * bend, and what it tells of the rest is a guess. The start that explains most points wins.
 */
function withEnd(
  points: FitPoints,
  frame: Frame,
  plain: AxisFit,
  factor: number,
  leadingThere: readonly AxisModel[],
): AxisFit | null {
  const models = [plain.model, ...leadingThere].flatMap((model) => {
    const curve = traceAxis(model, frame.length, 0.6);
    const own = (side: 2 | -2): number[] => {
      const ratios: number[] = [];
      for (let i = 0; i < points.x.length; i++) {
        if (points.side[i] !== side) continue;
        const [u, v] = toFrame(frame, points.x[i], points.y[i]);
        const [q, d] = footOn(curve, frame.length, u, v);
        ratios.push(((side / 2) * d) / halfAt(model, q));
      }
      const sorted = ratios.toSorted((a, b) => a - b);
      return sorted.length > 5 ? [sorted[Math.floor(sorted.length / 2)]] : [];
    };
    return [factor, ...own(2), ...own(-2)].map((endFactor) => ({ ...model, endFactor }));
  });
  const thin = every(points, Math.max(1, Math.floor(points.x.length / ENOUGH_POINTS)));
  const best = bestOf(thin, frame, models, 4);
  return best && fitAxis(points, frame, best.model, 5);
}

/**
 * Up to where the points of the end piece are used, but for a few, and how well they tell their own direction: a line through
 * points that are evenly spread over a length and of which so many share their scatter.
 */
function seenIn(fit: AxisFit, from: number, frame: Frame): Pick<Followed, 'seen' | 'seenSlope'> {
  const used = Array.from(fit.along.subarray(from)).filter((_, i) => fit.weight[from + i] > 0.3);
  const last = (list: readonly number[]): number =>
    list.toSorted((a, b) => a - b)[Math.floor(0.95 * (list.length - 1))];
  if (used.length < LEAST_SEEN)
    return { seen: last(Array.from(fit.along.subarray(0, from))) / frame.length, seenSlope: 0 };
  const to = last(used);
  const length = Math.max(1, to - used.reduce((a, b) => Math.min(a, b)));
  const slope = (fit.spread * Math.sqrt((12 * SHARED) / used.length)) / length;
  return { seen: to / frame.length, seenSlope: (slope * 180) / Math.PI };
}
/** Fewer points of the end piece show nothing. */
const LEAST_SEEN = 12;

/** Sections of the end piece that take part, counted as pairs of edges. */
const endWeight = (fit: AxisFit, from: number): number =>
  Math.round(fit.weight.subarray(from).reduce((sum, w) => sum + w, 0) / 2);

/** Sections of the end piece of which both edges take part, and their share; 0 for a fit with one edge. */
function bothOf(
  fit: AxisFit,
  from: number,
  { section, x }: EndPoints,
): Pick<Followed, 'endBoth' | 'endBothSections'> {
  if (fit.weight.length !== from + x.length) return { endBoth: 0, endBothSections: 0 };
  const used = new Map<number, number>();
  section.forEach((k, i) => used.set(k, (used.get(k) ?? 0) + (fit.weight[from + i] > 0.3 ? 1 : 0)));
  const both = [...used.values()].filter((n) => n === 2).length;
  return { endBoth: both / Math.max(1, used.size), endBothSections: both };
}
