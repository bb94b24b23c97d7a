import type { GreyImage } from '../image/grey.ts';

/** The one thing in a picture, told from its ground by brightness alone. */
export type Part = {
  readonly width: number;
  readonly height: number;
  /** 1 where the part is */
  readonly mask: Uint8Array;
  readonly brightGround: boolean;
  /** Mean grey of the ground, 0..1. */
  readonly groundGrey: number;
  /** How many separate stretches of the frame's edge the part crosses. */
  readonly entries: number;
};

/** Grey value that parts a picture best in two (Otsu), and how well: the share of the variance that it explains. */
export function bestThreshold(data: ArrayLike<number>): { readonly level: number; readonly share: number } {
  const bins = 128;
  const histogram = new Float64Array(bins);
  for (let i = 0; i < data.length; i++)
    histogram[Math.max(0, Math.min(bins - 1, Math.floor(data[i] * bins)))]++;
  let total = 0;
  let square = 0;
  histogram.forEach((n, k) => {
    total += n * k;
    square += n * k * k;
  });
  const n = data.length;
  const variance = square / n - (total / n) ** 2;
  let best = 0;
  let level = 0.5;
  let below = 0;
  let sumBelow = 0;
  for (let k = 0; k < bins - 1; k++) {
    below += histogram[k];
    sumBelow += histogram[k] * k;
    if (below === 0 || below === n) continue;
    const gap = sumBelow / below - (total - sumBelow) / (n - below);
    const between = (below / n) * (1 - below / n) * gap * gap;
    if (between > best) {
      best = between;
      level = (k + 1) / bins;
    }
  }
  return { level, share: variance > 0 ? best / variance : 0 };
}

/** null when brightness does not part the picture: an empty field, a picture full of texture. */
export function partOf(image: GreyImage): Part | null {
  const { width, height, data } = image;
  const { level, share } = bestThreshold(data);
  if (share < 0.45) return null;
  const rim = rimOf(width, height);
  let bright = 0;
  for (const i of rim) if (data[i] >= level) bright++;
  const brightGround = bright > 0.5 * rim.length;
  const raw = Uint8Array.from(data, (v) => (v >= level === brightGround ? 0 : 1));
  const mask = largest(raw, width, height);
  const size = mask.reduce((a, b) => a + b, 0);
  if (size < 0.004 * data.length) return null;
  let ground = 0;
  for (let i = 0; i < data.length; i++) if (mask[i] === 0) ground += data[i];
  const groundGrey = ground / Math.max(1, data.length - size);
  return { width, height, mask, brightGround, groundGrey, entries: runsOnRim(mask, rim) };
}

/** Indices of the outermost pixels, once around. */
function rimOf(width: number, height: number): number[] {
  const out: number[] = [];
  for (let x = 0; x < width; x++) out.push(x);
  for (let y = 1; y < height; y++) out.push(y * width + width - 1);
  for (let x = width - 2; x >= 0; x--) out.push((height - 1) * width + x);
  for (let y = height - 2; y > 0; y--) out.push(y * width);
  return out;
}

/** Stretches of the rim on the part; gaps and stretches of a few pixels are noise. */
function runsOnRim(mask: Uint8Array, rim: readonly number[]): number {
  const values = rim.map((i) => mask[i]);
  const least = Math.max(3, Math.round(0.01 * rim.length));
  const start = values.findIndex((v, i) => v === 0 && values[(i + 1) % values.length] === 1);
  if (start < 0) return values[0] === 1 ? 1 : 0;
  let runs = 0;
  let length = 0;
  let gap = least;
  for (let k = 1; k <= values.length; k++) {
    if (values[(start + k) % values.length] === 1) {
      if (gap >= least) length = 0;
      gap = 0;
      length++;
      if (length === least) runs++;
    } else gap++;
  }
  return runs;
}

/** The largest connected stretch of ones. */
function largest(raw: Uint8Array, width: number, height: number): Uint8Array {
  const label = new Int32Array(raw.length);
  const stack = new Int32Array(raw.length);
  let best = 0;
  let bestSize = 0;
  let labels = 0;
  for (let seed = 0; seed < raw.length; seed++) {
    if (raw[seed] === 0 || label[seed] !== 0) continue;
    labels++;
    let top = 0;
    let size = 0;
    stack[top++] = seed;
    label[seed] = labels;
    while (top > 0) {
      const i = stack[--top];
      size++;
      const x = i % width;
      const around = [
        x > 0 ? i - 1 : -1,
        x < width - 1 ? i + 1 : -1,
        i - width,
        i < (height - 1) * width ? i + width : -1,
      ];
      for (const j of around)
        if (j >= 0 && raw[j] === 1 && label[j] === 0) {
          label[j] = labels;
          stack[top++] = j;
        }
    }
    if (size > bestSize) {
      bestSize = size;
      best = labels;
    }
  }
  return label.map((l) => (l === best && best > 0 ? 1 : 0)) as unknown as Uint8Array;
}

/** Area per step along the part's long axis, from where it comes in to its free end, px; null for a shapeless one. */
export function widthsAlong(part: Part): Float64Array | null {
  const { width, height, mask } = part;
  let [n, mx, my] = [0, 0, 0];
  for (let i = 0; i < mask.length; i++)
    if (mask[i] === 1) {
      n++;
      mx += i % width;
      my += Math.floor(i / width);
    }
  mx /= n;
  my /= n;
  let [xx, xy, yy, edge, ex, ey] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < mask.length; i++) {
    if (mask[i] === 0) continue;
    const x = i % width;
    const y = Math.floor(i / width);
    xx += (x - mx) ** 2;
    xy += (x - mx) * (y - my);
    yy += (y - my) ** 2;
    if (x === 0 || y === 0 || x === width - 1 || y === height - 1) {
      edge++;
      ex += x;
      ey += y;
    }
  }
  if (edge === 0) return null;
  const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
  let [c, s] = [Math.cos(angle), Math.sin(angle)];
  // From the entry to the free end.
  if ((ex / edge - mx) * c + (ey / edge - my) * s > 0) [c, s] = [-c, -s];
  let [low, high] = [Infinity, -Infinity];
  const places: number[] = [];
  for (let i = 0; i < mask.length; i++)
    if (mask[i] === 1) {
      const t = ((i % width) - mx) * c + (Math.floor(i / width) - my) * s;
      places.push(t);
      low = Math.min(low, t);
      high = Math.max(high, t);
    }
  const steps = Math.floor(high - low) + 1;
  if (steps < 12) return null;
  const out = new Float64Array(steps);
  for (const t of places) out[Math.floor(t - low)]++;
  return out;
}
