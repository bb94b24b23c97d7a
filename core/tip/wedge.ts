/**
 * The rounded wedge: an elliptic tip arc, two flanks tangent to it, cut by two wall planes. Tip frame, um, y down,
 * apex below the origin. Angles in radians. Derivation in core/README.md.
 */
export type Wedge = {
  /** Geometric mean of the arc's semi-axes, um. */
  readonly radius: number;
  /** Semi-axis along the shank over semi-axis across, minus 1. */
  readonly ellipse: number;
  /** Angle between the shank's axis and the flank. */
  readonly halfLeft: number;
  readonly halfRight: number;
  /** Wall plane's normal above 45 degrees of the horizontal (positive: steeper towards the apex). */
  readonly wallLeft: number;
  readonly wallRight: number;
  /** Depth of each cut from the unworn outline's parallel tangent, um; 0 or less: no cut. */
  readonly depthLeft: number;
  readonly depthRight: number;
};

/** Order of the shape's parameters in every fit. */
export const SHAPE_SIZE = 8;
export function wedgeOf(p: ArrayLike<number>): Wedge {
  return {
    radius: p[0],
    ellipse: p[1],
    halfLeft: p[2],
    halfRight: p[3],
    wallLeft: p[4],
    wallRight: p[5],
    depthLeft: p[6],
    depthRight: p[7],
  };
}

export type Axes = { readonly a: number; readonly b: number };
/** Semi-axes across (a) and along (b) the shank, um. */
export function axesOf(w: Wedge): Axes {
  const root = Math.sqrt(1 + w.ellipse);
  return { a: w.radius / root, b: w.radius * root };
}

/** Distance of the ellipse's tangent from its centre in the direction (cos angle, sin angle), um. */
export function support({ a, b }: Axes, angle: number): number {
  const across = a * Math.cos(angle);
  const along = b * Math.sin(angle);
  // not Math.hypot: many times slower, and there is nothing to overflow
  return Math.sqrt(across * across + along * along);
}

/** Pieces of the lower boundary, each as y(x), um, x both ways from the axis: unworn outline, left and right plane. */
export type Pieces = readonly [(x: number) => number, (x: number) => number, (x: number) => number];

/** What does not depend on x is worked out once: a fit asks for many x of one shape. */
export function piecesOf(w: Wedge): Pieces {
  const axes = axesOf(w);
  const { a, b } = axes;
  const side = (half: number) => {
    const h = support(axes, half);
    const c = Math.cos(half);
    return { tangent: (a * a * c) / h, from: h / Math.sin(half), slope: c / Math.sin(half) };
  };
  const left = side(w.halfLeft);
  const right = side(w.halfRight);
  const cutOf = (wall: number, depth: number) => {
    const angle = Math.PI / 4 + wall;
    return depth > 0
      ? { from: (support(axes, angle) - depth) / Math.sin(angle), slope: 1 / Math.tan(angle) }
      : { from: Infinity, slope: 0 };
  };
  const cutLeft = cutOf(w.wallLeft, w.depthLeft);
  const cutRight = cutOf(w.wallRight, w.depthRight);
  return [
    (x) => {
      const { tangent, from, slope } = x < 0 ? left : right;
      const away = Math.abs(x);
      return away < tangent ? b * Math.sqrt(Math.max(0, 1 - (away * away) / (a * a))) : from - away * slope;
    },
    (x) => cutLeft.from + x * cutLeft.slope,
    (x) => cutRight.from - x * cutRight.slope,
  ];
}

/** Which piece is lowest in number, that is, bounds the material, at x. A plane may cut across the apex when the flat is wide. */
export function pieceAt(pieces: Pieces, x: number): 0 | 1 | 2 {
  const unworn = pieces[0](x);
  const left = pieces[1](x);
  const right = pieces[2](x);
  if (left < unworn) return right < left ? 2 : 1;
  return right < unworn ? 2 : 0;
}

/**
 * Lower boundary y_b(x) of the wedge, um, as a function of x. Everything above (smaller y) up to the shank is material.
 */
export function boundaryOf(w: Wedge): (x: number) => number {
  const [unworn, left, right] = piecesOf(w);
  return (x) => Math.min(unworn(x), left(x), right(x));
}

/**
 * Chord of one wall's plane with the unworn outline, um (measurement.md, "flat width"); 0 for depth <= 0.
 * The line is followed both ways from its foot to the arc or, outside the tangent point, to the flank.
 */
export function flatWidth(
  w: Wedge,
  side: 'left' | 'right',
  depth = side === 'left' ? w.depthLeft : w.depthRight,
): number {
  if (!(depth > 0)) return 0;
  const axes = axesOf(w);
  const half = side === 'left' ? w.halfLeft : w.halfRight;
  const angle = Math.PI / 4 + (side === 'left' ? w.wallLeft : w.wallRight);
  const offset = support(axes, angle) - depth;
  const [t1, t2] = lineThroughEllipse(axes, angle, offset);
  if (!Number.isFinite(t1)) return 0;
  // Outer end: towards the flank. Along the line (-sin, cos) t grows towards the apex, so t1 is the outer end.
  const h = support(axes, half);
  const xOuter = offset * Math.cos(angle) - t1 * Math.sin(angle);
  const tangentX = (axes.a * axes.a * Math.cos(half)) / h;
  let outer = t1;
  if (xOuter > tangentX || onFlankSide(axes, half, xOuter, offset * Math.sin(angle) + t1 * Math.cos(angle))) {
    // offset (n.m) + t (d.m) = h with m the flank's normal
    const nm = Math.cos(angle) * Math.cos(half) + Math.sin(angle) * Math.sin(half);
    const dm = -Math.sin(angle) * Math.cos(half) + Math.cos(angle) * Math.sin(half);
    outer = (h - offset * nm) / dm;
  }
  return t2 - outer;
}

function onFlankSide(axes: Axes, half: number, x: number, y: number): boolean {
  const h = support(axes, half);
  const tangentY = (axes.b * axes.b * Math.sin(half)) / h;
  return y < tangentY && x > 0;
}

/** Parameters t along (-sin, cos) from the foot of the line n.p = offset where it meets the ellipse. */
function lineThroughEllipse({ a, b }: Axes, angle: number, offset: number): [number, number] {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const qa = (s * s) / (a * a) + (c * c) / (b * b);
  const qb = 2 * offset * c * s * (1 / (b * b) - 1 / (a * a));
  const qc = offset * offset * ((c * c) / (a * a) + (s * s) / (b * b)) - 1;
  const root = Math.sqrt(qb * qb - 4 * qa * qc);
  return [(-qb - root) / (2 * qa), (-qb + root) / (2 * qa)];
}

/** Depth whose chord is `width`, um; the inverse of {@link flatWidth} by bisection. */
export function depthOfWidth(w: Wedge, side: 'left' | 'right', width: number): number {
  let low = 0;
  let high = w.radius * 0.9;
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (flatWidth(w, side, middle) < width) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Area that one wall's plane removes from the unworn outline, um^2 (numerical, 0.2 % or better). */
export function lostArea(
  w: Wedge,
  side: 'left' | 'right',
  depth = side === 'left' ? w.depthLeft : w.depthRight,
): number {
  if (!(depth > 0)) return 0;
  // dA/dd = w(d): integrate the chord over the depth, with d = depth * u^2 to tame the square root at 0.
  const n = 24;
  let sum = 0;
  for (let i = 0; i < n; i++) {
    const u = (i + 0.5) / n;
    sum += flatWidth(w, side, depth * u * u) * 2 * u;
  }
  return (depth * sum) / n;
}

/** A tangent of the arc: its normal's cosine and sine, its distance from the centre (um) and what that does by ellipse and angle. */
export type Tangent = {
  readonly cos: number;
  readonly sin: number;
  readonly h: number;
  readonly byEllipse: number;
  readonly byAngle: number;
};

/** One side of a wedge, as seen with x to its own side. */
export type Side = {
  /** Length of the arc from the apex to where the flank begins, um. */
  readonly arc: number;
  /** Depth of the cut, um. */
  readonly depth: number;
  /** Where the flank touches the arc, um. */
  readonly footX: number;
  readonly footY: number;
  readonly flank: Tangent;
  /** The wall's plane before it has cut anything. */
  readonly plane: Tangent;
};

/** dH/d(ellipse) of the {@link support} H at a normal's angle. */
const supportByEllipse = (w: Wedge, h: number, angle: number): number =>
  (w.radius ** 2 * (Math.sin(angle) ** 2 - (Math.cos(angle) / (1 + w.ellipse)) ** 2)) / (2 * h);

/** What of a wedge does not depend on the point that is asked for: left, right. */
export function sidesOf(w: Wedge): readonly [Side, Side] {
  const axes = axesOf(w);
  const { a, b } = axes;
  const tangent = (angle: number): Tangent => {
    const h = support(axes, angle);
    const cos = Math.cos(angle);
    const sin = Math.sin(angle);
    const byEllipse = supportByEllipse(w, h, angle);
    return { cos, sin, h, byEllipse, byAngle: ((b ** 2 - a ** 2) * sin * cos) / h };
  };
  const side = (half: number, wall: number, depth: number): Side => {
    const flank = tangent(half);
    return {
      arc: w.radius * (Math.PI / 2 - half),
      depth,
      footX: (a * a * flank.cos) / flank.h,
      footY: (b * b * flank.sin) / flank.h,
      flank,
      plane: tangent(Math.PI / 4 + wall),
    };
  };
  return [side(w.halfLeft, w.wallLeft, w.depthLeft), side(w.halfRight, w.wallRight, w.depthRight)];
}

/**
 * Place of a point relative to the unworn outline: signed distance t (um, positive outside) and position s along
 * the outline (um, 0 at the apex, positive to the right). The arc is taken as a circle of the local radius, good
 * to a few hundredths of a um for ellipses of up to 15 %; it serves for interiors and bands, not for the edge.
 * The answer of one call is overwritten by the next.
 */
export function placer(w: Wedge): (x: number, y: number) => { s: number; t: number } {
  const { a, b } = axesOf(w);
  const [left, right] = sidesOf(w);
  const place = { s: 0, t: 0 };
  return (x, y) => {
    const { arc, footX, footY, flank } = x < 0 ? left : right;
    const away = Math.abs(x);
    // along the flank, upwards: (sin, -cos)
    const up = (away - footX) * flank.sin - (y - footY) * flank.cos;
    let s: number;
    if (up > 0) {
      s = arc + up;
      place.t = away * flank.cos + y * flank.sin - flank.h;
    } else {
      const r = Math.sqrt(away * away + y * y);
      const bx = b * away;
      const ay = a * y;
      const limb = r > 0 ? (a * b * r) / Math.sqrt(bx * bx + ay * ay) : a;
      const normal = Math.atan2(y * a * a, away * b * b);
      s = w.radius * Math.min(Math.PI / 2, Math.max(0, Math.PI / 2 - normal));
      place.t = r - limb;
    }
    place.s = x < 0 ? -s : s;
    return place;
  };
}

/**
 * Depth below the *worn* outline with its slopes: t (um, positive outside), the outward unit normal (nx, ny) there, s as
 * in {@link placer}, and dt/d(shape parameter) in the order of SHAPE_SIZE. Inside, the distance to an intersection of
 * half planes and an ellipse is the largest of the distances to each. One call's answer is overwritten by the next.
 * Without `slopes` normal and derivatives are left as they were.
 */
export type WornPlace = {
  s: number;
  t: number;
  /** The same distance from the unworn outline, um; t or less. */
  unworn: number;
  nx: number;
  ny: number;
  readonly dt: Float64Array;
};
export function wornPlacer(w: Wedge, slopes = true): (x: number, y: number) => WornPlace {
  const axes = axesOf(w);
  const place = placer(w);
  const sides = sidesOf(w);
  const out: WornPlace = { s: 0, t: 0, unworn: 0, nx: 0, ny: 0, dt: new Float64Array(SHAPE_SIZE) };
  return (x, y) => {
    const { s, t } = place(x, y);
    const k = x < 0 ? 0 : 1;
    const sign = x < 0 ? -1 : 1;
    const away = Math.abs(x);
    const side = sides[k];
    out.s = s;
    out.t = t;
    out.unworn = t;
    // a plane may cut across the apex, so both are looked at
    let cut = -1;
    for (let i = 0; i < 2; i++) {
      const { plane, depth } = sides[i];
      if (!(depth > 0)) continue;
      const d = (i === 0 ? -x : x) * plane.cos + y * plane.sin - plane.h + depth;
      if (d > out.t) {
        out.t = d;
        cut = i;
      }
    }
    if (!slopes) return out;
    const { dt } = out;
    dt.fill(0);
    if (cut >= 0) {
      const { plane } = sides[cut];
      const u = cut === 0 ? -x : x;
      out.nx = cut === 0 ? -plane.cos : plane.cos;
      out.ny = plane.sin;
      dt[0] = -plane.h / w.radius;
      dt[1] = -plane.byEllipse;
      dt[4 + cut] = -u * plane.sin + y * plane.cos - plane.byAngle;
      dt[6 + cut] = 1;
    } else if (Math.abs(s) > side.arc) {
      const f = side.flank;
      out.nx = sign * f.cos;
      out.ny = f.sin;
      dt[0] = -f.h / w.radius;
      dt[1] = -f.byEllipse;
      dt[2 + k] = -away * f.sin + y * f.cos - f.byAngle;
    } else {
      const gx = x / (axes.a * axes.a);
      const gy = y / (axes.b * axes.b);
      const norm = Math.sqrt(gx * gx + gy * gy) || 1;
      out.nx = gx / norm;
      out.ny = gy / norm;
      const angle = Math.atan2(out.ny, Math.abs(out.nx));
      const h = support(axes, angle);
      dt[0] = -h / w.radius;
      dt[1] = -supportByEllipse(w, h, angle);
    }
    return out;
  };
}

/** Point of the (worn) outline at position s of the unworn one, and the unworn outward normal. */
export function outlineAt(w: Wedge, axes: Axes, s: number): { x: number; y: number; nx: number; ny: number } {
  const sign = s < 0 ? -1 : 1;
  const half = s < 0 ? w.halfLeft : w.halfRight;
  const arc = w.radius * (Math.PI / 2 - half);
  const away = Math.abs(s);
  const h = support(axes, half);
  let x: number;
  let y: number;
  let nx: number;
  let ny: number;
  if (away > arc) {
    const up = away - arc;
    nx = Math.cos(half);
    ny = Math.sin(half);
    x = (axes.a * axes.a * nx) / h + up * ny;
    y = (axes.b * axes.b * ny) / h - up * nx;
  } else {
    // by the normal's angle, so that arc and flank join without a step
    const angle = Math.PI / 2 - away / w.radius;
    nx = Math.cos(angle);
    ny = Math.sin(angle);
    const touch = support(axes, angle);
    x = (axes.a * axes.a * nx) / touch;
    y = (axes.b * axes.b * ny) / touch;
  }
  return { x: sign * x, y, nx: sign * nx, ny };
}
