import type { BudgetLine } from '../../shared/index.ts';
import { combineBudget, type Combined, fromHalfWidth } from '../uncertainty/index.ts';
import { AXIS_PARAMETERS } from './axis-fit.ts';
import { headingAt, traceAxis, pointOn, type AxisModel } from './axis-model.ts';
import { correlationOf, SHARED } from './correlated.ts';
import type { Followed } from './follow.ts';
import type { Rim } from './sections.ts';

const DEGREE = 180 / Math.PI;
/**
 * Residuals of neighbouring sections are not independent: the deviation that the fit states is too small by at least this
 * factor, by more where the residuals themselves say so.
 */
export const CORRELATION = Math.sqrt(SHARED);
/** Shading that wanders from one edge to the other, degrees. */
const SHADING_DEG = 0.02;
/** A mirrored lamp beside an edge draws it inwards or outwards by up to this part of the blur, more here than there. */
const DRAWN = 0.12;
/** A lens that bends lines by up to 1 % at the frame's corner, with the part anywhere near the middle, degrees. */
const LENS_DEG = 0.04;
/** What may be bent in a part that is left out because its edges disagree, degrees for the whole even stretch. */
export const UNSEEN_DEG = 0.7;
/** Part of the bend beyond the last usable section that the assumed course may get wrong. */
const EXTRAPOLATED = 0.12;
/**
 * Part of the bend that shows in the end piece alone: glue on one edge of a pressed end looks just like it. Glue does not
 * keep both edges parallel to one bent axis, so where both take part over a third of the piece it is believed.
 */
const AT_THE_END = 0.5;
const SEEN_TWICE = 0.1;
export const ENOUGH_TWICE = 0.33;
/** Where one edge alone is wrong, the mean of both is wrong by half of what they disagree: taken for two deviations. */
const DISAGREED = 0.25;
/** Of what the end piece would change in the bend, where it is in doubt. */
const END_PIECE = 0.5;
/** An end piece that tells more than this is seen to be a lump or a diamond, degrees. */
const MOST_BELIEVED_DEG = 2;
/** Of the bend that one bowed edge alone would look like. */
const ONE_EDGE = 0.5;
/** What must still be seen of the straight piece behind a bend, as a fraction of the chord. */
const STRAIGHT_AFTER = 0.08;

/** Change of heading from root to tip, degrees, clockwise on screen positive. */
export function bendOf(model: AxisModel, root: number, tip: number): number {
  return (headingAt(model, tip) - headingAt(model, root)) * DEGREE;
}

/** Uncertainty of the bend angle, degrees, line by line. */
export function bendBudget(found: Followed): { readonly lines: BudgetLine[]; readonly combined: Combined } {
  const { fit } = found;
  const gradient = bendGradient(found);
  const open = leftOpen(found, gradient);
  const lines: BudgetLine[] = [
    {
      source: 'edge noise',
      standard: Math.max(CORRELATION, correlationOf(fit, found.points.side)) * fitNoise(found, gradient),
      type: 'A',
      degreesOfFreedom: Math.max(10, fit.weight.length / 20),
      note: 'scatter of the edges about the fitted axis',
    },
    {
      source: 'shading',
      standard: Math.hypot(SHADING_DEG, found.lit ? drawnEdge(found) : 0, open),
      type: 'B',
      degreesOfFreedom: null,
      note: found.lit
        ? 'lamps mirrored beside the blurred edges, and limbs as dark as the field'
        : 'uneven light on the tube',
    },
    {
      source: 'lens',
      standard: LENS_DEG,
      type: 'B',
      degreesOfFreedom: null,
      note: 'distortion up to 1 % assumed',
    },
    {
      source: 'course of the bend',
      standard: Math.hypot(
        EXTRAPOLATED * unseenBend(found),
        doubtAtTheEnd(found) * bendAtTheEnd(found),
        UNSEEN_DEG * found.leftOut,
        fromHalfWidth(goingOn(found, found.seen)),
        Math.min(found.seenSlope, fromHalfWidth(goingOn(found, found.reached))),
      ),
      type: 'B',
      degreesOfFreedom: null,
      note: 'bend beyond the last section that could be used, or seen in the end piece alone',
    },
    {
      source: 'edges',
      standard: Math.hypot(
        DISAGREED * found.edgeDifference,
        END_PIECE * doubtAtTheEnd(found) * Math.min(MOST_BELIEVED_DEG, found.endDifference),
        // what is left open of an edge's place may show as such a bow: counted once
        found.lit ? beyond(ONE_EDGE * bowOfOneEdge(found), open) : 0,
      ),
      type: 'B',
      degreesOfFreedom: null,
      note: 'what the two edges, each on its own, and the end piece disagree about the bend',
    },
  ];
  return { lines, combined: combineBudget(lines) };
}

/**
 * What one edge that is bowed by a mirrored lamp does to the bend, degrees: half of its bow b moves the axis' middle, and
 * an arc of length L whose middle stands off by b/2 turns by 4 b / L.
 */
function drawnEdge({ sigma, frame, root, tip }: Followed): number {
  return (4 * fromHalfWidth(DRAWN * sigma) * DEGREE) / ((tip - root) * frame.length);
}

/**
 * Bend that a bow of one edge alone would look like, degrees. Half of it moves the axis and half of it is a bulge, so both edges
 * agree about the bend as long as a bulge is let be. Tubes that flare have one of their own; but of a tube lit from the front
 * dirt and shade at the ends of an edge make one more often, and then the tube is straight.
 */
function bowOfOneEdge({ fit, frame, root, tip }: Followed): number {
  return (4 * Math.abs(fit.model.bulge) * DEGREE) / ((tip - root) * frame.length);
}

/** What is left of a deviation when a part of it is counted elsewhere. */
const beyond = (all: number, counted: number): number =>
  Math.sqrt(Math.max(0, all * all - counted * counted));

/** Change of the bend between root and tip, degrees, by each of the fit's parameters. */
function bendGradient({ fit, root, tip }: Followed): number[] {
  const delta = 1e-4;
  const base = bendOf(fit.model, root, tip);
  return AXIS_PARAMETERS.map((name) => {
    const moved = { ...fit.model, [name]: fit.model[name] + delta };
    return (bendOf(moved, root, tip) - base) / delta;
  });
}

/**
 * What is left open of where the edges lie, as a standard uncertainty of the bend, degrees: each edge by itself, a point between
 * two stretches moved by both as it was when its own place was found.
 */
function leftOpen({ fit, points, frame, rims }: Followed, gradient: readonly number[]): number {
  if (rims.length === 0) return 0;
  const influence = fit.influence(gradient);
  const ofOne = ({ side, middles, spread }: Rim): number => {
    const gain = new Float64Array(middles.length);
    for (let i = 0; i < influence.length; i++) {
      if (Math.sign(points.side[i]) !== side) continue;
      const at = fit.along[i] / frame.length;
      const j = middles.findIndex((m) => m > at);
      if (j === 0) gain[0] += influence[i];
      else if (j < 0) gain[middles.length - 1] += influence[i];
      else {
        const t = (at - middles[j - 1]) / (middles[j] - middles[j - 1]);
        gain[j - 1] += (1 - t) * influence[i];
        gain[j] += t * influence[i];
      }
    }
    return spread(gain);
  };
  return Math.hypot(...rims.map(ofOne));
}

/** Propagates the fit's covariance to the bend between root and tip, degrees. */
function fitNoise({ fit }: Followed, gradient: readonly number[]): number {
  const names = AXIS_PARAMETERS;
  let variance = 0;
  gradient.forEach((a, i) => {
    gradient.forEach((b, j) => {
      variance += a * fit.covariance[i * names.length + j] * b;
    });
  });
  return Math.sqrt(Math.max(0, variance));
}

/** Bend that lies beyond the last used section, degrees: seen by nobody, only continued. */
function unseenBend({ fit, even, tip, endSections, root }: Followed): number {
  const last = endSections > 0 ? (even + tip) / 2 : even;
  return Math.abs(bendOf(fit.model, last, tip)) + Math.abs(bendOf(fit.model, root, Math.max(root, 0)));
}

/**
 * Bend for which there is only the end piece, degrees: what lies beyond the last section of which both edges are used, and
 * all of it where none of it begins well before.
 */
function bendAtTheEnd({ fit, reached, tip }: Followed): number {
  const { centre, span } = fit.model;
  const begun = centre - span / 2 < reached - 2 * STRAIGHT_AFTER;
  return Math.abs(bendOf(fit.model, begun ? reached : reached - STRAIGHT_AFTER, tip));
}

/**
 * Bend that may go on behind `seen` (a fraction of the frame's length), degrees. A bend is seen to have ended where the axis
 * behind it stands off from the circle that would have gone on, by more than the edges scatter and what lies beside them draws:
 * a tube that turns up to the last section used may turn as far as its tip, though hardly by more than it has turned so far.
 */
function goingOn({ fit, tip, frame, sigma }: Followed, seen: number): number {
  const { bend, centre, span } = fit.model;
  const curvature = Math.abs(bend) / (span * frame.length);
  const straight = Math.max(0, seen - centre - span / 2) * frame.length;
  const stands = (curvature * straight ** 2) / 2;
  const unresolved = Math.exp(-0.5 * (stands / Math.hypot(fit.spread, DRAWN * sigma)) ** 2);
  const hidden = Math.max(0, tip - seen) * frame.length;
  return unresolved * Math.min(Math.abs(bend), curvature * hidden) * DEGREE;
}

/** What of it is in doubt, 0..1. */
function doubtAtTheEnd({ endBoth }: Followed): number {
  return AT_THE_END + (SEEN_TWICE - AT_THE_END) * Math.min(1, endBoth / ENOUGH_TWICE);
}

const AXIS_POINTS = 120;

/** Axis from block to tip in picture pixels, and its largest distance from the line through its ends, px. */
export function axisLine(found: Followed): {
  readonly points: [number, number][];
  readonly straightnessPx: number;
  readonly lengthPx: number;
} {
  const { frame, fit, root, tip } = found;
  const curve = traceAxis(fit.model, frame.length, 0.6);
  const points: [number, number][] = [];
  let lengthPx = 0;
  for (let i = 0; i <= AXIS_POINTS; i++) {
    const { x, y } = pointOn(curve, frame, root + ((tip - root) * i) / AXIS_POINTS);
    const last = points.at(-1);
    if (last) lengthPx += Math.hypot(x - last[0], y - last[1]);
    points.push([x, y]);
  }
  const [ax, ay] = points[0];
  const [bx, by] = points[points.length - 1];
  const chord = Math.hypot(bx - ax, by - ay);
  const straightnessPx = points.reduce(
    (most, [x, y]) => Math.max(most, Math.abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / chord),
    0,
  );
  return { points, straightnessPx, lengthPx };
}

/**
 * Uncertainty of the straightness, line by line, in the unit of which a pixel is `perPx`: edge scatter, the bend's own
 * uncertainty (wrong by e it moves the axis' middle by about e L / 8), both ends of the tube known to about two pixels
 * (each moves the chord by 0.3 of that times the bend), and the scale.
 */
export function straightnessBudget(
  found: Followed,
  line: { readonly lengthPx: number; readonly straightnessPx: number },
  bendStandardDeg: number,
  unit: { readonly perPx: number; readonly relative: number },
): BudgetLine[] {
  const bend = Math.abs(bendOf(found.fit.model, found.root, found.tip)) / DEGREE;
  const lines: BudgetLine[] = [
    {
      source: 'edge noise',
      standard: 0.3 * found.fit.spread * unit.perPx,
      type: 'A',
      degreesOfFreedom: null,
    },
    {
      source: 'bend angle',
      standard: (((bendStandardDeg / DEGREE) * line.lengthPx) / 8) * unit.perPx,
      type: 'A',
      degreesOfFreedom: null,
      note: 'what its own lines come to',
    },
    {
      source: 'ends of the tube',
      standard: 0.3 * bend * Math.SQRT2 * 2 * unit.perPx,
      type: 'B',
      degreesOfFreedom: null,
      note: 'each known to about two pixels',
    },
  ];
  if (unit.relative === 0) return lines;
  const standard = unit.relative * line.straightnessPx * unit.perPx;
  return [...lines, { source: 'scale', standard, type: 'B', degreesOfFreedom: null }];
}
