import { columnOf, frameOf, greyAt, rowOf, type Frame } from '../edge/read-edges.ts';
import { reweighted } from '../fit/robust-linear.ts';
import { median } from '../fit/select.ts';
import { levelAt } from '../image/background.ts';
import { SIGMA } from './capture-model.ts';
import type { Prepared, SingleFit } from './single.ts';
import { SIDES, type Side } from './walls.ts';
import { axesOf, support, wedgeOf, type Wedge } from './wedge.ts';

/**
 * The edges of the shank in two captures of a part, read in the same way and at the same places of the part: what shading, taper and
 * bulges do to an edge is mostly the same in both, and cancels.
 */

/** Edges are read as means over so much of the shank, um. */
const BLOCK_UM = 5;
/** Blocks that are looked at from the shoulder upwards, at the most: 400 um of shank. */
const BLOCKS = 80;
/** Fewer on one side tell no line. */
const LEAST_ON_SIDE = 6;
/** No edge is read better, um. */
export const LEAST_SCATTER_UM = 0.02;
/** How far outside and inside of the edge its light is read, um, and at how many places. */
const OUT_UM = 7;
const IN_UM = 9;
const SAMPLES = 49;
const STEP_UM = (OUT_UM + IN_UM) / (SAMPLES - 1);
/** The light further in than this counts as the part's own, um. */
const WELL_IN_UM = 4;
/** Tukey's biweight believes nothing beyond so many standard deviations. */
export const FAR = 4.7;
/** A block whose edge lies further off its side's line has something else on it, um. */
const MOST_OFF_UM = 1.5;
/** Distance outwards of the line that is followed, um, of the i-th sample. */
const outwardsOf = (i: number): number => OUT_UM - i * STEP_UM;

export type Strip = {
  readonly prepared: Prepared;
  readonly frame: Frame;
  /** Half the shank's width, um. */
  readonly half: number;
  /** Tip frame's y where the shank begins, clear of the blurred shoulder, um. */
  readonly from: number;
  readonly sigma: number;
};

/** A place along one side of the shank, in the tip frame. */
export type Block = { readonly side: Side; readonly y: number };

export const signOf = (side: Side): number => (side === 'left' ? -1 : 1);

/** Null where no shank is seen. */
export function stripOf({ prepared, fitted: { p } }: SingleFit): Strip | null {
  const { shankPx } = prepared.located;
  if (shankPx === null) return null;
  const half = (shankPx * prepared.umPerPx) / 2;
  const wedge = wedgeOf(p);
  const shoulder = Math.min(
    shoulderOf(wedge, wedge.halfLeft, half),
    shoulderOf(wedge, wedge.halfRight, half),
  );
  return { prepared, frame: frameOf(prepared, p), half, from: shoulder - 4 - 3 * p[SIGMA], sigma: p[SIGMA] };
}

/** Where a flank of the half angle h is as far from the axis as the shank is wide; y is negative up there. */
const shoulderOf = (wedge: Wedge, h: number, half: number): number =>
  (support(axesOf(wedge), h) - half * Math.cos(h)) / Math.sin(h);

/** x = at + slope y for the edge of one side, um outwards of the axis. */
type Line = { readonly at: number; readonly slope: number };

/** The part's light less the field's across the edge, from outside inwards, mean of the block; null where the frame ends. */
function lightAcross({ prepared, frame }: Strip, { side, y }: Block, line: Line): Float64Array | null {
  const sign = signOf(side);
  const { surface } = prepared.background;
  const rows = Math.max(1, Math.round(BLOCK_UM / prepared.umPerPx));
  const light = new Float64Array(SAMPLES);
  for (let r = 0; r < rows; r++) {
    const at = y + ((r + 0.5) / rows - 0.5) * BLOCK_UM;
    for (let i = 0; i < SAMPLES; i++) {
      const x = sign * (line.at + line.slope * at + outwardsOf(i));
      const column = columnOf(frame, x, at);
      const row = rowOf(frame, x, at);
      light[i] += (greyAt(prepared, column, row) - levelAt(surface, column, row)) / rows;
    }
  }
  return light.some(Number.isNaN) ? null : light;
}

/** Where the light first rises to half of what it is well inside, um outwards of the line; NaN where it does not. */
function halfRise(light: Float64Array): number {
  let inside = 0;
  let n = 0;
  for (let i = 0; i < SAMPLES; i++)
    if (outwardsOf(i) < -WELL_IN_UM) {
      inside += light[i];
      n++;
    }
  const half = inside / (2 * n);
  for (let i = 1; i < SAMPLES; i++) {
    const before = light[i - 1] / half;
    const now = light[i] / half;
    if (now >= 1 && before < 1) return outwardsOf(i - 1) - ((1 - before) / (now - before)) * STEP_UM;
  }
  return NaN;
}

/**
 * Edge of every block of one side, um outwards of the axis, NaN where it is not seen: first by half the rise, which gives the
 * side's line and the mean profile along it; then by how far a block's whole profile is displaced from that mean, with a
 * brightness of its own, which uses all samples of the edge. Null where the side is not seen.
 */
function edgesOf(strip: Strip, blocks: readonly Block[]): Float64Array | null {
  const upright: Line = { at: strip.half, slope: 0 };
  const rough = blocks.map((block) => {
    const light = lightAcross(strip, block, upright);
    return light ? strip.half + halfRise(light) : NaN;
  });
  const seen = blocks.map((_, i) => i).filter((i) => Number.isFinite(rough[i]));
  if (seen.length < LEAST_ON_SIDE) return null;
  const straight = straightThrough(
    seen.map((i) => blocks[i].y),
    seen.map((i) => rough[i]),
    0.05,
  );
  if (!straight) return null;
  const line: Line = straight;
  const lights = blocks.map((block) => lightAcross(strip, block, line));
  const clean = seen.flatMap((i, k) => {
    const light = lights[i];
    return light && straight.weights[k] > 0.3 ? [light] : [];
  });
  if (clean.length < LEAST_ON_SIDE) return null;
  const mean = Float64Array.from({ length: SAMPLES }, (_, j) => median(clean.map((light) => light[j])));
  const reach = 2.2 * strip.sigma + 1;
  return Float64Array.from(blocks, ({ y }, i) => {
    const light = lights[i];
    if (!light) return NaN;
    const off = displacement(light, mean, reach);
    return Math.abs(off) < MOST_OFF_UM ? line.at + line.slope * y + off : NaN;
  });
}

/** Least squares light = level (mean + displacement d(mean)/d(inwards)) within `reach` of the edge: the displacement, um outwards. */
function displacement(light: Float64Array, mean: Float64Array, reach: number): number {
  let mm = 0;
  let ms = 0;
  let ss = 0;
  let lm = 0;
  let ls = 0;
  for (let j = 1; j + 1 < SAMPLES; j++) {
    if (Math.abs(outwardsOf(j)) > reach) continue;
    const slope = (mean[j + 1] - mean[j - 1]) / (2 * STEP_UM);
    mm += mean[j] * mean[j];
    ms += mean[j] * slope;
    ss += slope * slope;
    lm += light[j] * mean[j];
    ls += light[j] * slope;
  }
  const level = lm * ss - ls * ms;
  // a block much darker than its side has no edge to speak of
  return level > 0.2 * (mm * ss - ms * ms) ? (ls * mm - lm * ms) / level : NaN;
}

/**
 * Line at + slope y through v by Tukey's biweight (c = 4.7 robust standard deviations of what is left, `floor` at least), from
 * Siegel's repeated median (Biometrika 69, 1982) on: a hair along a third of the edge would tilt a start by least squares beyond return.
 */
export function straightThrough(y: readonly number[], v: readonly number[], floor: number) {
  const slope = median(
    y.map((one, i) => median(y.flatMap((other, k) => (k === i ? [] : [(v[i] - v[k]) / (one - other)])))),
  );
  const level = median(v.map((one, i) => one - slope * y[i]));
  const scaleOf = (rest: Float64Array): number =>
    Math.max(floor, 1.4826 * median(Array.from(rest, Math.abs)));
  const found = reweighted(
    Float64Array.from(y.flatMap((one) => [1, one])),
    Float64Array.from(v),
    2,
    10,
    (rest) => {
      const far = FAR * scaleOf(rest);
      return rest.map((r) => Math.max(0, 1 - (r / far) ** 2) ** 2);
    },
    Float64Array.from(v, (one, i) => one - level - slope * y[i]),
  );
  if (!found) return null;
  return {
    at: found.p[0],
    slope: found.p[1],
    rest: found.rest,
    weights: found.weight,
    scale: scaleOf(found.rest),
  };
}

/** A block with how much further out its edge lies in the later capture, um. */
export type Moved = Block & { readonly by: number };

/** In both captures; none of a side that shows too few. */
export function movedEdges(strips: readonly [Strip, Strip]): Moved[] {
  const from = Math.min(...strips.map((strip) => strip.from));
  return SIDES.flatMap((side) => {
    const blocks = Array.from({ length: BLOCKS }, (_, i) => ({ side, y: from - (i + 0.5) * BLOCK_UM }));
    const [before, after] = strips.map((strip) => edgesOf(strip, blocks));
    if (!before || !after) return [];
    const moved = blocks.flatMap((block, i) => {
      const by = after[i] - before[i];
      return Number.isFinite(by) ? [{ ...block, by }] : [];
    });
    return moved.length < LEAST_ON_SIDE ? [] : moved;
  });
}
