import { evennessAbout } from './half-turn.ts';
import { softened, type WorkingCopy } from './working-copy.ts';

/** A bright spot: everything above half of the way from its own surroundings to its top. Places in working pixels. */
export type Spot = {
  readonly x: number;
  readonly y: number;
  readonly areaPx: number;
  /** Top over the surroundings, grey 0..1. */
  readonly contrast: number;
  /** Part of it at full scale. */
  readonly burnt: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
};

/** Where two bright patches may lie, working pixels, with their half extents. */
export type PairStart = {
  readonly one: Start;
  readonly other: Start;
  readonly score: number;
  /** Both patches in one spot: tried whatever the others' score. */
  readonly inOneSpot: boolean;
};
export type Start = { readonly x: number; readonly y: number; readonly size: number };

/** Smallest contrast of a flat that mirrors a lamp, grey 0..1. */
export const LEAST_CONTRAST = 0.12;
/** Below this a pair is dim, small, uneven or lies off the tip's axis: glints score 0.02 to 0.17, flats 0.25 to 1.6. */
const LEAST_SCORE = 0.19;
const MOST_SPOTS = 12;
/** Nothing that matters is smaller, um^2, or larger than the middle of a tip, um^2. */
const LEAST_AREA = 5;
const MOST_AREA = 900;
const MOST_REACH_UM = 28;

/**
 * Spots that stand out from what lies about them, brightest first. Each is held against its own surroundings: a lit
 * shank or cantilever may be as bright as a small patch that the blur has dimmed.
 */
export function findSpots(copy: WorkingCopy): Spot[] {
  const { image, umPerPx } = copy;
  const { width, height } = image;
  const fine = softened(image, Math.max(0.5, 0.8 / umPerPx));
  const small = softened(image, Math.max(0.7, 1.5 / umPerPx));
  const broad = softened(image, 7 / umPerPx);
  const standing = small.map((v, i) => v - broad[i]);
  const most = standing.reduce((a, b) => Math.max(a, b), 0);
  const floor = Math.max(0.35 * LEAST_CONTRAST, 0.15 * most);
  const peaks: number[] = [];
  for (let y = 2; y < height - 2; y++)
    for (let x = 2; x < width - 2; x++) {
      const i = y * width + x;
      const v = standing[i];
      if (v < floor) continue;
      if (
        v >= standing[i - 1] &&
        v > standing[i + 1] &&
        v >= standing[i - width] &&
        v > standing[i + width] &&
        v >= standing[i - width - 1] &&
        v > standing[i + width + 1] &&
        v >= standing[i - width + 1] &&
        v > standing[i + width - 1]
      )
        peaks.push(i);
    }
  const taken = new Uint8Array(fine.length);
  const spots: Spot[] = [];
  for (const peak of peaks.toSorted((a, b) => standing[b] - standing[a]).slice(0, 4 * MOST_SPOTS)) {
    if (taken[peak]) continue;
    const spot = spotAt(copy, fine, peak, taken);
    if (spot !== null) spots.push(spot);
    if (spots.length >= MOST_SPOTS) break;
  }
  return spots.toSorted((a, b) => b.contrast - a.contrast);
}

/** Middle value on a circle about a place: what the neighbouring patch covers of it does not count. */
function surroundings(copy: WorkingCopy, fine: Float32Array, x: number, y: number): number {
  const { width, height } = copy.image;
  const values: number[] = [];
  for (const um of [11, 13, 15])
    for (let k = 0; k < 40; k++) {
      const u = Math.round(x + (um / copy.umPerPx) * Math.cos((k * Math.PI) / 20));
      const v = Math.round(y + (um / copy.umPerPx) * Math.sin((k * Math.PI) / 20));
      if (u >= 0 && v >= 0 && u < width && v < height) values.push(fine[v * width + u]);
    }
  return values.toSorted((a, b) => a - b)[values.length >> 1] ?? 1;
}

function spotAt(copy: WorkingCopy, fine: Float32Array, peak: number, taken: Uint8Array): Spot | null {
  const { image, umPerPx, burnt } = copy;
  const { width } = image;
  const ground = surroundings(copy, fine, peak % width, Math.floor(peak / width));
  const contrast = fine[peak] - ground;
  if (contrast < LEAST_CONTRAST) return null;
  // Two patches that run together with a lamp's ring at half of their height come apart higher up.
  for (const height of [0.5, 0.7, 0.85]) {
    const own = flooded(copy, fine, peak, ground + height * contrast, taken);
    const area = own === null ? Infinity : own.length * umPerPx * umPerPx;
    if (own === null || area > MOST_AREA) continue;
    for (const i of own) taken[i] = 1;
    if (area < LEAST_AREA) return null;
    return { ...moments(own, width), contrast, burnt: own.reduce((s, i) => s + burnt[i], 0) / own.length };
  }
  return null;
}

/** Everything connected with the peak above a level; null when it reaches too far. */
function flooded(
  { image, umPerPx }: WorkingCopy,
  fine: Float32Array,
  peak: number,
  level: number,
  taken: Uint8Array,
): number[] | null {
  const { width, height } = image;
  const [px, py] = [peak % width, Math.floor(peak / width)];
  const reach = MOST_REACH_UM / umPerPx;
  const seen = new Set([peak]);
  const own = [peak];
  for (let next = 0; next < own.length; next++) {
    const i = own[next];
    const x = i % width;
    const y = (i - x) / width;
    if (Math.hypot(x - px, y - py) > reach) return null;
    for (const [u, v] of [
      [x + 1, y],
      [x - 1, y],
      [x, y + 1],
      [x, y - 1],
    ]) {
      if (u < 0 || v < 0 || u >= width || v >= height) continue;
      const j = v * width + u;
      if (seen.has(j) || taken[j] || fine[j] < level) continue;
      seen.add(j);
      own.push(j);
    }
  }
  return own;
}

function moments(own: readonly number[], width: number) {
  let [sx, sy, sxx, sxy, syy] = [0, 0, 0, 0, 0];
  for (const i of own) {
    const x = i % width;
    const y = (i - x) / width;
    sx += x;
    sy += y;
    sxx += x * x;
    sxy += x * y;
    syy += y * y;
  }
  const n = own.length;
  const [x, y] = [sx / n, sy / n];
  return { x, y, areaPx: n, xx: sxx / n - x * x, xy: sxy / n - x * y, yy: syy / n - y * y };
}

/** Another spot as large and more than twice as bright: then the dimmer of the two is a glint. */
function outshone(spots: readonly Spot[], a: Spot, b: Spot): boolean {
  const contrast = Math.min(a.contrast, b.contrast);
  const area = 0.5 * Math.min(a.areaPx, b.areaPx);
  return spots.some((s) => s !== a && s !== b && s.areaPx > area && 0.5 * s.contrast > contrast);
}

/** Pairs of spots that may be the two flats, best first, and long spots in which both run together. */
export function pairStarts(spots: readonly Spot[], copy: WorkingCopy): PairStart[] {
  const { umPerPx } = copy;
  const out: PairStart[] = [];
  const radius = (s: Spot): number => Math.sqrt(s.areaPx / Math.PI);
  for (let i = 0; i < spots.length; i++)
    for (let j = i + 1; j < spots.length; j++) {
      const [a, b] = [spots[i], spots[j]];
      const um = Math.hypot(b.x - a.x, b.y - a.y) * umPerPx;
      if (outshone(spots, a, b)) continue;
      // Two contacts of tips from 8 to 40 um: sqrt(2) R apart at most.
      if (um < 8 || um > 60) continue;
      const like = Math.min(a.contrast, b.contrast) / Math.max(a.contrast, b.contrast);
      const even = Math.min(a.areaPx, b.areaPx) / Math.max(a.areaPx, b.areaPx);
      // Tips rounder than 25 um are rare, glints anywhere are not.
      const far = um > 36 ? 0.7 : 1;
      out.push({
        one: { x: a.x, y: a.y, size: radius(a) },
        other: { x: b.x, y: b.y, size: radius(b) },
        inOneSpot: false,
        score:
          Math.min(a.contrast, b.contrast) *
          Math.sqrt(like) *
          even ** 0.25 *
          (Math.min(a.areaPx, b.areaPx) * umPerPx * umPerPx) ** 0.25 *
          far *
          // Flats lie on both sides of the tip's axis, and shank and cone are round or square about it.
          (0.25 + evennessAbout(copy, (a.x + b.x) / 2, (a.y + b.y) / 2)),
      });
    }
  const likely = out.filter((p) => p.score > LEAST_SCORE).toSorted((a, b) => b.score - a.score);
  return likely.length > 0 ? likely.slice(0, 3) : runTogether(spots, umPerPx);
}

/** Both patches in one spot, or a lamp's ring with them: along its long axis, at two distances. */
function runTogether(spots: readonly Spot[], umPerPx: number): PairStart[] {
  const out: PairStart[] = [];
  for (const s of spots.slice(0, 1)) {
    const spread = Math.hypot(s.xx - s.yy, 2 * s.xy);
    const long = Math.sqrt((s.xx + s.yy + spread) / 2) * umPerPx;
    const short = Math.sqrt(Math.max(0.1, (s.xx + s.yy - spread) / 2)) * umPerPx;
    // As wide as long is a patch or a ring; an even patch of 20 um has a spread of 5, two that meet have 7.
    if (long < 1.5 * short || long < 6) continue;
    const angle = 0.5 * Math.atan2(2 * s.xy, s.xx - s.yy);
    for (const half of [0.9, 1.2]) {
      const [dx, dy] = [(half * long * Math.cos(angle)) / umPerPx, (half * long * Math.sin(angle)) / umPerPx];
      const size = 4 / umPerPx;
      out.push({
        one: { x: s.x - dx, y: s.y - dy, size },
        other: { x: s.x + dx, y: s.y + dy, size },
        inOneSpot: true,
        score: 0,
      });
    }
  }
  return out;
}
