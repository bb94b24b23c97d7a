import { type FrontSpec } from '../../fixtures/render/front.ts';
import { reach, type TipSpec, unwornOutline } from '../../fixtures/render/outline.ts';
import {
  depthOf,
  type Derivatives,
  directionOf,
  halfStep,
  pictureDerivatives,
  plane,
  type Shape,
  type ShapeName,
  type Side,
} from './derivatives.ts';
import { inverseOfPositive } from './positive.ts';

/**
 * How well the light of rendered pictures can tell the widths of flats at best: the Cramer-Rao bound (no unbiased reading
 * scatters less), Fisher's information being J^T V^-1 J.
 *
 * Free in every picture: place and turn, depth of each flat, blur, level inside and of the field. Free, but one and the
 * same in all pictures of a part: radius, ellipse, both half angles, direction of each flat. Weak knowledge of how tips
 * are made is added, the same that the engine has: ellipse 7 %, flanks alike within 1.2 degrees, walls within 2. Without
 * it turn, half angles and wall directions could not be told apart. Where the drawn part lies in the middle of that
 * knowledge (most rows: circle, even flanks, walls at 45 degrees), an engine that leans on it may stay a little below.
 *
 * Where the bound is kinder than life: the inside is known up to one factor; the scale is known; flats narrower than 2 um
 * are taken for known; dust, fluff, cloud, tint of a mosaic and lens distortion are left out. Where it is stricter: the
 * inside's texture tells nothing about the pose; the shank tells nothing, because where it stands above the tip is nobody's knowledge;
 * what chip or residue hides tells nothing. Mosaic, sharpening and JPEG come after the sensor and cannot add
 * information: the bound is that of the light before them.
 */
export type WidthBound = { readonly left: number | null; readonly right: number | null };

/** Standard deviations of what is known beforehand. */
export type Beforehand = { ellipse: number; flanksAlikeDeg: number; wallDeg: number };
const usual: Beforehand = { ellipse: 0.07, flanksAlikeDeg: 1.2, wallDeg: 2 };

const shared: readonly string[] = [
  'radiusUm',
  'ellipticity',
  'halfAngleLeftDeg',
  'halfAngleRightDeg',
  directionOf.left,
  directionOf.right,
];

/** Chord of a flat's plane with the unworn outline, um: the width. */
function widthOf(tip: TipSpec, s: Shape, side: Side): number {
  const o = unwornOutline({ ...tip, ...s });
  const n = plane(o, s[directionOf[side]], 0);
  const depth = s[depthOf[side]];
  const foot = {
    x: (o.acrossUm ** 2 * n.nx) / n.c - depth * n.nx,
    y: (o.alongUm ** 2 * n.ny) / n.c - depth * n.ny,
  };
  return reach(o, foot, -n.ny, n.nx) + reach(o, foot, n.ny, -n.nx);
}

/** Fisher's information of one picture, rows one after another. */
function information(d: Derivatives): Float64Array {
  const n = d.names.length;
  const out = new Float64Array(n * n);
  for (let pixel = 0; pixel < d.reached.length; pixel++) {
    if (!d.reached[pixel]) continue;
    const row = pixel * n;
    for (let i = 0; i < n; i++) {
      const v = d.data[row + i] / d.variance[pixel];
      for (let j = 0; j < n; j++) out[i * n + j] += v * d.data[row + j];
    }
  }
  return out;
}

function addKnowledge(matrix: Float64Array, all: readonly string[], known: Beforehand): void {
  const n = all.length;
  const add = (a: number, b: number, value: number): void => {
    if (a >= 0 && b >= 0) matrix[a * n + b] += value;
  };
  const alone = (name: ShapeName, deviation: number): void =>
    add(all.indexOf(name), all.indexOf(name), 1 / deviation ** 2);
  alone('ellipticity', known.ellipse);
  alone(directionOf.left, known.wallDeg);
  alone(directionOf.right, known.wallDeg);
  const [l, r] = [all.indexOf('halfAngleLeftDeg'), all.indexOf('halfAngleRightDeg')];
  const alike = 1 / known.flanksAlikeDeg ** 2;
  add(l, l, alike);
  add(r, r, alike);
  add(l, r, -alike);
  add(r, l, -alike);
}

/**
 * Smallest standard deviation of each flat's width, um, in each of some pictures of one part, read together; null where
 * the flat is narrower than 2 um, and where residue hides it or the light leaves it as uncertain as it is wide. Throws a RangeError when a picture does not hold enough of the part.
 */
export function widthBounds(specs: readonly FrontSpec[], known: Beforehand = usual): WidthBound[] {
  const pictures = specs.map((spec, k) => {
    const d = pictureDerivatives(spec);
    return { spec, d, names: d.names.map((name) => (shared.includes(name) ? name : `${name} ${k}`)) };
  });
  const all = [...new Set(pictures.flatMap((p) => p.names))];
  const n = all.length;
  const sum = new Float64Array(n * n);
  for (const { d, names } of pictures) {
    const own = information(d);
    const at = names.map((name) => all.indexOf(name));
    at.forEach((i, a) => at.forEach((j, b) => (sum[i * n + j] += own[a * names.length + b])));
  }
  addKnowledge(sum, all, known);
  // a flat that residue hides altogether: any positive number keeps the matrix whole, its answer is null below
  for (let i = 0; i < n; i++) if (sum[i * n + i] === 0) sum[i * n + i] = 1e-12;
  const covariance = inverseOfPositive(sum, n);
  return pictures.map(({ spec, d, names }) => {
    const at = names.map((name) => all.indexOf(name));
    const of = (side: Side): number | null => {
      if (!d.names.includes(depthOf[side])) return null;
      const gradient = d.names.map((name) => {
        if (name === 'blur' || name === 'inside' || name === 'field') return 0;
        const h = halfStep[name];
        const less = widthOf(spec.tip, { ...d.shape, [name]: d.shape[name] - h }, side);
        return (widthOf(spec.tip, { ...d.shape, [name]: d.shape[name] + h }, side) - less) / (2 * h);
      });
      let variance = 0;
      gradient.forEach((a, i) =>
        gradient.forEach((b, j) => (variance += a * covariance[at[i] * n + at[j]] * b)),
      );
      const deviation = Math.sqrt(variance);
      return deviation < widthOf(spec.tip, d.shape, side) ? deviation : null;
    };
    return { left: of('left'), right: of('right') };
  });
}
