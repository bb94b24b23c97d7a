import { leastSquares } from '../fit/linear-algebra.ts';
import type { GreyImage } from '../image/grey.ts';
import { findJoint, type Joint } from './joint.ts';
import {
  atBlur,
  BLUR_STEP,
  BLURS,
  covarianceOf,
  factorOf,
  logEvidence,
  placesAlong,
  sharedBlur,
} from './rim-evidence.ts';
import { type EdgePoints, profile, type Rim, type Section } from './sections.ts';
import { robustLinear } from '../fit/robust-linear.ts';

/**
 * Where the light behind an edge lies. A limb that darkens towards the rim, or a lamp mirrored close to it, is blurred
 * together with the edge: a plain step then takes the limb for blur and stands off by up to two pixels, by more here than
 * there where the lamp's line runs askew. One section is too noisy to tell such light from the edge, the mean of a stretch
 * is not. So along either edge, stretch by stretch, place and blur of the edge are weighed by the evidence for them when
 * the light behind it may be any smooth course (a Gaussian process: O'Hagan, J. R. Stat. Soc. B 40 (1978) 1), blurred
 * like the edge itself. All stretches share a blur that changes linearly along the tube.
 */

/** Sections from a stretch's middle to its ends, and from one middle to the next. */
const REACH = 20;
const STRIDE = 20;
/** Every so-manieth section is looked at: each is a mean of seven lines already. */
const EVERY = 3;
/** Share of a stretch's sections whose edges must lie on one line: at a collar they do not. */
const ON_ONE_LINE = 0.7;
/** Places of the edge against the plain step's, over the blur: a dark limb's edge lies far outside. */
const PLACES = { from: -3, to: 1.5, count: 64 };
/** Noise of a mean profile over the contrast, in steps of which each has its own table. */
const NOISE = [0.015, 0.03, 0.06, 0.12];
/** Plain steps that are off by more, over the blur, are looked at anew. */
const FAR_OFF = 0.8;

type Stretch = {
  readonly side: 1 | -1;
  readonly middle: number;
  /** First and last section that it was made of. */
  readonly from: number;
  readonly to: number;
  /** Where plain steps put the edge: half width at the middle, px, and its change by section. */
  readonly line: readonly [number, number];
  /** Mean profile about that line, and the same over the contrast and from the field's level. */
  readonly profile: Float64Array;
  readonly grey: Float64Array;
  readonly noise: number;
};

/** Edge points where the edges are once the light behind them is told apart; as they were when nothing tells. */
export function withoutRimLight(
  image: GreyImage,
  sections: readonly Section[],
  edges: EdgePoints,
  again = true,
): EdgePoints {
  if (!edges.lit) return edges;
  const { sigma } = edges;
  const places = Float64Array.from(
    { length: PLACES.count },
    (_, i) => sigma * (PLACES.from + ((PLACES.to - PLACES.from) * i) / (PLACES.count - 1)),
  );
  const first = places[0] - 2.5 * sigma - 2;
  const t = Float64Array.from({ length: Math.floor(2.2 * sigma + 2 - first) + 1 }, (_, i) => first + i);
  const pieces = piecesOf(sections.length, findJoint(edges, sigma), sigma);
  const stretches = ([1, -1] as const).flatMap((side) =>
    stretchesOf(image, sections, edges, { side, t, pieces }),
  );
  if (stretches.length < 4) return edges;
  const half = sections.map((s) => (s.right + s.left) / 2).toSorted((a, b) => a - b)[sections.length >> 1];
  const covariances = Array.from(BLURS, (b) =>
    Array.from(places, (e) => covarianceOf(t, e, b * sigma, half)),
  );
  const tables = new Map<number, Float64Array[][]>();
  const evidence = stretches.map((one) => {
    let table = tables.get(one.noise);
    if (table === undefined) {
      table = covariances.map((row) => row.map((c) => factorOf(c, t.length, one.noise)));
      tables.set(one.noise, table);
    }
    return table.map((row) => Float64Array.from(row, (w) => logEvidence(w, one.grey)));
  });
  const blurAt = sharedBlur(stretches, evidence, sections.length);
  let farOff = 0;
  const rims: Rim[] = [];
  const moved = ([1, -1] as const).flatMap((side) => {
    const own = [...stretches.keys()].filter((i) => stretches[i].side === side);
    const { means, spread } = placesAlong(
      own.map((i) => atBlur(evidence[i], blurAt(stretches[i].middle))),
      places,
      sigma,
    );
    rims.push({ side, middles: own.map((i) => stretches[i].middle), spread });
    farOff = Math.max(farOff, ...means.map(Math.abs));
    return pointsOf(
      image,
      sections,
      edges,
      side,
      t,
      own.map((i, k) => ({ ...stretches[i], edge: means[k] })),
    );
  });
  if (moved.length < 60) return edges;
  const out = {
    ...edges,
    sigma: sigma * BLURS[0] * BLUR_STEP ** blurAt(sections.length / 2),
    x: Float64Array.from(moved, (p) => p.x),
    y: Float64Array.from(moved, (p) => p.y),
    side: Int8Array.from(moved, (p) => p.side),
    section: Int32Array.from(moved, (p) => p.section),
    standard: Float64Array.from(moved, (p) => p.standard),
    rims,
  };
  // Where the plain steps were far off, the stretches were not laid along the edge.
  return again && farOff > FAR_OFF * sigma ? withoutRimLight(image, sections, out, false) : out;
}

type Point = { x: number; y: number; side: 1 | -1; section: number; standard: number };

/**
 * Every section's own edge: how far its profile is shifted against the mean one of its stretch, of any brightness. Where
 * no stretch could be used the plain step's edge is moved by what its neighbours are off.
 */
function pointsOf(
  image: GreyImage,
  sections: readonly Section[],
  edges: EdgePoints,
  side: 1 | -1,
  t: Float64Array,
  stretches: readonly (Stretch & { readonly edge: number })[],
): Point[] {
  const out: Point[] = [];
  if (stretches.length === 0) return out;
  const { sigma } = edges;
  const plain = new Map<number, number>();
  for (let i = 0; i < edges.x.length; i++) if (edges.side[i] === side) plain.set(edges.section[i], i);
  sections.forEach((s, k) => {
    const near = stretches.reduce((a, b) => (Math.abs(b.middle - k) < Math.abs(a.middle - k) ? b : a));
    const put = (half: number, standard: number): void => {
      out.push({ x: s.x + side * half * s.nx, y: s.y + side * half * s.ny, side, section: k, standard });
    };
    const off = between(stretches, k);
    if (k >= near.from && k <= near.to) {
      const smooth = near.line[0] + near.line[1] * (k - near.middle);
      const one = profile(image, s, side, smooth, t);
      const shift = one && shiftOf(one, near.profile);
      if (shift === null || Math.abs(shift.by) > 1.5 * sigma || shift.residual > MOST_UNLIKE) return;
      put(smooth - off - shift.by, shift.standard);
      return;
    }
    const i = plain.get(k);
    if (i === undefined) return;
    put(side * ((edges.x[i] - s.x) * s.nx + (edges.y[i] - s.y) * s.ny) - off, edges.standard[i]);
  });
  return out;
}

/** A profile that departs by more, over the mean profile's own range, shows something else than this edge. */
const MOST_UNLIKE = 0.15;

/** Shift of a profile against another, px, inwards positive, with brightness and contrast free. */
function shiftOf(
  one: Float64Array,
  mean: Float64Array,
): { by: number; standard: number; residual: number } | null {
  const n = mean.length - 2;
  const rows = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) rows.set([1, mean[i + 1], (mean[i] - mean[i + 2]) / 2], 3 * i);
  const solved = leastSquares(rows, one.subarray(1, n + 1), n, 3);
  if (solved === null || !(solved.solution[1] > 0.3 && solved.solution[1] < 3)) return null;
  const gain = solved.solution[1];
  const noise = Math.sqrt(solved.sumOfSquares / (n - 3));
  return {
    by: solved.solution[2] / gain,
    standard: (noise / gain) * Math.sqrt(solved.inverseNormal[8]),
    residual: noise / gain / (Math.max(...mean) - Math.min(...mean)),
  };
}

/** The sections on either side of a joint: an edge is one line on each, and what is blurred by the step belongs to neither. */
function piecesOf(count: number, joint: Joint | null, sigma: number): [number, number][] {
  if (joint === null) return [[0, count - 1]];
  const beside = Math.ceil(2 * sigma + 2);
  return [
    [0, joint.after - beside],
    [joint.after + beside, count - 1],
  ];
}

function windowsOf([first, last]: readonly [number, number]): { middle: number; from: number; to: number }[] {
  const out = [];
  for (let middle = first + REACH / 2; middle <= last; middle += STRIDE)
    out.push({ middle, from: Math.max(first, middle - REACH), to: Math.min(last, middle + REACH) });
  return out;
}

/** Mean profiles along one edge at the places `t` from where plain steps put it. */
function stretchesOf(
  image: GreyImage,
  sections: readonly Section[],
  edges: EdgePoints,
  { side, t, pieces }: { side: 1 | -1; t: Float64Array; pieces: readonly (readonly [number, number])[] },
): Stretch[] {
  const out: Stretch[] = [];
  const { sigma } = edges;
  const own = Array.from(edges.x.keys())
    .filter((i) => edges.side[i] === side)
    .map((i) => {
      const k = edges.section[i];
      const s = sections[k];
      return { k, half: side * ((edges.x[i] - s.x) * s.nx + (edges.y[i] - s.y) * s.ny) };
    });
  for (const { middle, from, to } of pieces.flatMap(windowsOf)) {
    const here = own.filter(({ k }) => k >= from && k <= to);
    if (here.length < REACH / 2) continue;
    const line = robustLinear(
      Float64Array.from(here.flatMap(({ k }) => [1, k - middle])),
      Float64Array.from(here, ({ half }) => half),
      2,
    );
    if (line === null) continue;
    const lineAt = (k: number): number => line.p[0] + line.p[1] * (k - middle);
    const on = here.filter(({ k, half }) => Math.abs(half - lineAt(k)) < sigma).length;
    if (on < ON_ONE_LINE * here.length) continue;
    const lists: Float64Array[] = [];
    for (let k = from; k <= to; k += EVERY) {
      const one = profile(image, sections[k], side, lineAt(k), t);
      if (one !== null) lists.push(one);
    }
    if (lists.length < REACH / EVERY) continue;
    const mean = t.map((_, i) => middleOf(lists.map((list) => list[i])));
    const outer = mean.subarray(0, Math.max(3, Math.floor(0.15 * t.length)));
    const level = outer.reduce((sum, v) => sum + v / outer.length, 0);
    const contrast = Math.max(...mean.map((v) => Math.abs(v - level)));
    if (!(contrast > 0)) continue;
    const scatter =
      Math.sqrt(outer.reduce((sum, v) => sum + (v - level) ** 2 / (outer.length - 1), 0)) / contrast;
    out.push({
      side,
      middle,
      from,
      to,
      line: [line.p[0], line.p[1]],
      profile: mean,
      grey: mean.map((v) => (v - level) / contrast),
      noise: NOISE.find((n) => n >= scatter) ?? NOISE[NOISE.length - 1],
    });
  }
  return out;
}

/** Mean of the middle half: deaf to a fibre and to the diamond, less noisy than a median. */
function middleOf(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const cut = Math.floor(sorted.length / 4);
  const kept = sorted.slice(cut, sorted.length - cut);
  return kept.reduce((sum, v) => sum + v, 0) / kept.length;
}

function between(list: readonly { readonly middle: number; readonly edge: number }[], k: number): number {
  const j = list.findIndex(({ middle }) => middle > k);
  if (j < 0) return list[list.length - 1].edge;
  if (j === 0) return list[0].edge;
  const [a, b] = [list[j - 1], list[j]];
  return a.edge + ((k - a.middle) / (b.middle - a.middle)) * (b.edge - a.edge);
}
