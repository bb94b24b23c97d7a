import type { GreyImage } from '../image/grey.ts';
import type { AxisCurve, Frame } from './axis-model.ts';
import { halfAt, pointOn } from './axis-model.ts';
import type { Followed } from './follow.ts';
import type { Silhouette } from './silhouette.ts';
import { robustLinear } from '../fit/robust-linear.ts';
import { faceEdge, greyAt, type ShankProfile } from './turned.ts';

/** What stands out beside the tube's end in a side view. */
export type DiamondView = {
  readonly state: 'present' | 'missing' | 'leaning' | 'turned';
  /** Height above the tube's edge, px. */
  readonly heightPx: number;
  /** Deviation from the perpendicular to the axis, degrees, towards the tip positive. 0 when missing. */
  readonly leanDeg: number;
  /** +1: to the right of the way from root to tip. */
  readonly side: 1 | -1;
  /** Direction in which it points, degrees anticlockwise on screen from right. */
  readonly directionDeg: number;
};

/** A lump of glue is flatter than wide; a diamond at least about as high as wide. */
const SLENDER = 0.75;
/** Least height over the tube's root width: between the glue's usual tenth and a diamond's half. */
const LEAST_HEIGHT = 0.3;
/**
 * A diamond square to its cantilever leans by a few degrees at most. Some are set at a slant by their makers; the
 * message says so, and a baseline tells them apart.
 */
export const LEAN_LIMIT_DEG = 8;
/** Of two faces the mask may hold one alone, where the other is about as light as the field, and then leans itself. */
const LEAN_LIMIT_TURNED_DEG = 15;

/** Reads the mask beside the last part of the tube, and the picture where it shows a diamond. */
export function lookForDiamond(
  image: GreyImage,
  shape: Silhouette,
  found: Followed,
  curve: AxisCurve,
): DiamondView {
  const { frame, fit } = found;
  const rootWidth = 2 * fit.model.rootHalf;
  const joined = standsOut({ ...shape, mask: withoutHoles(shape) }, found, curve, 0);
  // A clear stone may be nearly as light as the field, and a tube's rim as dark: then the mask of the tube lacks the diamond.
  const apart = shape.faint.map((v, i) => v | shape.mask[i]);
  const { columns, best } = isDiamond(joined.best, rootWidth)
    ? joined
    : standsOut(
        { ...shape, mask: withoutHoles({ ...shape, mask: apart }) },
        found,
        curve,
        MOST_APART * rootWidth,
      );
  const axisAngle = directionAt(curve, frame, found.tip);
  if (!isDiamond(best, rootWidth))
    return { state: 'missing', heightPx: best.height, leanDeg: 0, side: best.side, directionDeg: axisAngle };
  const lean = leanOf(columns, best.side, best.height, frame.length);
  // Screen angles count anticlockwise, y runs down: the right of the way is axis - 90 degrees.
  const directionDeg = axisAngle - best.side * (90 - lean);
  const shank = shankProfiles(image, columns, best, found, curve);
  const turned = faceEdge(shank.across, shank.field, Math.max(0.8, found.sigma)) !== null;
  return {
    state:
      Math.abs(lean) > (turned ? LEAN_LIMIT_TURNED_DEG : LEAN_LIMIT_DEG)
        ? 'leaning'
        : turned
          ? 'turned'
          : 'present',
    heightPx: best.height,
    leanDeg: lean,
    side: best.side,
    directionDeg: ((((directionDeg + 180) % 360) + 360) % 360) - 180,
  };
}

/** A dark rim between tube and diamond is no wider, over the tube's root width. */
const MOST_APART = 0.15;

const isDiamond = (best: { height: number; width: number }, rootWidth: number): boolean =>
  best.height >= LEAST_HEIGHT * rootWidth && best.height >= SLENDER * best.width;

/** The taller of what stands out on either side of the tube's end, at most `apart` px off its edge. */
function standsOut(shape: Silhouette, found: Followed, curve: AxisCurve, apart: number) {
  const columns = scanEnd(shape, found, curve);
  const best = ([1, -1] as const)
    .map((side) => ({ side, ...tallest(columns, side, found.frame, apart) }))
    .reduce((a, b) => (b.height > a.height ? b : a));
  return { columns, best };
}

/** Direction of the axis at a fraction of the chord, degrees anticlockwise on screen from right. */
export function directionAt(curve: AxisCurve, frame: Frame, q: number): number {
  const { nx, ny } = pointOn(curve, frame, q);
  // The normal is the direction turned clockwise on screen by 90 degrees.
  return (Math.atan2(nx, ny) * 180) / Math.PI;
}

type Column = { q: number; half: number; right: Uint8Array; left: Uint8Array };

/** The mask with what it encloses: a clear stone before light from behind may show no more than its rims. */
function withoutHoles({ mask, width, height }: Silhouette): Uint8Array {
  const out = new Uint8Array(mask.length).fill(1);
  const stack: number[] = [];
  const open = (x: number, y: number): void => {
    const at = y * width + x;
    if (x < 0 || y < 0 || x >= width || y >= height || mask[at] === 1 || out[at] === 0) return;
    out[at] = 0;
    stack.push(at);
  };
  for (let x = 0; x < width; x++) for (const y of [0, height - 1]) open(x, y);
  for (let y = 0; y < height; y++) for (const x of [0, width - 1]) open(x, y);
  while (stack.length > 0) {
    const at = stack.pop() as number;
    const x = at % width;
    const y = (at - x) / width;
    open(x - 1, y);
    open(x + 1, y);
    open(x, y - 1);
    open(x, y + 1);
  }
  return out;
}

/** For places along the last part of the axis: is the mask set at 0, 1, 2 ... px beyond the tube's edge? */
function scanEnd(shape: Silhouette, found: Followed, curve: AxisCurve): Column[] {
  const { frame, fit } = found;
  const reach = Math.ceil(6 * fit.model.rootHalf);
  const from = Math.max(0.55, Math.min(found.even - 0.1, found.tip - 0.3));
  const on = (x: number, y: number): number => {
    const i = Math.floor((x + 0.5) / shape.factor);
    const j = Math.floor((y + 0.5) / shape.factor);
    return i >= 0 && j >= 0 && i < shape.width && j < shape.height ? shape.mask[j * shape.width + i] : 0;
  };
  const columns: Column[] = [];
  // A leaning diamond may stand out beyond the tube's end.
  for (let q = from; q < found.tip + 0.25; q += 1 / frame.length) {
    const { x, y, nx, ny } = pointOn(curve, frame, q);
    const { joint } = found;
    const step =
      joint !== null && q > joint.after ? joint.half + joint.slope * (q - joint.after) * frame.length : 0;
    const half = halfAt(fit.model, q) + step;
    const read = (side: 1 | -1): Uint8Array =>
      Uint8Array.from({ length: reach }, (_, d) =>
        on(x + side * nx * (half + d), y + side * ny * (half + d)),
      );
    columns.push({ q, half, right: read(1), left: read(-1) });
  }
  return columns;
}

const sideOf = (column: Column, side: 1 | -1): Uint8Array => (side === 1 ? column.right : column.left);

/** Columns that a noisy mask may leave out of a row. */
const MOST_GAP = 2;

/**
 * The longest piece of the row `d` above the edge, first and last column; null where there is none. A fibre beside the
 * diamond is a piece of its own.
 */
function longestRun(columns: readonly Column[], side: 1 | -1, d: number): readonly [number, number] | null {
  let best: [number, number] | null = null;
  let here: [number, number] | null = null;
  columns.forEach((column, i) => {
    if (sideOf(column, side)[d] !== 1) return;
    if (here !== null && i - here[1] <= MOST_GAP + 1) here[1] = i;
    else here = [i, i];
    if (best === null || here[1] - here[0] > best[1] - best[0]) best = here;
  });
  return best;
}

const lengthOf = (run: readonly [number, number] | null): number => (run === null ? 0 : run[1] - run[0] + 1);

/** Greatest height reached without a gap in the rows above the edge, and the width at half that height, px. */
function tallest(
  columns: Column[],
  side: 1 | -1,
  frame: Frame,
  apart: number,
): { height: number; width: number } {
  const rows = sideOf(columns[0], side).length;
  let height = 0;
  for (let d = 0; d < rows; d++) {
    // A row of two or three mask pixels is noise or the pointed end itself.
    if (lengthOf(longestRun(columns, side, d)) < 4) {
      if (height > 0 || d >= apart) break;
      continue;
    }
    height = d + 1;
  }
  const width = height > 0 ? lengthOf(longestRun(columns, side, Math.floor(height / 2))) : 0;
  return { height, width: Math.max(1, Math.min(width, frame.length)) };
}

/**
 * Slope of the middle line between 35 and 85 % of the height, above any glue; by least absolute values, for a fibre that
 * crosses the diamond widens some rows.
 */
function leanOf(columns: Column[], side: 1 | -1, height: number, length: number): number {
  const rows: number[] = [];
  const middles: number[] = [];
  for (let d = Math.floor(0.35 * height); d < 0.85 * height; d++) {
    const run = longestRun(columns, side, d);
    if (run === null) continue;
    rows.push(1, d / height);
    middles.push(((columns[run[0]].q + columns[run[1]].q) / 2) * length);
  }
  if (middles.length < 3) return 0;
  const solved = robustLinear(Float64Array.from(rows), Float64Array.from(middles), 2);
  return solved === null ? 0 : (Math.atan(solved.p[1] / height) * 180) / Math.PI;
}

/** Part of the height that is shank: above any glue, below the point. */
const SHANK = [0.3, 0.58] as const;
const LEAST_ROWS = 6;
/** The height is looked at in so many parts at most, each of no fewer rows: clouds in a stone do not run along it. */
const MOST_PARTS = 4;
const PART_ROWS = 4;
/** Grey values across each part of the shank's height, averaged along its lean, and those of the field beside it; empty if too short. */
function shankProfiles(
  image: GreyImage,
  columns: readonly Column[],
  { side, height }: { readonly side: 1 | -1; readonly height: number },
  { frame, sigma }: Followed,
  curve: AxisCurve,
): { across: ShankProfile[]; field: number } {
  const none = { across: [], field: 0 };
  const rows: { d: number; middle: number; width: number; half: number }[] = [];
  for (let d = Math.floor(SHANK[0] * height); d < SHANK[1] * height; d++) {
    const run = longestRun(columns, side, d);
    if (run === null || lengthOf(run) < 6) continue;
    const [first, last] = [columns[run[0]], columns[run[1]]];
    rows.push({
      d,
      middle: (first.q + last.q) / 2,
      width: (last.q - first.q) * frame.length,
      half: (first.half + last.half) / 2,
    });
  }
  if (rows.length < LEAST_ROWS) return none;
  const median = (list: number[]): number => list.toSorted((a, b) => a - b)[list.length >> 1];
  const width = median(rows.map((row) => row.width));
  const shank = rows.filter((row) => Math.abs(row.width - width) < 0.15 * width + 1);
  if (shank.length < LEAST_ROWS || width < 8) return none;
  // The middle line: a mask's edges are coarse, all rows together are not.
  const mean = (of: (row: (typeof rows)[number]) => number): number =>
    shank.reduce((sum, row) => sum + of(row), 0) / shank.length;
  const [md, mq] = [mean((row) => row.d), mean((row) => row.middle)];
  const slope =
    mean((row) => (row.d - md) * (row.middle - mq)) /
    Math.max(
      1e-9,
      mean((row) => (row.d - md) ** 2),
    );
  const at = (rowsHere: typeof rows, u: number): number => {
    let [sum, count] = [0, 0];
    for (const row of rowsHere) {
      const q = mq + slope * (row.d - md) + (u - width / 2) / frame.length;
      const { x, y, nx, ny } = pointOn(curve, frame, q);
      const value = greyAt(image, x + side * nx * (row.half + row.d), y + side * ny * (row.half + row.d));
      if (value === value) {
        sum += value;
        count++;
      }
    }
    return sum / count;
  };
  const u = Float64Array.from({ length: Math.floor(2 * width) + 1 }, (_, i) => i / 2);
  const beyond = 3 * sigma + 3;
  const parts = Math.max(2, Math.min(MOST_PARTS, Math.floor(shank.length / PART_ROWS)));
  const cut = (k: number): number => Math.round((k * shank.length) / parts);
  const across = Array.from({ length: parts }, (_, k) => ({
    u,
    grey: u.map((v) => at(shank.slice(cut(k), cut(k + 1)), v)),
    width,
  }));
  return { across, field: (at(shank, -beyond) + at(shank, width + beyond)) / 2 };
}
