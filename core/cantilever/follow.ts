import {
  type AxisFit,
  type AxisModel,
  type Frame,
  fitAxis,
  footOn,
  headingAt,
  toFrame,
  pointOn,
  traceAxis,
} from './axis-model.ts';
import type { GreyImage } from '../image/grey.ts';
import { bendBudget, bendOf, CORRELATION } from './budget.ts';
import { edgeBends } from './edgewise.ts';
import { evened, findJoint, type Joint } from './joint.ts';
import type { RoughAxis } from './path.ts';
import { type EdgePoints, measureBlur, measureEdges, type Section, sectionsOfRough } from './sections.ts';
import type { Silhouette } from './silhouette.ts';
import { chordFrame, pairs, robustLinear, starts } from './starts.ts';

export type Followed = {
  readonly frame: Frame;
  readonly fit: AxisFit;
  /** The points that the fit was given. */
  readonly points: FitPoints;
  /** Fractions of the frame's length: where the tube leaves the block, where its even part ends, and its own end. */
  readonly root: number;
  readonly even: number;
  readonly tip: number;
  /** Sections of the end piece that took part. */
  readonly endSections: number;
  readonly sigma: number;
  readonly contrast: number;
  /** Where a piece of another width begins: fraction of the frame's length; half and slope in px and px a section (1 px). */
  readonly joint: Joint | null;
  /** Edges found and used, over edges looked for in the even part. */
  readonly usedShare: number;
  /** By how much the two edges, each on its own, disagree about the bend, degrees. */
  readonly edgeDifference: number;
  /** By how much the bend changes with the end piece, where it is not the same, degrees. */
  readonly endDifference: number;
};

export type FitPoints = Pick<EdgePoints, 'x' | 'y' | 'side'>;

/**
 * Axis of the tube in two passes: edges across the rough axis, then edges across the fitted one, which reach up to the
 * tube's end. Up to where the width follows its taper both
 * edges count with it; the flattened or widened end piece has a width of its own, and what is glue or diamond on its
 * edges is thrown out by the fit.
 */
export function followAxis(image: GreyImage, shape: Silhouette, rough: RoughAxis): Followed | null {
  const first = sectionsOfRough(rough);
  if (first.length < 40) return null;
  const sigma = measureBlur(image, first);
  if (sigma === null) return null;
  const { edges, joint } = withoutJoint(measureEdges(image, first, sigma), first, sigma);
  const frame = edges && chordFrame(edges);
  if (!frame) return null;
  const even = evenRange(edges, sigma, joint);
  if (even === null) return null;
  const trimmed = pickSections(edges, even.from, even.to);
  const coarse = search(trimmed, frame);
  return coarse && refine(image, shape, frame, coarse.model, sigma);
}

function withoutJoint(edges: EdgePoints | null, sections: readonly Section[], sigma: number) {
  const joint = edges && findJoint(edges, sigma);
  return { edges: edges && joint ? evened(edges, sections, joint, sigma) : edges, joint };
}

/** Best of several starts on thinned points, then once with all. */
function search(edges: EdgePoints, frame: Frame): AxisFit | null {
  const thin = every(edges, Math.max(1, Math.floor(edges.x.length / 300)));
  let best: AxisFit | null = null;
  for (const start of starts(edges, frame)) {
    const fit = fitAxis(thin, frame, start, 6);
    if (fit !== null && (best === null || fit.cost < best.cost)) best = fit;
  }
  return best && fitAxis(edges, frame, best.model, 4);
}

function refine(
  image: GreyImage,
  shape: Silhouette,
  frame: Frame,
  start: AxisModel,
  sigma: number,
): Followed | null {
  const { sections, firstFraction, step } = sectionsOfModel(shape, frame, start);
  const { edges, joint } = withoutJoint(measureEdges(image, sections, sigma), sections, sigma);
  const widest = edges && evenRange(edges, sigma, joint);
  if (!edges || widest === null) return null;
  const agreed = agreeingPart(edges, widest, frame, start, { firstFraction, step });
  if (agreed === null) return null;
  const { even, trimmed, plain, difference } = agreed;
  const ends = even.to < widest.to ? null : endPiece(edges, even.to, even.taper, sigma);
  const found = (points: FitPoints, fit: AxisFit): Followed => ({
    frame,
    fit,
    points,
    root: firstFraction,
    even: firstFraction + even.to * step,
    tip: firstFraction + (sections.length - 1) * step,
    endSections: fit === plain ? 0 : endWeight(fit, trimmed.x.length),
    sigma,
    contrast: edges.contrast,
    joint: joint && { ...joint, after: firstFraction + joint.after * step },
    usedShare:
      fit.weight.subarray(0, trimmed.x.length).filter((w) => w > 0.1).length /
      Math.max(1, 2 * (even.to - even.from)),
    edgeDifference: difference,
    endDifference: 0,
  });
  const without = found(trimmed, plain);
  if (ends === null) return without;
  const points = joined(trimmed, ends.edges);
  const fit = withEnd(points, frame, plain, ends.factor);
  return fit === null ? without : surer(without, found(points, fit));
}

/** Bends with and without the end piece that lie closer are the same, degrees. */
const SAME_DEG = 0.1;

/**
 * The end piece carries the axis on to the tip, or bends it where glue hides one of its edges: when it tells another bend
 * than the even part alone, whichever leaves less in doubt.
 */
function surer(without: Followed, withEnds: Followed): Followed {
  const bend = (f: Followed): number => bendOf(f.fit.model, f.root, f.tip);
  const endDifference = Math.abs(bend(without) - bend(withEnds));
  const standard = (f: Followed): number => bendBudget(f).combined.standard;
  if (endDifference < Math.max(SAME_DEG, standard(without))) return withEnds;
  const best = standard(without) < standard(withEnds) ? without : withEnds;
  return { ...best, endDifference };
}

/** Parts of the even stretch left out at either end while the edges disagree about the bend: of its length. */
const CUTS = [0, 0.07, 0.14, 0.21, 0.28, 0.35];
const MOST_CUT = 0.42;
/** Edges that agree within this many of their own deviations, or degrees, are left alone. */
const AGREED = 3.5;
const AGREED_DEG = 0.15;

type Agreed = { even: EvenRange; trimmed: EdgePoints; plain: AxisFit; difference: number };

/**
 * The even stretch, or so much of it that both edges tell the same bend: a lump or a highlight at one end bends one edge
 * only. Of several parts the one that leaves least in doubt.
 */
function agreeingPart(
  edges: EdgePoints,
  widest: EvenRange,
  frame: Frame,
  start: AxisModel,
  { firstFraction, step }: { firstFraction: number; step: number },
): Agreed | null {
  const part = (even: EvenRange, first: boolean): (Agreed & { doubt: number; sure: boolean }) | null => {
    const trimmed = pickSections(edges, even.from, even.to);
    const coarse = first ? start : search(trimmed, frame)?.model;
    const plain = coarse ? fitAxis(trimmed, frame, coarse, 6) : null;
    const bends = plain && edgeBends(plain, trimmed.side, frame);
    if (plain === null || bends === null) return null;
    const degrees = (rad: number): number => (rad * 180) / Math.PI;
    const difference = Math.abs(degrees(bends.difference));
    const scatter = CORRELATION * degrees(bends.standard);
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
      doubt: Math.hypot(difference / 2, scatter, 0.3 * beyond),
      sure: difference < Math.max(AGREED_DEG, AGREED * scatter),
    };
  };
  let best = part(widest, true);
  if (best === null || best.sure) return best;
  const length = widest.to - widest.from;
  for (const tip of CUTS)
    for (const root of CUTS) {
      if (tip + root === 0 || tip + root > MOST_CUT) continue;
      const from = Math.round(widest.from + root * length);
      const here = part({ ...widest, from, to: Math.round(widest.to - tip * length) }, false);
      if (here !== null && here.doubt < best.doubt) best = here;
    }
  return best;
}

/** Sections across the fitted axis from the block to the tube's end, half widths read from the mask. */
function sectionsOfModel(shape: Silhouette, frame: Frame, model: AxisModel) {
  const curve = traceAxis(model, frame.length, 0.6);
  const on = (x: number, y: number): boolean => {
    const i = Math.floor((x + 0.5) / shape.factor);
    const j = Math.floor((y + 0.5) / shape.factor);
    return i >= 0 && j >= 0 && i < shape.width && j < shape.height && shape.mask[j * shape.width + i] === 1;
  };
  const widest = 3 * Math.max(model.rootHalf, model.tipHalf);
  const march = (x: number, y: number, dx: number, dy: number): number => {
    let d = 0;
    while (d < widest && on(x + dx * d, y + dy * d)) d += 0.5;
    return d;
  };
  const step = 1 / frame.length;
  const sections: Section[] = [];
  let firstFraction = Number.NaN;
  let missing = 0;
  for (let q = -0.12; q < 1.55; q += step) {
    const place = pointOn(curve, frame, q);
    if (!on(place.x, place.y)) {
      // A dark ring about the diamond is a hole in the mask, not the tube's end.
      missing++;
      if (q > 0.5 && missing > 1.2 * model.rootHalf) break;
      if (sections.length === 0 || q <= 0.5) continue;
    } else missing = 0;
    const half = model.rootHalf + (model.tipHalf - model.rootHalf) * q;
    const right = march(place.x, place.y, place.nx, place.ny);
    const left = march(place.x, place.y, -place.nx, -place.ny);
    // Inside the block: wider than the tube on both sides.
    if (q < 0.3 && (right > 1.35 * half + 3 || left > 1.35 * half + 3)) {
      sections.length = 0;
      firstFraction = Number.NaN;
      continue;
    }
    if (sections.length === 0) firstFraction = q;
    sections.push({ ...place, right, left });
  }
  sections.length -= Math.min(missing, sections.length);
  return { sections, firstFraction, step };
}

type EvenRange = { readonly from: number; readonly to: number; readonly taper: readonly [number, number] };

/** Width at each section where both edges were found; NaN elsewhere. */
function widths(edges: EdgePoints): Float64Array {
  const out = new Float64Array(edges.sections).fill(Number.NaN);
  for (const [section, i, j] of pairs(edges))
    out[section] = Math.hypot(edges.x[i] - edges.x[j], edges.y[i] - edges.y[j]);
  return out;
}

/**
 * Sections over which the width follows one straight taper: from the middle outwards until it departs by more than 3 %
 * (1 px at least) for good, then back by twice the blur.
 */
function evenRange(edges: EdgePoints, sigma: number, joint: Joint | null): EvenRange | null {
  const w = widths(edges);
  const n = w.length;
  const middleOnes = Array.from(w.keys()).filter((k) => k > 0.15 * n && k < 0.7 * n && w[k] > 0);
  if (middleOnes.length < 30) return null;
  const taper = robustLinear(
    Float64Array.from(middleOnes.flatMap((k) => [1, k])),
    Float64Array.from(middleOnes, (k) => w[k]),
    2,
  );
  if (taper === null) return null;
  const [a, b] = taper.p;
  // Next to a joint nothing was measured on purpose.
  const left = (k: number): boolean => joint !== null && Math.abs(k - joint.after) <= 2 * sigma + 3;
  const off = (k: number): boolean =>
    !left(k) && !(Math.abs(w[k] - a - b * k) < Math.max(1, 0.03 * (a + b * k)));
  // It ends where most of the next sections are off; a few wrong ones on the way do not matter.
  const ahead = 24;
  const go = (from: number, sense: -1 | 1): number => {
    let last = from;
    for (let k = from; k >= 0 && k < n; k += sense) {
      if (off(k)) {
        let bad = 0;
        let seen = 0;
        for (let j = k; Math.abs(j - k) < ahead && j >= 0 && j < n; j += sense)
          if (!left(j)) {
            seen++;
            if (off(j)) bad++;
          }
        if (bad > 0.6 * seen) break;
      } else last = k;
    }
    return last;
  };
  const centre = Math.round(0.42 * n);
  const margin = Math.ceil(2 * sigma);
  const from = go(centre, -1) + margin;
  const to = go(centre, 1) - margin;
  return to - from < Math.max(40, 0.3 * n) ? null : { from, to, taper: [a, b] };
}

/**
 * Edges of the end piece: from the first section whose width agrees with the commonest ratio to the taper there, up to
 * shortly before the end. Lumps of glue and the diamond are among them; the fit throws them out. null when the piece
 * shows no width of its own.
 */
function endPiece(
  edges: EdgePoints,
  from: number,
  [a, b]: readonly [number, number],
  sigma: number,
): { edges: FitPoints; factor: number } | null {
  const cap = edges.sections - Math.ceil(3 * sigma + 2);
  const list = pairs(edges)
    .filter(([k]) => k > from && k < cap)
    .map(([section, i, j]) => ({
      section,
      ratio: Math.hypot(edges.x[i] - edges.x[j], edges.y[i] - edges.y[j]) / (a + b * section),
    }));
  const best = list.reduce<typeof list>((most, item) => {
    const these = list.filter((other) => Math.abs(other.ratio - item.ratio) < 0.015);
    return these.length > most.length ? these : most;
  }, []);
  if (best.length < 8) return null;
  const start = Math.min(...best.map((item) => item.section));
  const keep = Array.from(edges.x.keys()).filter((i) => edges.section[i] >= start && edges.section[i] < cap);
  return {
    edges: {
      x: Float64Array.from(keep, (i) => edges.x[i]),
      y: Float64Array.from(keep, (i) => edges.y[i]),
      side: Int8Array.from(keep, (i) => 2 * edges.side[i]),
    },
    factor: best.reduce((sum, item) => sum + item.ratio, 0) / best.length,
  };
}

function joined(one: FitPoints, two: FitPoints): FitPoints {
  return {
    x: Float64Array.from([...one.x, ...two.x]),
    y: Float64Array.from([...one.y, ...two.y]),
    side: Int8Array.from([...one.side, ...two.side]),
  };
}

/**
 * The fit with the end piece, started from its commonest width and from each edge's own distance to the continued
 * axis (one side may be all glue and diamond); the start that explains most points wins.
 */
function withEnd(points: FitPoints, frame: Frame, plain: AxisFit, factor: number): AxisFit | null {
  const curve = traceAxis(plain.model, frame.length, 0.6);
  const own = (side: 2 | -2): number[] => {
    const ratios: number[] = [];
    for (let i = 0; i < points.x.length; i++) {
      if (points.side[i] !== side) continue;
      const [u, v] = toFrame(frame, points.x[i], points.y[i]);
      const [q, d] = footOn(curve, frame.length, u, v);
      ratios.push(
        ((side / 2) * d) / (plain.model.rootHalf + (plain.model.tipHalf - plain.model.rootHalf) * q),
      );
    }
    const sorted = ratios.toSorted((a, b) => a - b);
    return sorted.length > 5 ? [sorted[Math.floor(sorted.length / 2)]] : [];
  };
  let best: AxisFit | null = null;
  for (const endFactor of [factor, ...own(2), ...own(-2)]) {
    const fit = fitAxis(points, frame, { ...plain.model, endFactor }, 6);
    if (fit !== null && (best === null || fit.cost < best.cost)) best = fit;
  }
  return best;
}

/** Sections of the end piece that take part, counted as pairs of edges. */
const endWeight = (fit: AxisFit, from: number): number =>
  Math.round(fit.weight.subarray(from).reduce((sum, w) => sum + w, 0) / 2);

function pickSections(edges: EdgePoints, from: number, to: number): EdgePoints {
  const keep = Array.from(edges.x.keys()).filter((i) => edges.section[i] >= from && edges.section[i] <= to);
  return {
    ...edges,
    x: Float64Array.from(keep, (i) => edges.x[i]),
    y: Float64Array.from(keep, (i) => edges.y[i]),
    side: Int8Array.from(keep, (i) => edges.side[i]),
    section: Int32Array.from(keep, (i) => edges.section[i] - from),
    standard: Float64Array.from(keep, (i) => edges.standard[i]),
    sections: to - from + 1,
  };
}

function every(edges: EdgePoints, stride: number): Pick<EdgePoints, 'x' | 'y' | 'side'> {
  const keep = Array.from({ length: Math.ceil(edges.x.length / stride) }, (_, i) => i * stride);
  return {
    x: Float64Array.from(keep, (i) => edges.x[i]),
    y: Float64Array.from(keep, (i) => edges.y[i]),
    side: Int8Array.from(keep, (i) => edges.side[i]),
  };
}
