import { calibrateFromRuledSlide } from '../calibration/index.ts';
import { directionAcross } from '../calibration/orientation.ts';
import { toGrey, type GreyImage } from '../image/grey.ts';
import type { DecodedPicture } from '../index.ts';
import { partOf, widthsAlong } from './part.ts';

/**
 * A quick look at a small copy of a picture: how it may be lit and what it may show. Guesses for a form that a person
 * confirms, never a measurement; null where the look tells nothing. Thresholds are our own, tried on rendered pictures.
 */
export type LookGuess = {
  readonly light: 'backlit' | 'ring' | null;
  readonly shows: 'tip' | 'cantilever' | 'end-on' | 'slide' | null;
};

/** Long edge of the copy that is looked at, px: enough for the lines of a slide, little enough to cost a blink. */
export const LOOK_EDGE_PX = 960;
const SHAPE_EDGE_PX = 240;

export function guessFromLook(picture: DecodedPicture): LookGuess {
  const grey = toGrey(picture);
  const part = partOf(shrunk(grey, SHAPE_EDGE_PX));
  // A ground that is brighter than the rest and yet dark is no light from behind: a body that fills the picture.
  const dim = part !== null && part.brightGround && part.groundGrey < 0.35;
  const light = part === null ? null : part.brightGround && !dim ? 'backlit' : 'ring';
  if (looksRuled(picture, grey)) return { light, shows: 'slide' };
  if (part === null) return { light: null, shows: null };
  if (dim) return { light, shows: 'end-on' };
  // A tip or a cantilever comes in from one side and ends inside; seen end-on it lies on the body that crosses the picture.
  if (part.entries !== 1) return { light, shows: part.entries > 1 && !part.brightGround ? 'end-on' : null };
  const widths = widthsAlong(part);
  if (widths === null) return { light, shows: null };
  return { light, shows: isCantilever(widths) ? 'cantilever' : 'tip' };
}

const LEAST_LINES = 7;

/** Many crossings on most ways across the preferred direction first, because that is cheap; then the lines themselves. */
function looksRuled(picture: DecodedPicture, grey: GreyImage): boolean {
  const direction = directionAcross(grey);
  if (direction === null) return false;
  const counts = [-0.3, -0.15, 0, 0.15, 0.3]
    .map((part) => crossings(grey, direction, part))
    .toSorted((a, b) => a - b);
  if (counts[2] < 2 * LEAST_LINES) return false;
  // The pitch does not matter here, only whether an even ruling is there.
  const found = calibrateFromRuledSlide({ picture, pitchUm: 100 });
  return found.ok && found.value.linesUsed >= LEAST_LINES;
}

/** How often a straight way across the lines goes from dark to bright or back; `part` of the height off the middle. */
function crossings({ width, height, data }: GreyImage, direction: number, part: number): number {
  const [c, s] = [Math.cos(direction), Math.sin(direction)];
  const off = part * Math.min(width, height);
  const reach = Math.hypot(width, height) / 2;
  const way: number[] = [];
  for (let t = -reach; t <= reach; t++) {
    const x = Math.round((width - 1) / 2 + c * t - s * off);
    const y = Math.round((height - 1) / 2 + s * t + c * off);
    if (x >= 0 && y >= 0 && x < width && y < height) way.push(data[y * width + x]);
  }
  const sorted = way.toSorted((a, b) => a - b);
  const [low, high] = [sorted[Math.floor(0.05 * sorted.length)], sorted[Math.floor(0.95 * sorted.length)]];
  if (!(high - low > 0.08)) return 0;
  let count = 0;
  let side = 0;
  for (const value of way) {
    const next = value > low + 0.7 * (high - low) ? 1 : value < low + 0.3 * (high - low) ? -1 : side;
    if (next !== side && side !== 0) count++;
    side = next;
  }
  return count;
}

/**
 * A cantilever is slender and comes out of a wider block, or ends without a point; a shank keeps its width up to the cone.
 */
function isCantilever(widths: Float64Array): boolean {
  const n = widths.length;
  const inner = widths.slice(Math.floor(0.3 * n), Math.ceil(0.75 * n)).toSorted();
  const middle = inner[Math.floor(inner.length / 2)];
  const entry = widths.slice(Math.floor(0.03 * n), Math.max(2, Math.floor(0.12 * n))).toSorted();
  const root = entry[Math.floor(entry.length / 2)];
  if (n < 2.2 * middle) return false;
  if (root > 1.45 * middle) return true;
  return n > 5 * middle && !tapers(widths, middle);
}

/** The last stretch, as long as the part is wide, gets narrower step by step. */
function tapers(widths: Float64Array, middle: number): boolean {
  const reach = Math.max(4, Math.round(0.9 * middle));
  const last = widths.slice(-reach);
  const third = Math.max(1, Math.floor(last.length / 3));
  const mean = (from: number): number =>
    last.slice(from, from + third).reduce((a, b) => a + b, 0) /
    Math.max(1, Math.min(third, last.length - from));
  return mean(0) > mean(third) && mean(third) > mean(2 * third) && mean(2 * third) < 0.6 * middle;
}

/** Mean over whole blocks of pixels. */
function shrunk(image: GreyImage, edge: number): GreyImage {
  const by = Math.max(1, Math.ceil(Math.max(image.width, image.height) / edge));
  const width = Math.max(1, Math.floor(image.width / by));
  const height = Math.max(1, Math.floor(image.height / by));
  const data = new Float32Array(width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let sum = 0;
      for (let j = 0; j < by; j++)
        for (let i = 0; i < by; i++) sum += image.data[(y * by + j) * image.width + x * by + i];
      data[y * width + x] = sum / (by * by);
    }
  return { width, height, data, clippedFraction: image.clippedFraction };
}
