import { coarser, estimateBackground, levelAt } from '../image/background.ts';
import type { GreyImage } from '../image/grey.ts';

/**
 * A coarse mask of whatever stands out from the empty field. It only has to find the cantilever; edges are measured
 * later in the full picture. One mask pixel covers `factor` x `factor` picture pixels.
 */
export type Silhouette = {
  readonly width: number;
  readonly height: number;
  readonly factor: number;
  /** 1 where the chosen component lies. */
  readonly mask: Uint8Array;
  /** 1 wherever anything at all stands out, also faintly or apart from the component. */
  readonly faint: Uint8Array;
  /** Difference from the field's surface, grey 0..1. */
  readonly signed: Float32Array;
  readonly area: number;
  /** Share of the frame's rim that shows an even field. */
  readonly rimShare: number;
  /** Standard deviation of one full-resolution pixel of the field, grey 0..1. */
  readonly noise: number;
  /** Typical difference between part and field, grey 0..1. */
  readonly contrast: number;
  /** Part of the field that is clipped at full scale. */
  readonly fieldClipped: number;
};

/** The mask is made on about this many pixels along the picture's long edge. */
const MASK_EDGE = 420;

/**
 * null when nothing stands out. 'strict' leaves out what stands out far less than the darkest or brightest part: needed
 * where the light of the field itself is uneven; 'lenient' takes whatever stands out of the noise: a lit tube's dark side.
 */
export function findSilhouette(
  image: GreyImage,
  wanted: 'plain' | 'strict' | 'lenient' = 'plain',
): Silhouette | null {
  const background = estimateBackground(image);
  const factor = Math.max(1, Math.round(Math.max(image.width, image.height) / MASK_EDGE));
  const width = Math.floor(image.width / factor);
  const height = Math.floor(image.height / factor);
  const surface = coarser(background.surface, factor, factor);
  const signed = new Float32Array(width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const level = levelAt(surface, x, y);
      signed[y * width + x] = blockMean(image, x * factor, y * factor, factor) - level;
    }
  const least = wanted === 'lenient' ? 0.012 : 0.02;
  const floor = Math.max(least, (6 * background.noise) / factor);
  const { difference, dark } = standingOut(signed, floor);
  const standing = difference.filter((d) => d > floor).toSorted();
  if (standing.length < 50) return null;
  const strong = standing[Math.floor(0.9 * standing.length)];
  // Before light from behind a part is about equally dark everywhere: fainter things are uneven light and do not count.
  const counted = dark ? standing.filter((d) => d > strong / 2) : standing;
  const contrast = counted[Math.floor(counted.length / 2)];
  const share = { plain: 0.25 * contrast, strict: 0.45 * strong, lenient: 0 };
  const threshold = Math.max(floor, share[wanted]);
  const chosen = longestComponent(
    difference.map((d) => (d > threshold ? 1 : 0)),
    width,
    height,
  );
  if (chosen === null) return null;
  return {
    width,
    height,
    factor,
    ...chosen,
    // Where the field is uneven, faint things at its rim are the field: they must not be taken for what carries the tube.
    faint: wanted === 'strict' ? chosen.mask : Uint8Array.from(difference, (d) => (d > floor ? 1 : 0)),
    signed,
    rimShare: background.rimShare,
    noise: background.noise,
    contrast,
    fieldClipped: background.clipped,
  };
}

/** From behind nearly all that stands out strongly is darker than the field. */
const DARK_SHARE = 0.95;

/**
 * How far each place stands out. Before light from behind a part is dark, and what is brighter than the field's surface
 * is the lamp's uneven light, which may reach up to the tube; lit from the front a part is brighter here and darker there.
 */
function standingOut(signed: Float32Array, floor: number): { difference: Float32Array; dark: boolean } {
  const size = signed.map(Math.abs);
  const standing = size.filter((d) => d > floor).toSorted();
  const strong = 0.5 * (standing[Math.floor(0.9 * standing.length)] ?? 0);
  let [all, darker] = [0, 0];
  for (const d of signed)
    if (Math.abs(d) > Math.max(floor, strong)) {
      all++;
      if (d < 0) darker++;
    }
  const dark = darker > DARK_SHARE * all;
  return { difference: dark ? signed.map((d) => Math.max(0, -d)) : size, dark };
}

function blockMean(image: GreyImage, x0: number, y0: number, size: number): number {
  let sum = 0;
  for (let y = y0; y < y0 + size; y++)
    for (let x = x0; x < x0 + size; x++) sum += image.data[y * image.width + x];
  return sum / (size * size);
}

/** The component with the largest box diagonal: a cantilever is the longest thing in its picture. */
function longestComponent(
  on: Float32Array,
  width: number,
  height: number,
): { mask: Uint8Array; area: number } | null {
  const label = new Int32Array(width * height);
  const stack = new Int32Array(width * height);
  let best: { label: number; diagonal: number; area: number } | null = null;
  let next = 0;
  for (let start = 0; start < on.length; start++) {
    if (!on[start] || label[start]) continue;
    next++;
    let depth = 0;
    stack[depth++] = start;
    label[start] = next;
    let [x0, x1, y0, y1, area] = [width, 0, height, 0, 0];
    while (depth > 0) {
      const at = stack[--depth];
      const x = at % width;
      const y = (at - x) / width;
      area++;
      x0 = Math.min(x0, x);
      x1 = Math.max(x1, x);
      y0 = Math.min(y0, y);
      y1 = Math.max(y1, y);
      for (let dy = -1; dy <= 1; dy++)
        for (let dx = -1; dx <= 1; dx++) {
          if (x + dx < 0 || x + dx >= width || y + dy < 0 || y + dy >= height) continue;
          const to = at + dy * width + dx;
          if (!on[to] || label[to]) continue;
          label[to] = next;
          stack[depth++] = to;
        }
    }
    const diagonal = Math.hypot(x1 - x0, y1 - y0);
    if (best === null || diagonal > best.diagonal) best = { label: next, diagonal, area };
  }
  if (best === null) return null;
  const wanted = best.label;
  return { mask: Uint8Array.from(label, (v) => (v === wanted ? 1 : 0)), area: best.area };
}
