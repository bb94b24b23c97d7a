import type { BudgetLine, Warning } from '../../shared/index.ts';
import { columnOf, frameOf, greyAt, rowOf, type Foot, type Frame } from '../edge/read-edges.ts';
import { levelAt } from '../image/background.ts';
import { median } from '../fit/select.ts';
import { SIGMA } from './capture-model.ts';
import { normalCdf } from './normal-table.ts';
import type { Prepared } from './single.ts';
import type { Side, WallFit } from './walls.ts';
import { axesOf, depthOfWidth, flatWidth, lostArea, outlineAt, wedgeOf, type Wedge } from './wedge.ts';

/**
 * A backlight so wide that the part's round rim mirrors it. A ray from the lens that meets the rim at the depth t behind a
 * silhouette of the radius of curvature r does so at the grazing angle g = sqrt(2 t / r) and goes on turned by 2 g: where the
 * light behind reaches as far out, the rim is bright, by Fresnel's reflectance F(g). The picture's edge lies inwards by
 *
 *     shift = integral of F over t from 0 to r G^2 / 2  =  m r,   m = integral of F(g) g over g from 0 to G,
 *
 * G being half the angle to which the light reaches off the axis. A cone behind a ball shifts like a ball of that much less
 * radius, so no outline tells; but the rim of a flat seen edge-on mirrors nothing, and a flat of the width w on an arc of the
 * radius R looks shallower by m R and narrower by 4 m R^2 / w.
 *
 * What tells is the edge's own width: far up the flank, where r is several times R, the mirrored band is as wide as the blur and
 * widens the edge, and light of less than some 12 degrees about the axis widens none and moves small tips by little.
 */
export type WideLight = {
  /** Largest grazing angle at which the rim is still bright, radians; 0 where none is seen. */
  readonly grazing: number;
  /** The edge's shift inwards over the radius of curvature. */
  readonly shift: number;
};

export const NO_WIDE_LIGHT: WideLight = { grazing: 0, shift: 0 };
/** Refractive index of diamond at 589 nm, recalled from memory. */
const INDEX = 2.417;
/** No light behind a part reaches further round it, radians. */
const MOST_GRAZING = 0.4;

/** Reflectance of diamond for unpolarised light at a grazing angle, radians: Fresnel's equations. */
export function reflectance(grazing: number): number {
  const inside = Math.sqrt(INDEX * INDEX - Math.cos(grazing) ** 2);
  const sine = Math.sin(grazing);
  const across = (sine - inside) / (sine + inside);
  const along = (INDEX * INDEX * sine - inside) / (INDEX * INDEX * sine + inside);
  return (across * across + along * along) / 2;
}

const NODES = 24;

/** m of the text above, for light up to the grazing angle G. Midpoint rule. */
export function shiftOf(grazing: number): number {
  let sum = 0;
  for (let i = 0; i < NODES; i++) {
    const g = ((i + 0.5) / NODES) * grazing;
    sum += (reflectance(g) * g * grazing) / NODES;
  }
  return sum;
}

/** Light at the depth t, um, of an edge at 0 that mirrors: 1 outside, 0 deep inside. */
function edgeLight(t: number, sigma: number, radius: number, grazing: number): number {
  let light = normalCdf(-t / sigma);
  for (let i = 0; i < NODES; i++) {
    const [from, to] = [(i / NODES) * grazing, ((i + 1) / NODES) * grazing];
    const band =
      normalCdf((t - (radius * from * from) / 2) / sigma) - normalCdf((t - (radius * to * to) / 2) / sigma);
    light += reflectance((from + to) / 2) * band;
  }
  return light;
}

/** Levels between which an edge's width is measured: the mirrored band of a diamond is brighter than the lower one up to its end. */
const [BRIGHT, DARK] = [0.85, 0.22];

/** Width of an edge in the unit of `at`; NaN where it does not pass both levels. */
function width(light: ArrayLike<number>, at: (index: number) => number): number {
  const crossing = (level: number): number => {
    for (let i = 1; i < light.length; i++)
      if (light[i - 1] > level && light[i] <= level)
        return at(i - 1 + (light[i - 1] - level) / (light[i - 1] - light[i]));
    return NaN;
  };
  return crossing(DARK) - crossing(BRIGHT);
}

function expectedWidth(sigma: number, radius: number, grazing: number): number {
  const step = sigma / 8;
  const first = -4 * sigma;
  const deep = (radius * grazing * grazing) / 2 + 4 * sigma;
  const light = Float64Array.from({ length: Math.ceil((deep - first) / step) }, (_, i) =>
    edgeLight(first + i * step, sigma, radius, grazing),
  );
  return width(light, (i) => first + i * step);
}

/** Pieces of flank whose mean edge is looked at, um, and the least of them near the tip and far from it. */
const PIECE = 6;
const LEAST_PIECES = 2;
/** The flank must reach to so many tip radii of curvature: nearer, blur hides what is looked for. */
const FAR = 2;
/** Less of a difference is told by no picture, um; nor is one below so many of its standard deviations. */
const LEAST_SEEN = 0.12;
const SURE = 4;
/** Either flank must show this part of what both do, and be as sure of it. */
const ON_BOTH = 0.6;
const SURE_ON_ONE = 3;
/** How deep behind the outline an edge is followed, um. */
const DEEP = 14;

type Piece = { readonly side: 1 | -1; readonly radius: number; readonly width: number };
type Grown = { readonly by: number; readonly standard: number; readonly near: number; readonly far: number };

/** By how much an edge is wider in the outer third of the flanks than in the first; null where too little is seen. */
function grownAlong(pieces: readonly Piece[], radius: number): Grown | null {
  const most = pieces.reduce((far, one) => Math.max(far, one.radius), 0);
  const [third, twoThirds] = [1, 2].map((k) => radius + (k / 3) * (most - radius));
  const near = pieces.filter((one) => one.radius < third);
  const far = pieces.filter((one) => one.radius > twoThirds);
  if (most < FAR * radius || near.length < LEAST_PIECES || far.length < LEAST_PIECES) return null;
  const mean = (list: readonly Piece[]) => {
    const middle = median(list.map(({ width }) => width));
    const spread = 1.4826 * median(list.map(({ width }) => Math.abs(width - middle)));
    return {
      radius: list.reduce((sum, one) => sum + one.radius / list.length, 0),
      width: middle,
      variance: (1.57 * spread * spread) / list.length,
    };
  };
  const [a, b] = [mean(near), mean(far)];
  return {
    by: b.width - a.width,
    standard: Math.sqrt(a.variance + b.variance),
    near: a.radius,
    far: b.radius,
  };
}

/** What the flanks of a silhouette say about the light behind it. `p`: local parameters of its fit. */
export function wideLightOf(prepared: Prepared, p: ArrayLike<number>): WideLight {
  if (!prepared.darkPart) return NO_WIDE_LIGHT;
  const pieces = piecesOf(prepared, p);
  const grown = grownAlong(pieces, p[0]);
  if (grown === null || !(grown.by > Math.max(LEAST_SEEN, SURE * grown.standard))) return NO_WIDE_LIGHT;
  // A lump or a fibre lies on one flank, light is on both.
  const onBoth = ([1, -1] as const).every((side) => {
    const one = grownAlong(
      pieces.filter((piece) => piece.side === side),
      p[0],
    );
    if (one === null) return false;
    return one.by > Math.max(ON_BOTH * grown.by, SURE_ON_ONE * one.standard) && one.by < grown.by / ON_BOTH;
  });
  if (!onBoth) return NO_WIDE_LIGHT;
  const expected = (grazing: number): number =>
    expectedWidth(p[SIGMA], grown.far, grazing) - expectedWidth(p[SIGMA], grown.near, grazing);
  let [low, high] = [0, MOST_GRAZING];
  for (let round = 0; round < 12; round++) {
    const middle = (low + high) / 2;
    if (expected(middle) < grown.by) low = middle;
    else high = middle;
  }
  const grazing = (low + high) / 2;
  return { grazing, shift: shiftOf(grazing) };
}

/**
 * Adds what a line across the edge shows, as parts of the field's light: from `before` um outside of it, a `step` at a time.
 * A function of its own, which is all that is worth compiling of what calls it.
 */
function addLine(
  light: Float64Array,
  prepared: Prepared,
  frame: Frame,
  foot: Foot,
  step: number,
  before: number,
): void {
  const { surface } = prepared.background;
  for (let i = 0; i < light.length; i++) {
    const t = i * step - before;
    const x = foot.x - t * foot.nx;
    const y = foot.y - t * foot.ny;
    const column = columnOf(frame, x, y);
    const row = rowOf(frame, x, y);
    light[i] += greyAt(prepared, column, row) / levelAt(surface, column, row);
  }
}

function piecesOf(prepared: Prepared, p: ArrayLike<number>): Piece[] {
  const wedge = wedgeOf(p);
  const axes = axesOf(wedge);
  const frame = frameOf(prepared, p);
  const { umPerPx } = prepared;
  const end = prepared.located.flankPx * umPerPx - PIECE;
  const step = umPerPx / 2;
  const before = 3 * p[SIGMA] + 2;
  const count = Math.floor((before + DEEP) / step);
  const out: Piece[] = [];
  for (const side of [-1, 1] as const) {
    const half = side < 0 ? wedge.halfLeft : wedge.halfRight;
    const first = wedge.radius * (Math.PI / 2 - half) + 2 * p[SIGMA];
    for (let s = first; ; s += PIECE) {
      const middle = outlineAt(wedge, axes, side * (s + PIECE / 2));
      if (!(-middle.y <= end)) break;
      const light = new Float64Array(count);
      let lines = 0;
      for (let d = 0; d < PIECE; d += umPerPx, lines++)
        addLine(light, prepared, frame, outlineAt(wedge, axes, side * (s + d)), step, before);
      for (let i = 0; i < count; i++) light[i] /= lines;
      const outside = median(light.subarray(0, Math.max(3, Math.floor(p[SIGMA] / step))));
      const inside = median(light.subarray(count - Math.floor(4 / step)));
      if (!(outside - inside > 0.4)) continue;
      const scaled = light.map((v) => (v - inside) / (outside - inside));
      const value = width(scaled, (i) => i * step);
      if (Number.isFinite(value))
        out.push({ side, radius: Math.abs(middle.x) / Math.cos(half), width: value });
    }
  }
  return out;
}

/**
 * What is left in doubt of the shift, relative: a tip is no body of revolution (a depth of 0.6 to 1 of the width moves r by as
 * much), and the light behind it no even disc.
 */
const SHIFT_RELATIVE = 0.4;
/** Shift that no flank shows: light up to 12 degrees about the axis (m = 0.0033), rectangular from none. */
const UNSEEN_SHIFT = 0.0033 / (2 * Math.sqrt(3));

export type Bare = {
  readonly walls: Record<Side, WallFit>;
  /** What the light behind the part leaves in doubt of each width; nothing where it is next to nothing. */
  readonly lines: Record<Side, BudgetLine[]>;
};

/** Walls as they are when their own rims mirror nothing and the arc's does; as they were for a part that is no silhouette (null). */
export function withoutMirror(wedge: Wedge, walls: Record<Side, WallFit>, light: WideLight | null): Bare {
  if (light === null) return { walls, lines: { left: [], right: [] } };
  const left = bareWall(wedge, walls.left, light);
  const right = bareWall(wedge, walls.right, light);
  return { walls: { left: left.wall, right: right.wall }, lines: { left: left.lines, right: right.lines } };
}

function bareWall(wedge: Wedge, wall: WallFit, { shift }: WideLight): { wall: WallFit; lines: BudgetLine[] } {
  if (shift === 0) return { wall, lines: mirrorLine(wedge, wall, 0) };
  const hidden = shift * wedge.radius;
  const widened = (width: number): number =>
    flatWidth(wedge, wall.side, depthOfWidth(wedge, wall.side, width) + hidden);
  const width = widened(wall.width);
  const [thresholdWidth, limitWidth] = [widened(wall.thresholdWidth), widened(wall.limitWidth)];
  const limits = { thresholdWidth, limitWidth, thresholdDepth: wall.thresholdDepth + hidden };
  const depth = wall.depth + hidden;
  const seen = wall.detected ? { width, depth, area: lostArea(wedge, wall.side, depth) } : {};
  const bare = { ...wall, ...limits, ...seen };
  return { wall: bare, lines: mirrorLine(wedge, bare, width - wall.width) };
}

/** `moved`: by how much wider the flat is than it looks, um. */
function mirrorLine(wedge: Wedge, wall: WallFit, moved: number): BudgetLine[] {
  const unseen = (UNSEEN_SHIFT * 4 * wedge.radius ** 2) / Math.max(wall.width, 0.25 * wedge.radius);
  const seen = wall.detected ? SHIFT_RELATIVE * moved : moved / Math.sqrt(3);
  const standard = moved > 0 ? seen : unseen;
  if (standard < LEAST_LINE) return [];
  const note =
    moved > 0
      ? 'the rim mirrors a light behind it that is far too wide: what that hides of a flat'
      : 'a rim that mirrors light up to 12 degrees about the axis, which no flank shows; rectangular';
  return [{ source: 'light behind the part', standard, type: 'B', degreesOfFreedom: null, note }];
}

/** The same of the difference of two widths. */
export function mirrorOfBoth(lines: readonly BudgetLine[]): BudgetLine[] {
  const [first] = lines;
  if (first === undefined) return [];
  const standard = Math.hypot(...lines.map((line) => line.standard));
  return [{ ...first, standard, note: 'of both pictures' }];
}
const LEAST_LINE = 0.02;

export function wideBacklight(lights: readonly WideLight[]): Warning[] {
  const grazing = Math.max(...lights.map((one) => one.grazing));
  if (grazing === 0) return [];
  // the light reaches twice as far as its grazing rays are turned
  const degrees = Math.round((2 * grazing * 180) / Math.PI / 5) * 5;
  return [
    {
      code: 'wide-backlight',
      message: `The light behind the part reaches some ${degrees} degrees off the axis, and the part's round rim mirrors it, so that flats look narrower than they are. The widths allow for it, with less certainty. Move the light further away, or put a dark card with a small hole before it, and take the picture again.`,
    },
  ];
}
