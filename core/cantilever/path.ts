import type { Silhouette } from './silhouette.ts';

/** A first, rough axis of the tube in picture pixels, root first. `width` across the axis, px. */
export type RoughAxis = {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly width: Float64Array;
  /** Where the tube meets something wider at the root, and where it ends at the tip: indices into the arrays. */
  readonly first: number;
  readonly last: number;
  /** The tube runs out of the picture at its far end too. */
  readonly bothEndsOutside: boolean;
};

type Places = { x: Float64Array; y: Float64Array };

/**
 * The way through the silhouette between its two most distant ends passes through the tube whatever its direction.
 * The stretch of even width on it is the tube; the end with more material behind it is the root.
 */
export function roughAxis(shape: Silhouette): RoughAxis | null {
  const way = longestWay(shape);
  if (way === null) return null;
  let places = smooth(resample(way), 6);
  for (let round = 0; round < 10; round++) places = smooth(recentre(shape, places).places, 5);
  const { width } = recentre(shape, places);
  const stretch = evenStretch(width);
  if (stretch === null) return null;
  const [a, b] = stretch;
  const behind = materialBeyond(shape, places, width, a, -1);
  const before = materialBeyond(shape, places, width, b, 1);
  const n = width.length;
  // What reaches the picture's rim in one piece with the tube carries it; then what does so faintly (a corner of the
  // field may be as dark), then what does so on the mean alone; else counting material decides, else the wider end.
  const rootFirst =
    behind.shapeRim !== before.shapeRim
      ? behind.shapeRim
      : behind.rim !== before.rim
        ? behind.rim
        : !behind.rim && Math.max(behind.level, before.level) > APART * Math.min(behind.level, before.level)
          ? behind.level > before.level
          : behind.count === before.count
            ? width[a] >= width[b]
            : behind.count > before.count;
  const f = shape.factor;
  const order = (i: number): number => (rootFirst ? i : n - 1 - i);
  const toPicture = (v: Float64Array): Float64Array =>
    Float64Array.from({ length: n }, (_, i) => (v[order(i)] + 0.5) * f - 0.5);
  return {
    x: toPicture(places.x),
    y: toPicture(places.y),
    width: Float64Array.from({ length: n }, (_, i) => width[order(i)] * f),
    first: rootFirst ? a : n - 1 - b,
    last: rootFirst ? b : n - 1 - a,
    bothEndsOutside: behind.shapeRim && before.shapeRim,
  };
}

/** Twice breadth first: the far end of the far end is (nearly) the longest way within the shape. */
function longestWay(shape: Silhouette): Places | null {
  const start = shape.mask.indexOf(1);
  if (start < 0) return null;
  const one = flood(shape, start);
  const two = flood(shape, one.farthest);
  const xs: number[] = [];
  const ys: number[] = [];
  for (let at = two.farthest; at >= 0; at = two.from[at]) {
    xs.push(at % shape.width);
    ys.push(Math.floor(at / shape.width));
  }
  return xs.length < 20 ? null : { x: Float64Array.from(xs), y: Float64Array.from(ys) };
}

/** Distances by a bucket queue: 5 straight, 7 diagonal, the usual integer approximation of 1 and sqrt 2. */
function flood(shape: Silhouette, start: number): { farthest: number; from: Int32Array } {
  const { width, height, mask } = shape;
  const distance = new Int32Array(mask.length).fill(-1);
  const from = new Int32Array(mask.length).fill(-1);
  const buckets: number[][] = [[start]];
  const best = new Int32Array(mask.length).fill(0x7fffffff);
  best[start] = 0;
  let farthest = start;
  for (let d = 0; d < buckets.length; d++) {
    for (const at of buckets[d] ?? []) {
      if (distance[at] >= 0) continue;
      distance[at] = d;
      farthest = at;
      const x = at % width;
      const y = (at - x) / width;
      for (let dy = -1; dy <= 1; dy++)
        for (let dx = -1; dx <= 1; dx++) {
          if (x + dx < 0 || x + dx >= width || y + dy < 0 || y + dy >= height) continue;
          const to = at + dy * width + dx;
          const cost = d + (dx !== 0 && dy !== 0 ? 7 : 5);
          if (!mask[to] || distance[to] >= 0 || cost >= best[to]) continue;
          best[to] = cost;
          from[to] = at;
          (buckets[cost] ??= []).push(to);
        }
    }
  }
  return { farthest, from };
}

function resample(way: Places): Places {
  const n = way.x.length;
  const s = new Float64Array(n);
  for (let i = 1; i < n; i++) s[i] = s[i - 1] + Math.hypot(way.x[i] - way.x[i - 1], way.y[i] - way.y[i - 1]);
  const count = Math.max(20, Math.floor(s[n - 1]));
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  for (let k = 0, i = 0; k < count; k++) {
    const at = (k * s[n - 1]) / (count - 1);
    while (i < n - 2 && s[i + 1] < at) i++;
    const t = (at - s[i]) / (s[i + 1] - s[i]);
    x[k] = way.x[i] + t * (way.x[i + 1] - way.x[i]);
    y[k] = way.y[i] + t * (way.y[i + 1] - way.y[i]);
  }
  return { x, y };
}

function smooth(places: Places, reach: number): Places {
  const one = (v: Float64Array): Float64Array =>
    v.map((_, i) => {
      const r = Math.min(reach, i, v.length - 1 - i);
      let sum = 0;
      for (let k = i - r; k <= i + r; k++) sum += v[k];
      return sum / (2 * r + 1);
    });
  return { x: one(places.x), y: one(places.y) };
}

/** Moves every place to the middle of the shape across the way, and measures how wide it is there. */
function recentre(shape: Silhouette, { x, y }: Places): { places: Places; width: Float64Array } {
  const n = x.length;
  const out: Places = { x: x.slice(), y: y.slice() };
  const width = new Float64Array(n);
  const inside = (px: number, py: number): boolean => {
    const u = Math.round(px);
    const v = Math.round(py);
    return u >= 0 && v >= 0 && u < shape.width && v < shape.height && shape.mask[v * shape.width + u] === 1;
  };
  for (let i = 0; i < n; i++) {
    const a = Math.max(0, i - 12);
    const b = Math.min(n - 1, i + 12);
    const length = Math.hypot(x[b] - x[a], y[b] - y[a]) || 1;
    const nx = -(y[b] - y[a]) / length;
    const ny = (x[b] - x[a]) / length;
    if (!inside(x[i], y[i])) continue;
    let left = 0;
    let right = 0;
    const most = shape.width + shape.height;
    while (left < most && inside(x[i] - (left + 0.5) * nx, y[i] - (left + 0.5) * ny)) left += 0.5;
    while (right < most && inside(x[i] + (right + 0.5) * nx, y[i] + (right + 0.5) * ny)) right += 0.5;
    width[i] = left + right;
    // In the block the middle may jump; a short step keeps the way in one piece.
    const shift = Math.max(-8, Math.min(8, (right - left) / 2));
    out.x[i] += shift * nx;
    out.y[i] += shift * ny;
  }
  return { places: out, width };
}

/** The longest stretch whose width stays near the width of its surroundings: the tube with its taper. */
function evenStretch(width: Float64Array): readonly [number, number] | null {
  const n = width.length;
  let best: readonly [number, number] | null = null;
  const candidates = [0.3, 0.4, 0.5, 0.6, 0.7].map((q) => Math.floor(q * (n - 1)));
  for (const middle of candidates) {
    const w = width[middle];
    if (!(w > 0)) continue;
    let a = middle;
    let b = middle;
    // Local comparison: taper is slow, a step to a thinner rod small, a block or a diamond sudden and large.
    const follows = (i: number, from: number): boolean => {
      const back = from + Math.sign(from - i) * 12;
      const reference = width[Math.max(0, Math.min(n - 1, back))];
      return (
        width[i] > 0.6 * w &&
        width[i] < 1.7 * w &&
        width[i] < 1.45 * reference + 2 &&
        width[i] > 0.66 * reference - 2
      );
    };
    while (a > 0 && follows(a - 1, a)) a--;
    while (b < n - 1 && follows(b + 1, b)) b++;
    if (best === null || b - a > best[1] - best[0]) best = [a, b];
  }
  if (best === null || best[1] - best[0] < 20) return null;
  const [a, b] = best;
  return [widerPiece(width, a, -1) ?? a, widerPiece(width, b, 1) ?? b];
}

/** A step to a wider piece of the tube, over the width before it; what is wider still carries the tube. */
const WIDER = [1.2, 2.2] as const;

/**
 * Where a wider piece of the tube ends that begins behind the stretch: an even run, longer than half its width, between
 * one step up and another. A run that goes on to the end of the way is the block. null when there is none.
 */
function widerPiece(width: Float64Array, end: number, sense: -1 | 1): number | null {
  const n = width.length;
  const inWay = (i: number): boolean => i >= 0 && i < n;
  const before = median(range(12, (k) => width[Math.max(0, Math.min(n - 1, end - sense * (4 + k)))]));
  const from = end + sense * 6;
  if (!inWay(from + sense * 10)) return null;
  const own = median(range(10, (k) => width[from + sense * k]));
  if (!(own > WIDER[0] * before && own < WIDER[1] * before)) return null;
  let last = from;
  while (inWay(last + sense) && Math.abs(width[last + sense] - own) < 0.12 * own + 1) last += sense;
  const after = last + sense * 8;
  if (Math.abs(last - from) < 0.5 * own || !inWay(after)) return null;
  return width[after] > 1.25 * own ? last : null;
}

const range = (count: number, of: (k: number) => number): number[] =>
  Array.from({ length: count }, (_, k) => of(k));

const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)];

/**
 * What stands out beyond the end of the stretch, in a corridor four tube widths wide, faint parts included (a block
 * may be nearly as dark as the field), and whether it goes on to the picture's rim.
 */
function materialBeyond(
  shape: Silhouette,
  { x, y }: Places,
  width: Float64Array,
  end: number,
  sense: -1 | 1,
): { count: number; rim: boolean; shapeRim: boolean; level: number } {
  const back = Math.max(0, Math.min(x.length - 1, end - sense * 15));
  const length = Math.hypot(x[end] - x[back], y[end] - y[back]) || 1;
  const tx = (x[end] - x[back]) / length;
  const ty = (y[end] - y[back]) / length;
  let count = 0;
  let rim = 0;
  let shapeRim = 0;
  let [sum, places] = [0, 0];
  for (let py = 0; py < shape.height; py++)
    for (let px = 0; px < shape.width; px++) {
      const along = (px - x[end]) * tx + (py - y[end]) * ty;
      const across = Math.abs((py - y[end]) * tx - (px - x[end]) * ty);
      // The rim is looked for from a little before the end, which may itself lie on it.
      if (along <= -6 || across > 2 * width[back]) continue;
      if (along > 0 && across < width[back] / 2 && nearRim(shape, px, py)) {
        sum += shape.signed[py * shape.width + px];
        places++;
      }
      if (!shape.faint[py * shape.width + px]) continue;
      if (along > 0) count++;
      if (px < 2 || py < 2 || px > shape.width - 3 || py > shape.height - 3) {
        rim++;
        if (shape.mask[py * shape.width + px]) shapeRim++;
      }
    }
  return {
    count,
    rim: rim > 0.5 * width[back],
    shapeRim: shapeRim > 0.5 * width[back],
    level: places === 0 ? 0 : Math.abs(sum / places),
  };
}

/** A strip along the picture's rim whose mean tells a block from the field where no single place does, in mask places. */
const STRIP = 12;
const nearRim = ({ width, height }: Silhouette, x: number, y: number): boolean =>
  Math.min(x, y, width - 1 - x, height - 1 - y) < STRIP;

/** One end's strip must differ from the field by so many times what the other end's does: the field is uneven too. */
const APART = 2.5;
