import type { Blob } from '../cv/index.ts';

/**
 * Does the picture's border cut a stylus where its tip should be? Told by the outline alone: between two borders a stylus shows
 * straight sides (shank, flank), bent outwards where they meet, and never turns round within the picture. Two sides that
 * run towards each other like the flanks of a cone, or side by side like a shank, or one side that bends like a
 * shoulder, say that the part goes on beyond the border. Horizons, lettering and leaves are not straight or bend inwards.
 */
export function isCutByFrame(blob: Blob, width: number, height: number): boolean {
  const runs = runsOf(blob, width, height);
  if (runs.length === 0 || runs.length > MOST_RUNS) return false;
  const tolerance = Math.max(2, TOLERANCE * Math.min(width, height));
  const sides = runs.map((run) => sideOf(run, tolerance));
  const straight = sides.flatMap((side) => side.long).reduce((sum, piece) => sum + piece.length, 0);
  const whole = sides.reduce((sum, side) => sum + side.length, 0);
  if (straight < LEAST_STRAIGHT * whole || whole < Math.min(width, height) / 4) return false;
  if (!sides.every((side) => side.turn < MOST_TURN && side.inwards < MOST_INWARDS)) return false;
  return sides.length === 1 ? bendsOutwards(sides[0]) : areOpposite(sides);
}

const MOST_RUNS = 3;
/** Of the frame's shorter edge: what a straight side may be off, for noise and soft edges. */
const TOLERANCE = 0.005;
/** A piece this long, of its side, counts as straight; the rest is an arc in pieces, or fluff. */
const LONG_SHARE = 0.15;
const LEAST_STRAIGHT = 0.6;
/** Degrees: from flank to flank round a tip it is 116 to 140; a side that turns so far shows the tip itself. */
const MOST_TURN = 112;
const MOST_INWARDS = 14;
/** Half angles of cones, and the bend from shank to flank, degrees, with some way for soft outlines. */
const CONE = { least: 12, most: 40 };
/** Two sides of one shank, degrees. */
const PARALLEL = 5;

type Point = { readonly x: number; readonly y: number };
/** A straight piece of a side: its direction on screen, degrees, and length, pixels. */
type Piece = { readonly direction: number; readonly length: number };
type SideSeen = {
  readonly length: number;
  readonly long: readonly Piece[];
  /** Turned from its first to its last piece, degrees: positive round the part. */
  readonly turn: number;
  /** Turned the other way between long pieces, all in all. */
  readonly inwards: number;
};

/** The stretches of a rim between the picture's borders, each walked with the part on the right hand (y down). */
function runsOf(blob: Blob, width: number, height: number): Point[][] {
  const n = blob.x.length;
  const edge = 2;
  const atBorder = (i: number): boolean => {
    const [x, y] = [blob.x[i % n], blob.y[i % n]];
    return x < edge || y < edge || x >= width - edge || y >= height - edge;
  };
  let start = 0;
  while (start < n && !atBorder(start)) start++;
  if (start === n) return [];
  let area = 0;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    area += blob.x[i] * blob.y[j] - blob.x[j] * blob.y[i];
  }
  const runs: Point[][] = [];
  let run: Point[] = [];
  for (let k = 0; k <= n; k++) {
    const i = start + k;
    if (!atBorder(i)) run.push({ x: blob.x[i % n], y: blob.y[i % n] });
    else {
      if (run.length >= LEAST_RUN) runs.push(area > 0 ? run : run.toReversed());
      run = [];
    }
  }
  return runs;
}
const LEAST_RUN = 12;

/** Straight pieces of a run (Douglas and Peucker 1973), and how it turns from one to the next. */
function sideOf(run: readonly Point[], tolerance: number): SideSeen {
  const corners = [0, ...split(run, 0, run.length - 1, tolerance), run.length - 1];
  const pieces: Piece[] = [];
  for (let k = 1; k < corners.length; k++) {
    const [a, b] = [run[corners[k - 1]], run[corners[k]]];
    const length = Math.hypot(b.x - a.x, b.y - a.y);
    // what is shorter than its own tolerance has no direction
    if (length < 3 * tolerance) continue;
    pieces.push({ direction: (Math.atan2(b.y - a.y, b.x - a.x) * 180) / Math.PI, length });
  }
  const length = pieces.reduce((sum, p) => sum + p.length, 0);
  const long = pieces.filter((p) => p.length > LONG_SHARE * length);
  return {
    length,
    long,
    turn: turnsOf(pieces).reduce((sum, t) => sum + t, 0),
    inwards: turnsOf(long).reduce((sum, t) => sum + Math.max(0, -t), 0),
  };
}

const turnsOf = (pieces: readonly Piece[]): number[] =>
  pieces.slice(1).map((piece, k) => wrapped(piece.direction - pieces[k].direction));

function split(run: readonly Point[], from: number, to: number, tolerance: number): number[] {
  const [a, b] = [run[from], run[to]];
  const length = Math.hypot(b.x - a.x, b.y - a.y) || 1;
  let [worst, at] = [tolerance, -1];
  for (let i = from + 1; i < to; i++) {
    const off = Math.abs((b.x - a.x) * (run[i].y - a.y) - (b.y - a.y) * (run[i].x - a.x)) / length;
    if (off > worst) [worst, at] = [off, i];
  }
  return at < 0 ? [] : [...split(run, from, at, tolerance), at, ...split(run, at, to, tolerance)];
}

const wrapped = (degrees: number): number => degrees - 360 * Math.round(degrees / 360);

/** One side alone: shank and flank, or flank and arc; mostly straight, and bent outwards, though by no sharp corner. */
function bendsOutwards(side: SideSeen): boolean {
  const longest = Math.max(...side.long.map((piece) => piece.length));
  const sharp = turnsOf(side.long).some((turn) => turn > CONE.most);
  return longest > side.length / 2 && side.turn > CONE.least && !sharp;
}

/** Two sides that run towards each other like a cone's, or side by side. The part lies on the right of both. */
function areOpposite(sides: readonly SideSeen[]): boolean {
  for (let i = 0; i < sides.length; i++)
    for (let j = i + 1; j < sides.length; j++)
      for (const a of sides[i].long)
        for (const b of sides[j].long) {
          const apart = Math.abs(wrapped(a.direction - b.direction - 180));
          if (apart < PARALLEL || (apart > 2 * CONE.least && apart < 2 * CONE.most)) return true;
        }
  return false;
}
