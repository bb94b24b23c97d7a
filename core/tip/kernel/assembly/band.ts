import { blur, flankBlur, useOutline, WIDE } from './edge';
import { depthProfiles } from './inside';
import { at, put } from './memory';
import { useTable } from './normal';

const SHAPE: i32 = 8;
const INTERIOR: i32 = 19;

/** Places in the list of a model's numbers; the same names in `band-kernel.ts`. */
const POSE_X = 0;
const POSE_Y = 1;
const COS = 2;
const SIN = 3;
const ZOOM = 4;
const SIGMA = 5;
const WEIGHT = 6;
const TONE = 7;
const SHADE = 8;
const TILT = 9; // three
const LENGTH = 12;
const DEPTH = 13;
const FIRST_KNOT = 14;
const KNOT_STEP = 15;
const KNOTS = 16;
const HUMPS = 17;
const ACROSS = 18;
const ALONG = 19;
const RADIUS = 20;
const GROWN = 21;
const FAR_LEFT = 22;
const FAR_RIGHT = 23;
const X_MIN = 24;
const NODE_STEP = 25;
const NODES = 26;
const KINKS = 27;
const SIDES = 28; // left, right: SIDE numbers each
const SIDE = 16;
// within a side: arc, depth, the flank's foot (x, y), then flank and plane: cos, sin, h, dh/d(ellipse), dh/d(angle)
const ARC = 0;
const CUT = 1;
const FOOT_X = 2;
const FOOT_Y = 3;
const FLANK = 4;
const PLANE = 9;
const FLANKS = 60; // left, right: six each

/** The i-th of pairs, narrow and wide, under the sharpened blur; then its derivatives by the blur's width and by the weight. */
function sharpened(pairs: usize, i: i32, weight: f64): f64 {
  return (1 + weight) * at(pairs, 2 * i) - weight * at(pairs, 2 * i + 1);
}
function sharpenedByWidth(pairs: usize, i: i32, weight: f64): f64 {
  return (1 + weight) * at(pairs, 2 * i) - weight * WIDE * at(pairs, 2 * i + 1);
}
function bySharpening(pairs: usize, i: i32): f64 {
  return at(pairs, 2 * i) - at(pairs, 2 * i + 1);
}

/** How far up the flank a point lies from where it begins, um; 0 or less: beside the arc. `away`: distance from the axis. */
function alongFlank(side: usize, away: f64, y0: f64): f64 {
  return (away - at(side, FOOT_X)) * at(side, FLANK + 1) - (y0 - at(side, FOOT_Y)) * at(side, FLANK);
}

function fromFlank(side: usize, away: f64, y0: f64): f64 {
  return away * at(side, FLANK) + y0 * at(side, FLANK + 1) - at(side, FLANK + 2);
}

function fromArc(a: f64, b: f64, away: f64, y0: f64): f64 {
  const r = sqrt(away * away + y0 * y0);
  const bx = b * away;
  const ay = a * y0;
  return r - (r > 0 ? (a * b * r) / sqrt(bx * bx + ay * ay) : a);
}

function alongArc(a: f64, b: f64, radius: f64, away: f64, y0: f64): f64 {
  const normalAngle = Math.atan2(y0 * a * a, away * b * b);
  return radius * min<f64>(Math.PI / 2, max<f64>(0, Math.PI / 2 - normalAngle));
}

/**
 * Picks the pixels of a frame that lie between `inside` and `outside` of the unworn outline and no further along it than
 * `reach`, um: writes their indices, row by row, unless `picked` is 0, and returns how many there are. Columns x0 to x1 and rows y0 to y1 are
 * looked at. Of the model's numbers those of pose and shape count.
 */
export function pick(
  p: usize,
  umPerPx: f64,
  width: i32,
  x0: i32,
  x1: i32,
  y0: i32,
  y1: i32,
  outside: f64,
  inside: f64,
  reach: f64,
  picked: usize,
): i32 {
  const poseX = at(p, POSE_X);
  const poseY = at(p, POSE_Y);
  const c = at(p, COS);
  const sn = at(p, SIN);
  const a = at(p, ACROSS);
  const b = at(p, ALONG);
  const radius = at(p, RADIUS);
  let count = 0;
  for (let j = y0; j <= y1; j++)
    for (let i = x0; i <= x1; i++) {
      const dx = <f64>i * umPerPx - poseX;
      const dy = <f64>j * umPerPx - poseY;
      const x = c * dx - sn * dy;
      const y = sn * dx + c * dy;
      const away = abs(x);
      const side = p + <usize>(SIDES + (x < 0 ? 0 : SIDE)) * 8;
      const up = alongFlank(side, away, y);
      const t = up > 0 ? fromFlank(side, away, y) : fromArc(a, b, away, y);
      if (t > outside || t < -inside) continue;
      const s = up > 0 ? at(side, ARC) + up : alongArc(a, b, radius, away, y);
      if (s > reach) continue;
      if (picked != 0) store<i32>(picked + ((<usize>count) << 2), j * width + i);
      count++;
    }
  return count;
}

/**
 * Model (grey) and t (um) of every pixel, and with `slopes` the interval of knots and INTERIOR + 2 kinds derivatives a
 * pixel. `p`: the numbers above; `inside`: interior parameters, kind by kind; `nodes`: y of each node, then eight
 * derivatives of each (with slopes); `corners`: eleven numbers each; `work`: 70 numbers of room.
 */
export function evaluate(
  n: i32,
  p: usize,
  inside: usize,
  nodes: usize,
  corners: usize,
  work: usize,
  normal: usize,
  x: usize,
  y: usize,
  level: usize,
  model: usize,
  distance: usize,
  slopes: bool,
  intervals: usize,
  rows: usize,
): void {
  useTable(normal);
  useOutline(
    nodes,
    <i32>at(p, NODES),
    at(p, X_MIN),
    at(p, NODE_STEP),
    corners,
    <i32>at(p, KINKS),
    p + FLANKS * 8,
  );
  const narrow = work;
  const wide = work + 13 * 8;
  const profiles = work + 26 * 8; // fifteen pairs, narrow and wide
  const e = work + 56 * 8;
  const poseX = at(p, POSE_X);
  const poseY = at(p, POSE_Y);
  const c = at(p, COS);
  const sn = at(p, SIN);
  const zoom = at(p, ZOOM);
  const sigma = at(p, SIGMA);
  const weight = at(p, WEIGHT);
  const sigmas = f64x2.replace_lane(f64x2.splat(sigma), 1, WIDE * sigma);
  const tone = at(p, TONE);
  const shade = at(p, SHADE);
  const length = at(p, LENGTH);
  const depth = at(p, DEPTH);
  const nk = <i32>at(p, KNOTS);
  const humps = at(p, HUMPS) != 0;
  const a = at(p, ACROSS);
  const b = at(p, ALONG);
  const radius = at(p, RADIUS);
  const grown = at(p, GROWN);
  const kinds = humps ? 4 : 2;
  const columns = INTERIOR + 2 * kinds;
  for (let pixel = 0; pixel < n; pixel++) {
    const px = at(x, pixel) - poseX;
    const py = at(y, pixel) - poseY;
    const x0 = zoom * (c * px - sn * py);
    const y0 = zoom * (sn * px + c * py);
    const level0 = at(level, pixel);
    // place by the unworn outline
    const k = x0 < 0 ? 0 : 1;
    const sign: f64 = k == 0 ? -1 : 1;
    const away = abs(x0);
    const side = p + <usize>(SIDES + k * SIDE) * 8;
    const fc = at(side, FLANK);
    const fs = at(side, FLANK + 1);
    const up = alongFlank(side, away, y0);
    const unworn = up > 0 ? fromFlank(side, away, y0) : fromArc(a, b, away, y0);
    const s = up > 0 ? at(side, ARC) + up : alongArc(a, b, radius, away, y0);
    const along0 = k == 0 ? -s : s;
    // and by the worn one
    let t = unworn;
    let cut = -1;
    for (let i = 0; i < 2; i++) {
      const other = p + <usize>(SIDES + i * SIDE) * 8;
      const cutDepth = at(other, CUT);
      if (!(cutDepth > 0)) continue;
      const d =
        (i == 0 ? -x0 : x0) * at(other, PLANE) + y0 * at(other, PLANE + 1) - at(other, PLANE + 2) + cutDepth;
      if (d > t) {
        t = d;
        cut = i;
      }
    }
    // the blurred outline
    const far = k == 0 ? at(p, FAR_LEFT) : at(p, FAR_RIGHT);
    if (away > far) {
      flankBlur(x0, y0, sigmas, narrow, wide, slopes);
    } else {
      blur(x0, y0, sigma, 1, narrow, slopes);
      blur(x0, y0, WIDE * sigma, 2, wide, slopes);
    }
    const mask = (1 + weight) * at(narrow, 0) - weight * at(wide, 0);
    // the inside
    const taken = t - unworn;
    const cutOff = min<f64>(depth, max<f64>(0, shade * taken));
    depthProfiles(-t, cutOff, depth, sigmas, slopes, humps, profiles);
    const f0 = sharpened(profiles, 0, weight);
    const f5 = humps ? sharpened(profiles, 5, weight) : 0;
    const f10 = humps ? sharpened(profiles, 10, weight) : 0;
    const tilt = 1 + at(p, TILT) + (at(p, TILT + 1) * x0) / length + (at(p, TILT + 2) * y0) / length;
    const field = level0 * tilt;
    const along = min<f64>(
      <f64>(nk - 1) - 1e-9,
      max<f64>(0, (along0 - at(p, FIRST_KNOT)) / at(p, KNOT_STEP)),
    );
    const index = <i32>floor(along);
    const w1 = along - <f64>index;
    const w0 = 1 - w1;
    const edgeLevel = w0 * at(inside, index) + w1 * at(inside, index + 1);
    const slope = w0 * at(inside, index + nk) + w1 * at(inside, index + nk + 1);
    let hump: f64 = 0;
    let rim: f64 = 0;
    let drift =
      (at(inside, index + 1) - at(inside, index)) * mask +
      (at(inside, index + nk + 1) - at(inside, index + nk)) * f0;
    if (humps) {
      const h0 = at(inside, index + 2 * nk);
      const h1 = at(inside, index + 2 * nk + 1);
      hump = w0 * h0 + w1 * h1;
      const r0 = at(inside, index + 3 * nk);
      const r1 = at(inside, index + 3 * nk + 1);
      rim = w0 * r0 + w1 * r1;
      drift += (h1 - h0) * f5 + (r1 - r0) * f10;
    }
    const light = (edgeLevel - field) * mask + slope * f0 + hump * f5 + rim * f10;
    const g = 1 + tone * (1 - mask);
    put(model, pixel, field + light * g);
    put(distance, pixel, t);
    if (!slopes) continue;
    store<i32>(intervals + ((<usize>pixel) << 2), index);
    const row = rows + <usize>(pixel * columns) * 8;
    for (let i = 0; i < 13; i++) put(e, i, (1 + weight) * at(narrow, i) - weight * at(wide, i));
    const eSigma = (1 + weight) * at(narrow, 3) - weight * WIDE * at(wide, 3);
    const eWeight = at(narrow, 0) - at(wide, 0);
    const f1 = sharpened(profiles, 1, weight);
    const f2 = sharpenedByWidth(profiles, 2, weight);
    const f3 = bySharpening(profiles, 0);
    const f4 = sharpened(profiles, 4, weight);
    let h6: f64 = 0;
    let h7: f64 = 0;
    let h8: f64 = 0;
    let h9: f64 = 0;
    let r11: f64 = 0;
    let r12: f64 = 0;
    let r13: f64 = 0;
    let r14: f64 = 0;
    if (humps) {
      h6 = sharpened(profiles, 6, weight);
      h7 = sharpenedByWidth(profiles, 7, weight);
      h8 = bySharpening(profiles, 5);
      h9 = sharpened(profiles, 9, weight);
      r11 = sharpened(profiles, 11, weight);
      r12 = sharpenedByWidth(profiles, 12, weight);
      r13 = bySharpening(profiles, 10);
      r14 = sharpened(profiles, 14, weight);
    }
    const q = (edgeLevel - field) * g - tone * light;
    for (let i = 0; i < SHAPE; i++) put(row, i, q * at(e, 5 + i));
    // how the distance from the worn outline moves with the point and with the shape
    const byDepth = -g * (slope * f1 + hump * h6 + rim * r11);
    const byShade = g * (slope * f4 + hump * h9 + rim * r14);
    const byWall = byDepth + (taken > 0 ? byShade * shade : 0);
    let nx: f64;
    let ny: f64;
    if (cut >= 0) {
      const other = p + <usize>(SIDES + cut * SIDE) * 8;
      const pc = at(other, PLANE);
      const ps = at(other, PLANE + 1);
      const u = cut == 0 ? -x0 : x0;
      nx = cut == 0 ? -pc : pc;
      ny = ps;
      put(row, 0, at(row, 0) + (byDepth * -at(other, PLANE + 2)) / radius);
      put(row, 1, at(row, 1) - byDepth * at(other, PLANE + 3));
      put(row, 4 + cut, at(row, 4 + cut) + byWall * (-u * ps + y0 * pc - at(other, PLANE + 4)));
      put(row, 6 + cut, at(row, 6 + cut) + byWall);
    } else if (s > at(side, ARC)) {
      nx = sign * fc;
      ny = fs;
      put(row, 0, at(row, 0) + (byDepth * -at(side, FLANK + 2)) / radius);
      put(row, 1, at(row, 1) - byDepth * at(side, FLANK + 3));
      put(row, 2 + k, at(row, 2 + k) + byDepth * (-away * fs + y0 * fc - at(side, FLANK + 4)));
    } else {
      const gx = x0 / (a * a);
      const gy = y0 / (b * b);
      const size = sqrt(gx * gx + gy * gy);
      const norm = size == 0 ? 1 : size;
      nx = gx / norm;
      ny = gy / norm;
      // |n| = 1: cosine and sine of the normal's angle
      const cosine = abs(nx);
      const support = sqrt(a * cosine * (a * cosine) + b * ny * (b * ny));
      put(row, 0, at(row, 0) + (byDepth * -support) / radius);
      const byEllipse = (radius * radius * (ny * ny - (cosine / grown) * (cosine / grown))) / (2 * support);
      put(row, 1, at(row, 1) - byDepth * byEllipse);
    }
    const byPlace = (g * drift) / at(p, KNOT_STEP);
    const gx = q * at(e, 1) + byDepth * nx + byPlace * ny;
    const gy = q * at(e, 2) + byDepth * ny - byPlace * nx;
    put(row, 8, zoom * (-c * gx - sn * gy));
    put(row, 9, zoom * (sn * gx - c * gy));
    put(row, 10, -y0 * gx + x0 * gy);
    put(row, 11, q * eSigma + g * (slope * f2 + hump * h7 + rim * r12));
    put(row, 12, q * eWeight + g * (slope * f3 + hump * h8 + rim * r13));
    put(row, 13, light * (1 - mask));
    put(row, 14, (x0 * gx + y0 * gy) / zoom);
    const df = level0 * (1 - g * mask);
    put(row, 15, df);
    put(row, 16, (df * x0) / length);
    put(row, 17, (df * y0) / length);
    put(row, 18, taken > 0 ? byShade * taken : 0);
    put(row, 19, g * w0 * mask);
    put(row, 20, g * w1 * mask);
    put(row, 21, g * w0 * f0);
    put(row, 22, g * w1 * f0);
    if (humps) {
      put(row, 23, g * w0 * f5);
      put(row, 24, g * w1 * f5);
      put(row, 25, g * w0 * f10);
      put(row, 26, g * w1 * f10);
    }
  }
}
