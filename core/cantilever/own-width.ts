import { type AxisFit, fitAxis, type FitPoints } from './axis-fit.ts';
import type { Frame } from './axis-model.ts';
import type { EvenRange } from './even-range.ts';
import { chosen, joined, within } from './points.ts';
import type { EdgePoints } from './sections.ts';
import { pairs } from './starts.ts';

/** What the fit of the tube without its end piece is based on; `reached`: last section of which both edges are used. */
export type Base = { readonly points: FitPoints; readonly fit: AxisFit; readonly reached: number };

/**
 * The even stretch with whatever hangs together with it and shows both edges: at both ends, and at the root alone. Where
 * the edges of its own end were found to disagree, nothing beyond is taken either.
 */
export function withOwnWidths(
  edges: EdgePoints,
  agreed: { readonly even: EvenRange; readonly trimmed: FitPoints; readonly plain: AxisFit },
  widest: EvenRange,
  ends: FitPoints | null,
  frame: Frame,
  sigma: number,
): Base[] {
  const { even, trimmed, plain } = agreed;
  const taper = followingTaper(plain, trimmed.section, even.from);
  if (taper === null) return [];
  const rim = Math.ceil(2 * sigma + 2);
  const first = even.from > widest.from ? even.from : rim;
  const beyond = ends === null ? edges.sections - rim : ends.section.reduce((a, b) => Math.min(a, b));
  // The even stretch counts its sections from its own first one.
  const all = { ...trimmed, section: trimmed.section.map((k) => k + even.from) };
  const upTo = (last: number, inner: FitPoints): Base | null => {
    const own = ownWidth(edges, taper, first, last);
    if (own.x.length === 0) return null;
    const rough = fitAxis(joined(inner, own), frame, plain.model, 6);
    if (rough === null) return null;
    const kept = hangingTogether(own, rough, inner.x.length, taper, sigma);
    const points = joined(inner, kept);
    const fit = kept.x.length === 0 ? null : fitAxis(points, frame, rough.model, 5);
    return fit && { points, fit, reached: kept.section.reduce((a, b) => Math.max(a, b), taper.to) };
  };
  const both = even.to < widest.to ? null : upTo(beyond, within(all, taper));
  const atRoot = upTo(taper.from, within(all, { from: taper.from, to: even.to }));
  return [both, atRoot && { ...atRoot, reached: even.to }].filter((one) => one !== null);
}

/**
 * Sections outside the even stretch that show both edges: where a tube flares towards its block, carries a collar or
 * narrows into a pressed end, its width follows no taper, but the axis still runs in the middle. `from` and `to`: sections
 * between which they are taken, the even stretch excepted. The points come in pairs, their sides are +-3.
 */
function ownWidth(
  edges: EdgePoints,
  even: Pick<EvenRange, 'from' | 'to'>,
  from: number,
  to: number,
): FitPoints {
  const list = pairs(edges).filter(([k]) => k >= from && k < to);
  const half = new Map(
    list.map(([k, i, j]) => [k, Math.hypot(edges.x[i] - edges.x[j], edges.y[i] - edges.y[j]) / 2]),
  );
  const steep = (k: number): boolean => {
    const [a, b] = [half.get(k - REACH) ?? half.get(k), half.get(k + REACH) ?? half.get(k)];
    return a === undefined || b === undefined || Math.abs(b - a) > MOST_SLOPE * 2 * REACH;
  };
  const keep = list
    .filter(([k]) => (k < even.from || k > even.to) && !steep(k))
    .flatMap(([, i, j]) => [i, j]);
  return pick(edges, keep);
}

/**
 * Where both edges run together faster than this, the section need only be a little askew and its two points, which then
 * lie at different places of the tube, no longer have the axis in their middle. The slope is taken over so many sections.
 */
const MOST_SLOPE = 0.25;
const REACH = 4;

const pick = (edges: FitPoints, keep: readonly number[]): FitPoints => {
  const own = chosen(edges, keep);
  return { ...own, side: own.side.map((side) => 3 * Math.sign(side)) };
};

/** So many sections side by side that follow the taper are no accident. */
const RUN = 8;

/**
 * The part of the even stretch that the fit found to follow the taper: within some per cent it reaches into a flare and
 * into a pressed end, whose sections the fit has thrown out for their width although the axis runs in their middle.
 * `first`: section that the points count from.
 */
function followingTaper(
  fit: Pick<AxisFit, 'weight'>,
  sections: Int32Array,
  first: number,
): Pick<EvenRange, 'from' | 'to'> | null {
  const good = new Set<number>();
  const bad = new Set<number>();
  sections.forEach((k, i) => (fit.weight[i] > 0.3 ? good : bad).add(k + first));
  const list = Array.from(good)
    .filter((k) => !bad.has(k))
    .toSorted((a, b) => a - b);
  if (list.length < 2 * RUN) return null;
  const hangs = (i: number, sense: 1 | -1): boolean =>
    Math.abs(list[i + sense * (RUN - 1)] - list[i]) < 1.5 * RUN;
  let [a, b] = [0, list.length - 1];
  while (a < list.length - RUN && !hangs(a, 1)) a++;
  while (b >= RUN && !hangs(b, -1)) b--;
  return a < b ? { from: list[a], to: list[b] } : null;
}

/** Sections without a usable pair, in blurs and px, beyond which nothing is taken: the block, a lump or the diamond. */
const GAP_BLURS = 2;
const GAP_PX = 4;

/**
 * Those that hang together with the even stretch: beyond a lump on one side the edges may run side by side again by
 * chance. `first`: index of the first of them among the points of the fit.
 */
function hangingTogether(
  list: FitPoints,
  fit: AxisFit,
  first: number,
  even: Pick<EvenRange, 'from' | 'to'>,
  sigma: number,
): FitPoints {
  const good = new Set(
    Array.from(list.section.entries())
      .filter(([i]) => fit.weight[first + i] > 0.1)
      .map(([, k]) => k),
  );
  const gap = GAP_BLURS * sigma + GAP_PX;
  const reach = (start: number, sense: -1 | 1): number => {
    let last = start;
    for (let k = start + sense; Math.abs(k - last) < gap; k += sense) if (good.has(k)) last = k;
    return last;
  };
  const [from, to] = [reach(even.from, -1), reach(even.to, 1)];
  return pick(
    list,
    Array.from(list.x.keys()).filter((i) => list.section[i] >= from && list.section[i] <= to),
  );
}
