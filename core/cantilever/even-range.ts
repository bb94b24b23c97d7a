import type { Joint } from './joint.ts';
import type { EdgePoints } from './sections.ts';
import { robustLinear } from '../fit/robust-linear.ts';
import { pairs } from './starts.ts';

export type EvenRange = {
  readonly from: number;
  readonly to: number;
  readonly taper: readonly [number, number];
  /** What was stepped over on the way: first and last section of each stretch. */
  readonly skipped: readonly (readonly [number, number])[];
};

/** Width at each section where both edges were found; NaN elsewhere. */
function widths(edges: EdgePoints): Float64Array {
  const out = new Float64Array(edges.sections).fill(Number.NaN);
  for (const [section, i, j] of pairs(edges))
    out[section] = Math.hypot(edges.x[i] - edges.x[j], edges.y[i] - edges.y[j]);
  return out;
}

/** Furthest stretch of uneven width that is stepped over, of all sections; and the even ones that must follow it. */
const HOP = 0.3;
const LEAST_RUN = 20;

/**
 * Departure from the taper up to which a width is even: part of it, and px at least; and up to which part of that half
 * of the widths may scatter: beyond it even is not told from uneven.
 */
export type Evenness = { readonly part: number; readonly px: number; readonly scatter: number };
/** A bend seen askew changes the width a little. */
const EVEN: Evenness = { part: 0.03, px: 1, scatter: Infinity };
/** Where nothing is bent by much, what departs by more is a flare, and its two sides are seldom alike. */
export const QUITE_EVEN: Evenness = { part: 0.015, px: 0.7, scatter: 0.25 };

const allowed = ({ part, px }: Evenness, width: number): number => Math.max(px, part * width);
/**
 * Sections over which the width follows one straight taper: from the middle outwards until it departs by more than
 * `most` for good, then back by twice the blur. What lies across on the way is stepped over.
 */
export function evenRange(
  edges: EdgePoints,
  sigma: number,
  joint: Joint | null,
  most: Evenness = EVEN,
): EvenRange | null {
  const w = widths(edges);
  const n = w.length;
  const middleOnes = Array.from(w.keys()).filter((k) => k > 0.15 * n && k < 0.7 * n && w[k] > 0);
  if (middleOnes.length < 30) return null;
  const taper = robustLinear(
    Float64Array.from(middleOnes.flatMap((k) => [1, k])),
    Float64Array.from(middleOnes, (k) => w[k]),
    2,
  );
  if (taper === null) return null;
  const [a, b] = taper.p;
  const scatter = Array.from(taper.rest, Math.abs).toSorted((x, y) => x - y)[taper.rest.length >> 1];
  if (scatter > most.scatter * allowed(most, a + b * (n / 2))) return null;
  // Next to a joint nothing was measured on purpose.
  const left = (k: number): boolean => joint !== null && Math.abs(k - joint.after) <= 2 * sigma + 3;
  const off = (k: number): boolean => !left(k) && !(Math.abs(w[k] - a - b * k) < allowed(most, a + b * k));
  // A fibre across the tube or a lump on it is left behind again; a pressed end, a collar or the block are not.
  const skipped: [number, number][] = [];
  const margin = Math.ceil(2 * sigma);
  const evenAgain = (k: number, sense: -1 | 1): number | null => {
    let run = 0;
    for (let j = k; Math.abs(j - k) < HOP * n && j >= 0 && j < n; j += sense) {
      run = off(j) ? 0 : run + 1;
      if (run < Math.max(LEAST_RUN, 0.06 * n)) continue;
      const ends = [k - sense * margin, j - sense * (run - 1 - margin)];
      skipped.push([Math.min(...ends), Math.max(...ends)]);
      return j;
    }
    return null;
  };
  // It ends where most of the next sections are off; a few wrong ones on the way do not matter.
  const ahead = 24;
  const go = (from: number, sense: -1 | 1): number => {
    let last = from;
    for (let k = from; k >= 0 && k < n; k += sense) {
      if (off(k)) {
        let bad = 0;
        let seen = 0;
        for (let j = k; Math.abs(j - k) < ahead && j >= 0 && j < n; j += sense)
          if (!left(j)) {
            seen++;
            if (off(j)) bad++;
          }
        if (bad > 0.6 * seen) {
          const again = evenAgain(k, sense);
          if (again === null) break;
          last = again;
          k = again;
        }
      } else last = k;
    }
    return last;
  };
  const centre = Math.round(0.42 * n);
  const from = go(centre, -1) + margin;
  const to = go(centre, 1) - margin;
  return to - from < Math.max(40, 0.3 * n) ? null : { from, to, taper: [a, b], skipped };
}
