import { leastSquares } from '../fit/linear-algebra.ts';
import type { GreyImage } from '../image/grey.ts';
import { normalCdf } from '../uncertainty/distributions.ts';

/**
 * Grey values across the diamond's shank, averaged along it, `u` in px from one of its edges to the other.
 */
export type ShankProfile = { readonly u: Float64Array; readonly grey: Float64Array; readonly width: number };

/**
 * A square shank that stands square to the view shows one face, evenly or smoothly lit; turned about its own axis it shows
 * two, each with its own light, which meet in an edge along it. A round shank shades smoothly. So: does a step inside the
 * width explain the profile, where a smooth course and a bright line do not?
 */
export type FaceEdge = {
  /** Distance of the edge between the faces from the nearer rim, over the width, 0..0.5. */
  readonly place: number;
  /** Difference of the faces over the shank's mean light, or over its contrast with the field where that is less. */
  readonly step: number;
  /** Which face is the brighter one: 1 towards growing u. */
  readonly brighter: 1 | -1;
  /** Turn about its own axis, degrees, 0 to 45: faces show at cos and sin of it. */
  readonly turnDeg: number;
};

/** Inner part of the width that is looked at: the rims are blurred into the field. */
const INNER = 0.1;
const RIM_BLURS = 1.7;
/**
 * What two faces of rendered stones came to, and sound ones did not: all figures are root-mean-squares over that of what
 * the two faces leave. A smooth course (to the fourth power) leaves 1.4 to 11 times as much for faces, up to 1.2 for sound
 * stones and 1.0 for their steps where faces could meet; a line, narrow or wide, 0.85 to 5 for faces, up to 0.88 for sound
 * stones, none of them with a smooth course above 1.2.
 */
const SMOOTH_LEAVES = 1.4;
const LINE_LEAVES = 0.85;
/** The step over what the two faces leave, and over the shank's contrast: less is noise, or no face's light. */
const LEAST_CLEAR = 10;
const LEAST_STEP = 0.05;
/** A flat face is evenly lit: its slope from rim to rim, halved, over the step. */
const MOST_SLOPE = 0.2;
/** A turn below this shows a strip that the rims' blur swallows, and stones are set no better than a few degrees. */
const LEAST_TURN_DEG = 11;
/** A face narrower than this, over the width, lies among the blurred rims. */
const LEAST_PLACE = 0.12;
/**
 * One face is brighter than the other by about as much in every part of the height: clouds in a stone are not. Of four
 * parts the first may be glue and the last reach into the point.
 */
const SAME_STEP = 2;
const SPARED_FROM = 4;

type Part = { readonly t: number[]; readonly grey: number[] };
/** For each part: sum of squares left, and the last two coefficients. */
type Rests = readonly { readonly sum: number; readonly last: number; readonly slope: number }[];

/**
 * Looks for one edge in the same place in all parts of the shank's height (`parts`); null when nothing steps there.
 * `field`: grey beside it; `sigma`: blur, px. Each part has faces of its own light.
 */
export function faceEdge(parts: readonly ShankProfile[], field: number, sigma: number): FaceEdge | null {
  const width = parts[0]?.width ?? 0;
  const margin = Math.max(INNER, (RIM_BLURS * sigma) / width);
  const inner = parts.map((part) => innerPart(part, margin));
  if (inner.length === 0 || inner.some(({ t }) => t.length < 12)) return null;
  const mean = inner.flatMap((part) => part.grey).reduce((sum, v, _, all) => sum + v / all.length, 0);
  // Against the field or against black, whichever is less: from behind a clear shank is dark, and so are its faces.
  const contrast = Math.max(0.06, Math.min(Math.abs(mean - field), mean));
  const soft = (2 * Math.max(sigma, 0.8)) / width;
  const reach = 1 - 2 * Math.max(margin, LEAST_PLACE);
  const smooth = rests(inner, 4, null);
  // The mask's rims are coarse and the shank's height is averaged: an edge is softer than the picture's blur.
  const steps = [soft, 1.6 * soft].flatMap((wide) =>
    places(reach, 0.03).map((at) => ({ at, rests: rests(inner, 1, (v) => normalCdf((v - at) / wide)) })),
  );
  // A wide bell beside the rim is a narrow face.
  const lines = [soft, 2 * soft, 4 * soft].flatMap((wide) =>
    places(1, 0.05).map((at) => rests(inner, 2, (v) => Math.exp(-0.5 * ((v - at) / wide) ** 2))),
  );
  const all = inner.map((_, k) => k);
  const choices = all.length < SPARED_FROM ? [all] : [all, all.slice(0, -1), all.slice(1)];
  for (const chosen of choices) {
    const left = (list: Rests): number => chosen.reduce((sum, k) => sum + list[k].sum, 0);
    const best = steps.reduce((a, b) => (left(b.rests) < left(a.rests) ? b : a));
    const size = chosen.map((k) => best.rests[k].last);
    const n = chosen.reduce((sum, k) => sum + inner[k].t.length, 0);
    const noise = Math.sqrt(left(best.rests) / n);
    const step = median(size.map(Math.abs));
    const [least, most] = [Math.min(...size.map(Math.abs)), Math.max(...size.map(Math.abs))];
    const place = (1 - Math.abs(best.at)) / 2;
    const turnDeg = (Math.atan2(place, 1 - place) * 180) / Math.PI;
    if (!size.every((v) => v * size[0] > 0) || most > SAME_STEP * least) continue;
    if (step < LEAST_CLEAR * noise || step < LEAST_STEP * contrast || turnDeg < LEAST_TURN_DEG) continue;
    if (median(chosen.map((k) => Math.abs(best.rests[k].slope))) > MOST_SLOPE * step) continue;
    if (left(smooth) < SMOOTH_LEAVES ** 2 * left(best.rests)) continue;
    if (lines.some((line) => left(line) < LINE_LEAVES ** 2 * left(best.rests))) continue;
    return { place, step: step / contrast, brighter: size[0] > 0 ? 1 : -1, turnDeg };
  }
  return null;
}

function innerPart({ u, grey, width }: ShankProfile, margin: number): Part {
  const t: number[] = [];
  const values: number[] = [];
  for (let i = 0; i < u.length; i++) {
    const place = (2 * u[i]) / width - 1;
    if (Math.abs(place) > 1 - 2 * margin || grey[i] !== grey[i]) continue;
    t.push(place);
    values.push(grey[i]);
  }
  return { t, grey: values };
}

const places = (reach: number, step: number): number[] =>
  Array.from({ length: Math.floor((2 * reach) / step) + 1 }, (_, i) => -reach + i * step);

const median = (list: readonly number[]): number => list.toSorted((a, b) => a - b)[list.length >> 1];

/** What powers of the place up to `order`, and one more course, leave of each part. */
function rests(parts: readonly Part[], order: number, course: ((v: number) => number) | null): Rests {
  const columns = order + 1 + (course === null ? 0 : 1);
  return parts.map(({ t, grey }) => {
    const rows = new Float64Array(t.length * columns);
    t.forEach((v, i) => {
      for (let k = 0; k <= order; k++) rows[i * columns + k] = v ** k;
      if (course !== null) rows[i * columns + order + 1] = course(v);
    });
    const solved = leastSquares(rows, grey, t.length, columns);
    return solved === null
      ? { sum: Infinity, last: 0, slope: 0 }
      : { sum: solved.sumOfSquares, last: solved.solution[columns - 1], slope: solved.solution[1] };
  });
}

/** Bilinear grey value; NaN outside. */
export function greyAt({ width, height, data }: GreyImage, x: number, y: number): number {
  if (!(x >= 0 && y >= 0 && x <= width - 1 && y <= height - 1)) return Number.NaN;
  const i = Math.min(width - 2, Math.floor(x));
  const j = Math.min(height - 2, Math.floor(y));
  const [a, b] = [x - i, y - j];
  const at = j * width + i;
  return (
    (1 - b) * ((1 - a) * data[at] + a * data[at + 1]) +
    b * ((1 - a) * data[at + width] + a * data[at + width + 1])
  );
}
