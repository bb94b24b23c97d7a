import { columnOf, frameOf, greyAt, rowOf, type Frame } from '../edge/read-edges.ts';
import { reweighted } from '../fit/robust-linear.ts';
import { median } from '../fit/select.ts';
import { levelAt } from '../image/background.ts';
import { SIGMA } from './capture-model.ts';
import type { Prepared, SingleFit } from './single.ts';
import { SIDES, type Side } from './walls.ts';
import { axesOf, support, wedgeOf, type Wedge } from './wedge.ts';

/**
 * How far two captures of a part are turned against each other, by the edges of its shank. The shank is several times longer
 * than the flanks, so the shading of a lit part, which moves an edge by some tenths of a um, turns it by much less. Each edge is read
 * in both captures in the same way and at the same places of the part; what shading, taper and bulges do to it is mostly the
 * same in both and cancels. Nothing is asked of the tip, so wear cannot turn the answer.
 */
export type Turn = {
  /** To be added to the later capture's rotation less the baseline's as the two fits have it, radians. */
  readonly radians: number;
  readonly standard: number;
};

/** Edges are read as means over so much of the shank, um. */
const BLOCK_UM = 5;
/** Blocks that are looked at from the shoulder upwards, at the most: 400 um of shank. */
const BLOCKS = 80;
/** Fewer on one side tell no line. */
const LEAST_ON_SIDE = 6;
/** No edge is read better, um. */
const LEAST_SCATTER_UM = 0.02;
/** How far outside and inside of the edge its light is read, um, and at how many places. */
const OUT_UM = 7;
const IN_UM = 9;
const SAMPLES = 49;
const STEP_UM = (OUT_UM + IN_UM) / (SAMPLES - 1);
/** The light further in than this counts as the part's own, um. */
const WELL_IN_UM = 4;
/** A block whose edge lies further off its side's line has something else on it, um. */
const MOST_OFF_UM = 1.5;
/** The singles' poses are known to some tenths of a degree: a larger turn is no correction but a mistake. */
const MOST_TURN = (1.2 * Math.PI) / 180;

/**
 * What the scatter about the lines does not show: neighbouring blocks err together (times 1.5); slow changes of the shading differ
 * between captures by some hundredths of a um, which turns a short shank more than a long one; and a lens bends
 * lines by a little. From the laboratory's pictures and from no theory.
 */
const TOGETHER = 1.5;
const SHADING_UM = 0.02;
const LENS = (0.02 * Math.PI) / 180;

/** Distance outwards of the line that is followed, um, of the i-th sample. */
const outwardsOf = (i: number): number => OUT_UM - i * STEP_UM;

type Strip = {
  readonly prepared: Prepared;
  readonly frame: Frame;
  /** Half the shank's width, um. */
  readonly half: number;
  /** Tip frame's y where the shank begins, clear of the blurred shoulder, um. */
  readonly from: number;
  readonly sigma: number;
};

/** A place along one side of the shank, in the tip frame. */
type Block = { readonly side: Side; readonly y: number };

const signOf = (side: Side): number => (side === 'left' ? -1 : 1);

/** Null where no shank is seen. */
function stripOf({ prepared, fitted: { p } }: SingleFit): Strip | null {
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

/** Line at + slope y through v by Tukey's biweight (c = 4.7 robust standard deviations of what is left, `floor` at least). */
function straightThrough(y: readonly number[], v: readonly number[], floor: number) {
  const scaleOf = (rest: Float64Array): number =>
    Math.max(floor, 1.4826 * median(Array.from(rest, Math.abs)));
  const found = reweighted(
    Float64Array.from(y.flatMap((one) => [1, one])),
    Float64Array.from(v),
    2,
    10,
    (rest) => {
      const far = 4.7 * scaleOf(rest);
      return rest.map((r) => Math.max(0, 1 - (r / far) ** 2) ** 2);
    },
  );
  const inverse = found?.inverse();
  if (!found || !inverse) return null;
  const scale = scaleOf(found.rest);
  return { at: found.p[0], slope: found.p[1], slopeSd: scale * Math.sqrt(inverse[3]), weights: found.weight };
}

/** A block with how much further out its edge lies in the later capture, um. */
type Moved = Block & { readonly by: number };

function movedEdges(strips: readonly [Strip, Strip]): Moved[] {
  const from = Math.min(...strips.map((strip) => strip.from));
  return SIDES.flatMap((side) => {
    const blocks = Array.from({ length: BLOCKS }, (_, i) => ({ side, y: from - (i + 0.5) * BLOCK_UM }));
    const [before, after] = strips.map((strip) => edgesOf(strip, blocks));
    return before && after
      ? blocks.flatMap((block, i) => {
          const by = after[i] - before[i];
          return Number.isFinite(by) ? [{ ...block, by }] : [];
        })
      : [];
  });
}

/** One side's turn: by = sign turn y + offset, the offset for the shift and for the blur. */
function turnOfSide(blocks: readonly Moved[]): Turn | null {
  const middle = median(blocks.map(({ y }) => y));
  const fit = straightThrough(
    blocks.map(({ side, y }) => signOf(side) * (y - middle)),
    blocks.map(({ by }) => by),
    LEAST_SCATTER_UM,
  );
  if (!fit) return null;
  const scatter = TOGETHER * fit.slopeSd;
  return { radians: fit.slope, standard: Math.hypot(scatter, SHADING_UM / leverOf(blocks, fit.weights)) };
}

/**
 * The turn by the shank's edges, between a baseline and a later capture that were fitted by themselves: mean of both sides by their
 * certainty, less certain where they turn apart by more than that explains, since one shank turns as one. Null where the shank is
 * not seen in both captures, or tells a turn that cannot be.
 */
export function shankTurn(baseline: SingleFit, later: SingleFit): Turn | null {
  const before = stripOf(baseline);
  const after = stripOf(later);
  if (!before || !after) return null;
  const moved = movedEdges([before, after]);
  const turns = SIDES.flatMap((side) => {
    const blocks = moved.filter((block) => block.side === side);
    const turn = blocks.length < LEAST_ON_SIDE ? null : turnOfSide(blocks);
    return turn && Number.isFinite(turn.standard) ? [turn] : [];
  });
  if (turns.length === 0) return null;
  const weights = turns.map(({ standard }) => 1 / standard ** 2);
  const sum = weights.reduce((total, w) => total + w, 0);
  const radians = turns.reduce((total, turn, i) => total + weights[i] * turn.radians, 0) / sum;
  if (Math.abs(radians) > MOST_TURN) return null;
  const apart =
    turns.length === 2
      ? (turns[0].radians - turns[1].radians) ** 2 - turns[0].standard ** 2 - turns[1].standard ** 2
      : 0;
  return { radians, standard: Math.hypot(Math.sqrt(1 / sum), Math.sqrt(Math.max(0, apart)) / 2, LENS) };
}

/** Weighted standard deviation of the places along the shank, um. */
function leverOf(blocks: readonly Block[], weights: ArrayLike<number>): number {
  let sum = 0;
  let first = 0;
  let second = 0;
  blocks.forEach(({ y }, i) => {
    sum += weights[i];
    first += weights[i] * y;
    second += weights[i] * y * y;
  });
  return sum > 0 ? Math.sqrt(Math.max(0, second / sum - (first / sum) ** 2)) : 0;
}
