import { at, put } from './memory';
import { cdfs, densities, INV_ROOT_2PI, normalPair, PER_UNIT, TABLE, table } from './normal';

/** The blurred outline; see `blurred-edge.ts`. */
export const WIDE: f64 = 1.6;
const REACH: f64 = 4;

let nodesY: usize = 0;
let nodesDy: usize = 0;
let nodesCount: i32 = 0;
let xMin: f64 = 0;
let nodeStep: f64 = 0;
let kinks: usize = 0; // x, y, turn, jumps (8): 11 numbers each
let kinkCount: i32 = 0;

/** Fills `out` with value, d/dx0, d/dy0, d/dsigma, 0 and the shape's eight; without slopes the value alone. */
export function blur(x0: f64, y0: f64, sigma: f64, stride: i32, out: usize, slopes: bool): void {
  const first = <i32>max<f64>(0, ceil((x0 - REACH * sigma - xMin) / nodeStep));
  const last = <i32>min<f64>(<f64>(nodesCount - 1), floor((x0 + REACH * sigma - xMin) / nodeStep));
  const inv = 1 / sigma;
  const h = <f64>stride * nodeStep * inv;
  let u = (xMin + <f64>first * nodeStep - x0) * inv;
  let g = INV_ROOT_2PI * Math.exp((-u * u) / 2);
  let factor = Math.exp(-h * u - (h * h) / 2);
  const shrink = Math.exp(-h * h);
  let total: f64 = 0;
  let m: f64 = 0;
  let dx: f64 = 0;
  let dyy: f64 = 0;
  let ds: f64 = 0;
  let s01 = f64x2.splat(0);
  let s23 = f64x2.splat(0);
  let s45 = f64x2.splat(0);
  let s67 = f64x2.splat(0);
  for (let k = first; k <= last; k += stride) {
    const z = (at(nodesY, k) - y0) * inv;
    total += g;
    if (z > -TABLE) {
      if (z < TABLE) {
        const i = <i32>((z + TABLE) * PER_UNIT + 0.5);
        const node = <f64>i * (1 / PER_UNIT) - TABLE;
        const d = z - node;
        const high = at(table, 2 * i + 1);
        const q = node * node - 1;
        const phi = at(table, 2 * i) + d * high * (1 - 0.5 * d * (node - d * q * (1.0 / 3)));
        const gphi = g * phi;
        m += gphi;
        if (slopes) {
          const gp = g * high * (1 - d * (node - 0.5 * d * q));
          dx += gphi * u;
          ds += gphi * (u * u - 1) - gp * z;
          dyy += gp;
          const row = nodesDy + ((<usize>k) << 6);
          const by = f64x2.splat(gp);
          s01 = f64x2.add(s01, f64x2.mul(by, v128.load(row)));
          s23 = f64x2.add(s23, f64x2.mul(by, v128.load(row, 16)));
          s45 = f64x2.add(s45, f64x2.mul(by, v128.load(row, 32)));
          s67 = f64x2.add(s67, f64x2.mul(by, v128.load(row, 48)));
        }
      } else {
        m += g;
        if (slopes) {
          dx += g * u;
          ds += g * (u * u - 1);
        }
      }
    }
    u += h;
    g *= factor;
    factor *= shrink;
  }
  for (let i = 0; i < kinkCount; i++) {
    const kink = kinks + <usize>i * 88;
    const uc = (at(kink, 0) - x0) * inv;
    const zc = (at(kink, 1) - y0) * inv;
    if (uc < -REACH || uc > REACH || zc < -REACH || zc > REACH) continue;
    const place = ((at(kink, 0) - xMin) / nodeStep - <f64>first) / <f64>stride;
    const theta = place - floor(place);
    const weight = INV_ROOT_2PI * INV_ROOT_2PI * Math.exp(-0.5 * (uc * uc + zc * zc));
    const excess = 0.5 * h * weight * at(kink, 2) * (theta * theta - theta + 1.0 / 6);
    m += excess;
    if (!slopes) continue;
    dx += excess * uc;
    ds += excess * (uc * uc + zc * zc - 2);
    dyy -= excess * zc;
    const jump = f64x2.splat(weight * (0.5 - theta));
    s01 = f64x2.add(s01, f64x2.mul(jump, v128.load(kink, 24)));
    s23 = f64x2.add(s23, f64x2.mul(jump, v128.load(kink, 40)));
    s45 = f64x2.add(s45, f64x2.mul(jump, v128.load(kink, 56)));
    s67 = f64x2.add(s67, f64x2.mul(jump, v128.load(kink, 72)));
  }
  const norm = total > 0 ? 1 / total : 0;
  put(out, 0, m * norm);
  if (!slopes) return;
  const scaled = norm * inv;
  put(out, 1, dx * scaled);
  put(out, 2, -dyy * scaled);
  put(out, 3, ds * scaled);
  put(out, 4, 0);
  const by = f64x2.splat(scaled);
  v128.store(out, f64x2.mul(s01, by), 40);
  v128.store(out, f64x2.mul(s23, by), 56);
  v128.store(out, f64x2.mul(s45, by), 72);
  v128.store(out, f64x2.mul(s67, by), 88);
}

let flanks: usize = 0; // left, right: cos, sin, h, dhR, dhE, dhHalf

/**
 * `nodes`: y of `count` nodes from `from` on, `step` apart, then eight derivatives of each; `corners`: `cornerCount` times
 * x, y, turn and eight jumps; `lines`: the flanks.
 */
export function useOutline(
  nodes: usize,
  count: i32,
  from: f64,
  step: f64,
  corners: usize,
  cornerCount: i32,
  lines: usize,
): void {
  nodesCount = count;
  nodesY = nodes;
  nodesDy = nodes + ((<usize>count) << 3);
  xMin = from;
  nodeStep = step;
  kinks = corners;
  kinkCount = cornerCount;
  flanks = lines;
}

/** A flank far from arc and flats is a plain line; of both widths of the blur, `sigmas`, at once. */
export function flankBlur(x0: f64, y0: f64, sigmas: v128, narrow: usize, wide: usize, slopes: bool): void {
  const k = x0 < 0 ? 0 : 1;
  const line = flanks + <usize>k * 48;
  const sign: f64 = k == 0 ? -1 : 1;
  const away = sign * x0;
  const t = away * at(line, 0) + y0 * at(line, 1) - at(line, 2);
  normalPair(f64x2.div(f64x2.splat(-t), sigmas));
  put(narrow, 0, f64x2.extract_lane(cdfs, 0));
  put(wide, 0, f64x2.extract_lane(cdfs, 1));
  if (!slopes) return;
  const by = f64x2.div(densities, sigmas);
  flankSlopes(line, k, away, y0, t, f64x2.extract_lane(by, 0), f64x2.extract_lane(sigmas, 0), narrow);
  flankSlopes(line, k, away, y0, t, f64x2.extract_lane(by, 1), f64x2.extract_lane(sigmas, 1), wide);
}

/** `by`: the blur's density at the distance t from the line. */
function flankSlopes(line: usize, k: i32, away: f64, y0: f64, t: f64, by: f64, sigma: f64, out: usize): void {
  const c = at(line, 0);
  const s = at(line, 1);
  const sign: f64 = k == 0 ? -1 : 1;
  put(out, 1, -by * sign * c);
  put(out, 2, -by * s);
  put(out, 3, (by * t) / sigma);
  memory.fill(out + 32, 0, 72);
  put(out, 5, by * at(line, 3));
  put(out, 6, by * at(line, 4));
  put(out, 7 + k, -by * (-away * s + y0 * c - at(line, 5)));
}
