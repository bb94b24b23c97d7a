import type { Part } from './part.ts';
import { median } from '../fit/select.ts';
import { valueAt, type Plane } from './planes.ts';

/**
 * The two flanks to a fraction of a pixel, and with them the pose: wear never reaches the upper flanks, so their lines
 * carry rotation and place whatever happened to the tip. Places in pixels of the full frame, angles in radians,
 * anticlockwise on screen; rotation 0 = the tip points down.
 */
export type Flanks = {
  readonly rotation: number;
  /** Where the two flank lines meet, below the tip. */
  readonly vertexX: number;
  readonly vertexY: number;
  /** Half the angle between the flanks, the same on both sides: the axis is their bisector. */
  readonly halfLeft: number;
  readonly halfRight: number;
  /** Radius of the arc that touches both flanks and ends where the picture's apex does. */
  readonly radiusPx: number;
  /** Centre of that arc. */
  readonly xPx: number;
  readonly yPx: number;
  /** How far the flanks reach up from the arc, pixels along the flank. */
  readonly lengthPx: number;
  /** Root mean square distance of the edge points from the lines, the furthest tenth left out, pixels. */
  readonly residualPx: number;
};

export type Side = 'left' | 'right';
type Frame = {
  readonly xPx: number;
  readonly yPx: number;
  readonly rotation: number;
  readonly radiusPx: number;
  readonly halfLeft: number;
  readonly halfRight: number;
};

/** From the frame that has its origin in the arc's centre and the tip pointing down to the picture; pixels. */
export function toPicture(
  frame: Pick<Frame, 'xPx' | 'yPx' | 'rotation'>,
  x: number,
  y: number,
): [number, number] {
  const c = Math.cos(frame.rotation);
  const s = Math.sin(frame.rotation);
  return [frame.xPx + c * x + s * y, frame.yPx - s * x + c * y];
}

/** A place on a flank, `along` pixels up from where the arc ends, and the outward normal, both in the arc's frame. */
export function onFlank(
  frame: Frame,
  side: Side,
  along: number,
): { x: number; y: number; nx: number; ny: number } {
  const half = side === 'left' ? frame.halfLeft : frame.halfRight;
  const sign = side === 'left' ? -1 : 1;
  const nx = Math.cos(half);
  const ny = Math.sin(half);
  return {
    x: sign * (frame.radiusPx * nx + along * ny),
    y: frame.radiusPx * ny - along * nx,
    nx: sign * nx,
    ny,
  };
}

/** Grey values across an edge at `at` along its outward normal, from -reach to reach in steps of `step` pixels. */
function across(
  plane: Plane,
  frame: Frame,
  at: { x: number; y: number; nx: number; ny: number },
  reach: number,
  step: number,
): Float64Array {
  const n = 2 * Math.round(reach / step) + 1;
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const t = (i - (n - 1) / 2) * step;
    const [x, y] = toPicture(frame, at.x + t * at.nx, at.y + t * at.ny);
    out[i] = valueAt(plane, x, y);
  }
  return out;
}

/** Outermost place where half the step from field to part is reached, pixels from the middle; NaN without one. */
function halfWay(profile: Float64Array, field: number, step: number): number {
  const n = profile.length;
  const inner = median(profile.subarray(0, Math.max(2, Math.floor(n / 4))));
  // A dark rim inside a bright part, or the other way round, is the edge's own level.
  const third = profile.subarray(Math.floor(n / 4), Math.floor(n / 2));
  const near = third.reduce((far, v) => (Math.abs(v - field) > Math.abs(far - field) ? v : far), inner);
  const level = Math.abs(near - field) > Math.abs(inner - field) ? near : inner;
  const rise = level - field;
  if (Math.abs(rise) < 0.04) return NaN;
  const half = field + rise / 2;
  for (let i = n - 1; i > 0; i--) {
    const outer = (profile[i] - half) * Math.sign(rise);
    const inside = (profile[i - 1] - half) * Math.sign(rise);
    if (outer < 0 && inside >= 0) return (i - outer / (outer - inside) - (n - 1) / 2) * step;
  }
  return NaN;
}

type Line = { readonly nx: number; readonly ny: number; readonly h: number; readonly residual: number };

/** Line n.p = h through points by orthogonal regression, Cauchy weights; null for fewer than eight points. */
function lineThrough(xs: readonly number[], ys: readonly number[]): Line | null {
  const n = xs.length;
  if (n < 8) return null;
  let w = new Float64Array(n).fill(1);
  let line: Line = { nx: 1, ny: 0, h: 0, residual: 0 };
  for (let round = 0; round < 8; round++) {
    let sw = 0;
    let sx = 0;
    let sy = 0;
    for (let i = 0; i < n; i++) {
      sw += w[i];
      sx += w[i] * xs[i];
      sy += w[i] * ys[i];
    }
    const cx = sx / sw;
    const cy = sy / sw;
    let xx = 0;
    let xy = 0;
    let yy = 0;
    for (let i = 0; i < n; i++) {
      const dx = xs[i] - cx;
      const dy = ys[i] - cy;
      xx += w[i] * dx * dx;
      xy += w[i] * dx * dy;
      yy += w[i] * dy * dy;
    }
    const along = 0.5 * Math.atan2(2 * xy, xx - yy);
    const nx = -Math.sin(along);
    const ny = Math.cos(along);
    const h = nx * cx + ny * cy;
    const off = xs.map((x, i) => Math.abs(nx * x + ny * ys[i] - h));
    const spread = Math.max(0.05, 1.4826 * median(off));
    w = Float64Array.from(off, (r) => 1 / (1 + (r / (2 * spread)) ** 2) ** 2);
    const kept = off.toSorted((a, b) => a - b).slice(0, Math.ceil(0.9 * n));
    line = { nx, ny, h, residual: Math.sqrt(kept.reduce((s, r) => s + r * r, 0) / kept.length) };
  }
  return line;
}

const POSITIONS = 70;

/** Edge points of one flank in the arc's frame. */
function pointsOf(
  plane: Plane,
  part: Part,
  frame: Frame,
  side: Side,
  length: number,
  reach: number,
): { xs: number[]; ys: number[] } {
  const xs: number[] = [];
  const ys: number[] = [];
  for (let i = 0; i < POSITIONS; i++) {
    const at = onFlank(frame, side, length * (0.08 + (0.87 * i) / (POSITIONS - 1)));
    const [ox, oy] = toPicture(frame, at.x + reach * at.nx, at.y + reach * at.ny);
    if (ox < 1 || oy < 1 || ox > plane.width - 2 || oy > plane.height - 2) continue;
    const t = halfWay(across(plane, frame, at, reach, 0.5), part.field(ox, oy), 0.5);
    if (!Number.isFinite(t)) continue;
    xs.push(at.x + t * at.nx);
    ys.push(at.y + t * at.ny);
  }
  return { xs, ys };
}

/** Half angle and distance of a flank's line, seen so that its normal points outwards. */
function flankOf(line: Line, side: Side): { half: number; h: number } {
  const sign = side === 'left' ? -1 : 1;
  const flip = line.nx * sign < 0 ? -1 : 1;
  return { half: Math.atan2(flip * line.ny, flip * line.nx * sign), h: flip * line.h };
}

/** Flanks from the part's first idea of itself, refined twice; null where the edges cannot be followed. */
export function flanksOf(plane: Plane, part: Part): Flanks | null {
  const { located } = part;
  let frame: Frame = located;
  let length = (located.flankPx + located.radiusPx * Math.sin(located.halfLeft)) / Math.cos(located.halfLeft);
  let residual = NaN;
  for (let round = 0; round < 3; round++) {
    const reach = round === 0 ? Math.max(12, 0.9 * frame.radiusPx) : Math.max(8, 0.6 * frame.radiusPx);
    const lines = (['left', 'right'] as const).map((side) => {
      const { xs, ys } = pointsOf(plane, part, frame, side, length, Math.min(60, reach));
      const line = lineThrough(xs, ys);
      return line === null ? null : { ...flankOf(line, side), residual: line.residual };
    });
    const [left, right] = lines;
    if (left === null || right === null) return null;
    residual = Math.max(left.residual, right.residual);
    // n.p = h on both sides: left normal (-cos a, sin a), right normal (cos b, sin b)
    const det = Math.sin(left.half + right.half);
    if (!(det > 0.2)) return null;
    const vx = (right.h * Math.sin(left.half) - left.h * Math.sin(right.half)) / det;
    const vy = (left.h * Math.cos(right.half) + right.h * Math.cos(left.half)) / det;
    // The axis is the bisector of the two flanks.
    const lean = (right.half - left.half) / 2;
    const half = (left.half + right.half) / 2;
    const [px, py] = toPicture(frame, vx, vy);
    // An axis that leans to the right going up has its tip to the left: a clockwise turn.
    const rotation = frame.rotation - lean;
    const middle = { xPx: px, yPx: py, rotation };
    const gap = apexGap(plane, part, middle, half, frame.radiusPx);
    const radius = Number.isFinite(gap) ? gap / (1 / Math.sin(half) - 1) : frame.radiusPx;
    if (!(radius > 0.5)) return null;
    const [xPx, yPx] = toPicture(middle, 0, -radius / Math.sin(half));
    frame = { xPx, yPx, rotation, radiusPx: radius, halfLeft: half, halfRight: half };
    length = Math.max(20, (located.flankPx + radius * Math.sin(half)) / Math.cos(half));
    if (round < 2) continue;
    return {
      ...frame,
      vertexX: px,
      vertexY: py,
      lengthPx: length,
      residualPx: residual,
    };
  }
  return null;
}

/** Distance from the flanks' vertex up to the apex' edge along the axis, middle of a few neighbouring lines. */
function apexGap(
  plane: Plane,
  part: Part,
  vertex: { readonly xPx: number; readonly yPx: number; readonly rotation: number },
  half: number,
  radius: number,
): number {
  const centre = -radius / Math.sin(half);
  const frame: Frame = { ...vertex, radiusPx: radius, halfLeft: half, halfRight: half };
  const found: number[] = [];
  for (let i = -3; i <= 3; i++) {
    // lines fanned about the arc's centre, each apart from the axis by 3 degrees
    const angle = (i * 3 * Math.PI) / 180;
    const at = {
      x: radius * Math.sin(angle),
      y: centre + radius * Math.cos(angle),
      nx: Math.sin(angle),
      ny: Math.cos(angle),
    };
    const reach = Math.max(8, 0.8 * radius);
    const [ox, oy] = toPicture(frame, at.x + reach * at.nx, at.y + reach * at.ny);
    if (ox < 1 || oy < 1 || ox > plane.width - 2 || oy > plane.height - 2) continue;
    const t = halfWay(across(plane, frame, at, reach, 0.5), part.field(ox, oy), 0.5);
    if (Number.isFinite(t)) found.push((radius + t) * Math.cos(angle) - radius);
  }
  if (found.length < 3) return NaN;
  return -(centre + radius + median(found));
}
