import { normalCdf } from '../uncertainty/distributions.ts';

const STEP = 1 / 64;
const REACH = 5;
const TABLE = Float64Array.from({ length: (2 * REACH) / STEP + 2 }, (_, i) => normalCdf(i * STEP - REACH));

function cumulative(z: number): number {
  if (z <= -REACH) return 0;
  if (z >= REACH) return 1;
  const at = (z + REACH) / STEP;
  const i = at | 0;
  return TABLE[i] + (at - i) * (TABLE[i + 1] - TABLE[i]);
}

/**
 * An even patch |x/a|^n + |y/b|^n < 1 after a Gaussian blur: n = 2 is an ellipse, larger n has fuller corners. Lengths in
 * any one unit. Cut into chords along x, so that across the sum is exact.
 */
export type BlurredPatch = {
  readonly a: number;
  readonly b: number;
  readonly sigma: number;
  readonly y: Float64Array;
  readonly chord: Float64Array;
  readonly weight: Float64Array;
};

export function blurredPatch(a: number, b: number, n: number, sigma: number): BlurredPatch {
  // Chords closer than half a blur where they lie widest apart, in the middle: error below 0.001.
  const nodes = Math.max(14, Math.min(72, Math.ceil((2.2 * b * (Math.PI / 2)) / sigma)));
  const y = new Float64Array(nodes);
  const chord = new Float64Array(nodes);
  const weight = new Float64Array(nodes);
  for (let k = 0; k < nodes; k++) {
    const t = (Math.PI * (k + 0.5)) / nodes - Math.PI / 2;
    const s = Math.sin(t);
    // y = b sin t turns an ellipse's square root into a cosine; dy = b cos t dt.
    y[k] = b * s;
    chord[k] = n === 2 ? a * Math.cos(t) : a * (1 - Math.abs(s) ** n) ** (1 / n);
    weight[k] = (b * Math.cos(t) * Math.PI) / (nodes * sigma * Math.sqrt(2 * Math.PI));
  }
  return { a, b, sigma, y, chord, weight };
}

/** Its light at (x, y), 1 = deep inside. */
export function lightOf(p: BlurredPatch, x: number, y: number): number {
  const { sigma } = p;
  if (Math.abs(x) > p.a + REACH * sigma || Math.abs(y) > p.b + REACH * sigma) return 0;
  let sum = 0;
  for (let k = 0; k < p.y.length; k++) {
    const z = (y - p.y[k]) / sigma;
    if (z > REACH || z < -REACH) continue;
    const chord = p.chord[k];
    sum +=
      p.weight[k] *
      Math.exp(-0.5 * z * z) *
      (cumulative((x + chord) / sigma) - cumulative((x - chord) / sigma));
  }
  return sum;
}
