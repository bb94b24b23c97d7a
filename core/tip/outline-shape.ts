import { answer, refuse, type Outcome } from '../../shared/index.ts';
import { median } from '../fit/select.ts';

/** First idea of where the tip lies, pixels and radians; good to a few pixels and a degree or two. */
export type Located = {
  /** Centre of the tip's arc, pixels. */
  readonly xPx: number;
  readonly yPx: number;
  /** Anticlockwise on screen, 0 = tip down. */
  readonly rotation: number;
  readonly radiusPx: number;
  readonly halfLeft: number;
  readonly halfRight: number;
  /** Full width of the parallel shank, pixels; null when the frame shows none. */
  readonly shankPx: number | null;
  /** How far the flanks stay straight, measured from the arc's centre upwards along the axis, pixels. */
  readonly flankPx: number;
  /** Rim of the part, whole pixels, with the picture's own border left out. */
  readonly rim: { readonly x: Float64Array; readonly y: Float64Array };
  /** Root-mean-square distance of the rim from the two flank lines, pixels. */
  readonly flankResidualPx: number;
  /** Share of the flank rows that lie more than 3 pixels off the flank lines. */
  readonly outlierShare: number;
};

/** Rim of a part without the picture's border, where the part touches that, and the middle of those places. Pixels. */
export type Rim = {
  x: Float64Array;
  y: Float64Array;
  borderX: number;
  borderY: number;
  border: readonly { readonly x: number; readonly y: number }[];
};

/** What was found in a copy made `f` times smaller, in the places of the full picture (pixel centres on whole numbers). */
export function enlarged(l: Located, f: number): Located {
  if (f === 1) return l;
  const place = (v: number): number => (v + 0.5) * f - 0.5;
  return {
    ...l,
    xPx: place(l.xPx),
    yPx: place(l.yPx),
    radiusPx: l.radiusPx * f,
    shankPx: l.shankPx === null ? null : l.shankPx * f,
    flankPx: l.flankPx * f,
    rim: { x: l.rim.x.map(place), y: l.rim.y.map(place) },
    flankResidualPx: l.flankResidualPx * f,
  };
}

type Row = { left: number; right: number };

/** Rim points turned so that `axis` (unit vector root to tip) points down; v counts from the apex upwards. */
function turned(rim: Rim, ax: number, ay: number): { u: Float64Array; v: Float64Array; apex: number } {
  const n = rim.x.length;
  const u = new Float64Array(n);
  const v = new Float64Array(n);
  let apex = -Infinity;
  for (let i = 0; i < n; i++) {
    // screen: x right, y down; axis = down direction d; right = (d.y, -d.x)
    u[i] = rim.x[i] * ay - rim.y[i] * ax;
    v[i] = rim.x[i] * ax + rim.y[i] * ay;
    if (v[i] > apex) apex = v[i];
  }
  for (let i = 0; i < n; i++) v[i] = apex - v[i];
  return { u, v, apex };
}

/** Outermost rim positions left and right per row of one pixel, from the apex upwards. */
function rowsOf(u: Float64Array, v: Float64Array): Row[] {
  const rows: Row[] = [];
  for (let i = 0; i < u.length; i++) {
    const k = Math.round(v[i]);
    const row = (rows[k] ??= { left: Infinity, right: -Infinity });
    if (u[i] < row.left) row.left = u[i];
    if (u[i] > row.right) row.right = u[i];
  }
  return rows;
}

type Line = { slope: number; at0: number; residual: number; outliers: number; from: number; to: number };

/** Robust line u = at0 + slope v through row edges between two heights. */
function lineThrough(points: { u: number; v: number }[]): Line {
  let slope = 0;
  let at0 = 0;
  let scale = 1e9;
  for (let round = 0; round < 8; round++) {
    let sw = 0;
    let sv = 0;
    let su = 0;
    let svv = 0;
    let suv = 0;
    for (const p of points) {
      const r = (p.u - at0 - slope * p.v) / scale;
      const w = round === 0 ? 1 : 1 / (1 + r * r) ** 2;
      sw += w;
      sv += w * p.v;
      su += w * p.u;
      svv += w * p.v * p.v;
      suv += w * p.u * p.v;
    }
    const d = sw * svv - sv * sv;
    if (!(d > 0)) break;
    slope = (sw * suv - sv * su) / d;
    at0 = (su - slope * sv) / sw;
    scale = Math.max(0.7, 2 * 1.4826 * median(points.map((p) => Math.abs(p.u - at0 - slope * p.v))));
  }
  const residual = 1.4826 * median(points.map((p) => Math.abs(p.u - at0 - slope * p.v)));
  const outliers = points.filter((p) => Math.abs(p.u - at0 - slope * p.v) > 3).length / points.length;
  return { slope, at0, residual, outliers, from: 0, to: 0 };
}

/** Axis, flanks, shank and radius from the rim; refuses what has no two flanks meeting in a rounded tip. */
export function shapeOfTip(rim: Rim, width: number, height: number): Outcome<Located> {
  // Farthest rim point from where the part enters, then the axis is refined from its own outline.
  let far = -1;
  let fx = 0;
  let fy = 0;
  for (let i = 0; i < rim.x.length; i++) {
    const d = Math.hypot(rim.x[i] - rim.borderX, rim.y[i] - rim.borderY);
    if (d > far) {
      far = d;
      fx = rim.x[i];
      fy = rim.y[i];
    }
  }
  if (far < 30)
    return refuse(
      'tip-not-found',
      'The part in the picture is too small to show a tip. Go closer or choose a larger frame size.',
    );
  let ax = (fx - rim.borderX) / far;
  let ay = (fy - rim.borderY) / far;
  let best: (Candidate & { ax: number; ay: number }) | null = null;
  for (let round = 0; round < 6; round++) {
    const candidate = readOutline(rim, ax, ay);
    if (!candidate) break;
    best = { ...candidate, ax, ay };
    const turn = candidate.tilt;
    const c = Math.cos(turn);
    const s = Math.sin(turn);
    // tilt: the axis leans to the right going up by this angle -> turn the axis vector accordingly
    const nx = c * ax - s * ay;
    const ny = s * ax + c * ay;
    ax = nx;
    ay = ny;
    if (Math.abs(turn) < 1e-4) break;
  }
  if (!best)
    return refuse(
      'tip-not-found',
      'The outline shows no two straight flanks that meet in a tip. Turn the part so that the tip is seen from the front.',
    );
  // a chip may keep the axis from coming to rest: what was read holds for the axis that it was read along
  return judge(best, rim, best.ax, best.ay, width, height);
}

type Candidate = {
  tilt: number;
  left: Line;
  right: Line;
  apex: number;
  shank: number | null;
  top: number;
  rows: Row[];
};

function readOutline(rim: Rim, ax: number, ay: number): Candidate | null {
  const { u, v, apex } = turned(rim, ax, ay);
  const rows = rowsOf(u, v);
  const n = rows.length;
  if (n < 30) return null;
  const width = new Float64Array(n).fill(NaN);
  for (let k = 0; k < n; k++)
    if (rows[k] && rows[k].right > rows[k].left) width[k] = rows[k].right - rows[k].left;
  // Height up to which the outline has both sides.
  let top = 0;
  let gap = 0;
  for (let k = 0; k < n; k++) {
    if (Number.isNaN(width[k])) gap++;
    else if (gap < 12) {
      top = k;
      gap = 0;
    }
    if (gap >= 12) break;
  }
  if (top < 30) return null;
  const shank = shankWidth(width, top);
  const wide = width
    .slice(0, top + 1)
    .filter((w) => w > 0)
    .sort();
  const reference = shank ?? wide[Math.floor(wide.length * 0.97)];
  let lo = 0.42;
  let hi = 0.86;
  let left: Line | null = null;
  let right: Line | null = null;
  for (let round = 0; round < 3; round++) {
    const l: { u: number; v: number }[] = [];
    const r: { u: number; v: number }[] = [];
    let from = -1;
    let to = 0;
    const end = flanksEnd(width, top, hi * reference);
    for (let k = 2; k <= end; k++) {
      const w = width[k];
      if (!(w > lo * reference && w < hi * reference)) continue;
      if (from < 0) from = k;
      to = k;
      l.push({ u: rows[k].left, v: k });
      r.push({ u: rows[k].right, v: k });
    }
    if (l.length < 8) return null;
    left = { ...lineThrough(l), from, to };
    right = { ...lineThrough(r), from, to };
    // extend towards the arc where the lines still hold
    const apexWidth = right.at0 - left.at0;
    lo = Math.min(0.42, Math.max(0.15, (1.7 * Math.max(0, apexWidth)) / reference));
    if (shank === null) hi = 0.93;
  }
  if (!left || !right) return null;
  const tiltFlanks = (Math.atan(left.slope) + Math.atan(right.slope)) / 2;
  return { tilt: tiltFlanks, left, right, apex, shank, top, rows };
}

/**
 * Width of the parallel shank: the width that most rows share. Fluff widens rows by all sorts of amounts and a border
 * that cuts the shank askew narrows them evenly, so neither gathers votes. Null when too few rows agree.
 */
function shankWidth(width: Float64Array, top: number): number | null {
  const sorted = width
    .slice(0, top + 1)
    .filter((w) => w > 10)
    .sort();
  let best = 0;
  let agreeing = 0;
  for (let from = 0, to = 0; from < sorted.length; from++) {
    while (to < sorted.length && sorted[to] < 1.03 * sorted[from]) to++;
    if (to - from > agreeing) {
      agreeing = to - from;
      best = from;
    }
  }
  if (!(agreeing > Math.max(12, 0.08 * sorted[best]))) return null;
  return median(Array.from(sorted.subarray(best, best + agreeing)));
}

/** Last row of the flanks: where the outline, looked at over the next rows, has become as wide as `most`. */
function flanksEnd(width: Float64Array, top: number, most: number): number {
  for (let k = 10; k <= top; k++) {
    if (!(width[k] > most)) continue;
    const next = Array.from(width.subarray(k, Math.min(top + 1, k + 15))).filter((w) => w > 0);
    if (median(next) > most) return k;
  }
  return top;
}

/**
 * Robust deviation of a flank from its line, pixels. A stylus' flank is straight to a pixel even out of focus and with
 * fluff on it, since more than half of it is free; leaves, lettering and clouds start at 2 and mostly show 5 and more.
 */
const MOST_CROOKED_PX = 2.5;

/** Cones are made with half angles of 20 to 32 degrees; a round thing shows 45, read a third of the way up. */
const MOST_HALF = 40;

function judge(
  c: Candidate,
  rim: Rim,
  ax: number,
  ay: number,
  width: number,
  height: number,
): Outcome<Located> {
  const { left, right, apex, shank } = c;
  const halfLeft = -Math.atan(left.slope);
  const halfRight = Math.atan(right.slope);
  const half = (halfLeft + halfRight) / 2;
  const degree = Math.PI / 180;
  if (half < 10 * degree || half > MOST_HALF * degree || Math.abs(halfLeft - halfRight) > 12 * degree)
    return refuse(
      'tip-not-found',
      'The outline has no two flanks like those of a stylus tip. Check that the picture shows the tip from the front.',
    );
  const residual = Math.max(left.residual, right.residual);
  if (residual > MOST_CROOKED_PX)
    return refuse(
      'tip-not-found',
      'The sides of what was found are too crooked for the flanks of a stylus tip. Check that the picture shows the tip from the front, clean, and alone.',
    );
  // Vertex of the two flanks: at0L + sL v = at0R + sR v
  const vv = (right.at0 - left.at0) / (left.slope - right.slope);
  const uv = left.at0 + left.slope * vv;
  const q = -vv; // the vertex lies this far below the apex
  const radius = q / (1 / Math.sin(half) - 1);
  if (!(radius > 1.5))
    return refuse(
      'tip-not-found',
      'The flanks meet without a rounded tip between them: this is not the outline of a stylus tip, or the picture is too coarse.',
    );
  const vc = vv + radius / Math.sin(half);
  const down = apex - vc;
  const toX = (u: number, d: number): number => u * ay + d * ax;
  const toY = (u: number, d: number): number => -u * ax + d * ay;
  const x = toX(uv, down);
  const y = toY(uv, down);
  const apexX = toX(uv, apex);
  const apexY = toY(uv, apex);
  const margin = 0.35 * radius + 4;
  // the part touches the border lower down than its flanks: what looks like its end is where it is cut
  const lowest = apex - rim.border.reduce((most, p) => Math.max(most, p.x * ax + p.y * ay), -Infinity);
  const cut = lowest < Math.max(left.from, right.from);
  if (cut || apexX < margin || apexY < margin || apexX > width - 1 - margin || apexY > height - 1 - margin)
    return refuse(
      'tip-outside-frame',
      'The tip is cut by the border of the picture. Move it towards the middle and take the picture again.',
    );
  const reference = shank ?? Infinity;
  const flank = Math.min((left.to + right.to) / 2, c.top) - vc;
  // flanks that end well before they leave the arc are the sides of something round
  if (flank < -0.12 * radius || (2 * radius > 0.98 * reference * 1.05 && 2 * radius > reference))
    return refuse('tip-not-found', 'The outline is round all over: no stylus tip with flanks was found.');
  return answer({
    xPx: x,
    yPx: y,
    rotation: Math.atan2(ax, ay),
    radiusPx: radius,
    halfLeft,
    halfRight,
    shankPx: shank,
    flankPx: flank,
    rim: { x: rim.x, y: rim.y },
    flankResidualPx: residual,
    outlierShare: Math.max(left.outliers, right.outliers),
  });
}
