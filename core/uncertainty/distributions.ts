import { erfc, incompleteBeta, incompleteGamma } from './special-functions.ts';

/** Probability within two standard deviations of a normal distribution: with it k is exactly 2. */
export const COVERAGE_PROBABILITY = 0.9544997361036416;

export function normalCdf(z: number): number {
  return 0.5 * erfc(-z / Math.SQRT2);
}

/** z with normalCdf(z) = p, 0 < p < 1. */
export function normalQuantile(p: number): number {
  requireProbability('normalQuantile', p);
  return p < 0.5 ? -upperNormal(p) : upperNormal(1 - p);
}

/** z >= 0 with upper tail q, 0 < q <= 0.5; Newton on the logarithm of the tail, which is nearly a parabola. */
function upperNormal(q: number): number {
  let z = Math.sqrt(Math.max(0, -2 * Math.log(2 * q)));
  for (let i = 0; i < 60; i++) {
    const tail = 0.5 * erfc(z / Math.SQRT2);
    const density = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
    const step = (Math.log(tail / q) * tail) / density;
    z += step;
    if (Math.abs(step) < 1e-14 * (1 + Math.abs(z))) break;
  }
  return z;
}

/** Student's t, cumulative. `dof` may be any positive number; Infinity gives the normal distribution. */
export function studentTCdf(t: number, dof: number): number {
  requireDof('studentTCdf', dof);
  if (dof === Infinity || dof > 1e8) return normalCdf(t);
  const tail = 0.5 * incompleteBeta(dof / (dof + t * t), dof / 2, 0.5);
  return t > 0 ? 1 - tail : tail;
}

/** t with studentTCdf(t, dof) = p. */
export function studentTQuantile(p: number, dof: number): number {
  requireProbability('studentTQuantile', p);
  requireDof('studentTQuantile', dof);
  if (p === 0.5) return 0;
  if (dof === Infinity || dof > 1e8) return normalQuantile(p);
  const upper = p > 0.5;
  const tail = upper ? 1 - p : p;
  // In x = dof/(dof + t^2) the tail is a bounded, increasing function: bisection cannot fail, not even at dof = 1.
  const x = invertIncreasing((v) => 0.5 * incompleteBeta(v, dof / 2, 0.5), tail, 0, 1);
  const t = Math.sqrt(dof * (1 / x - 1));
  return upper ? t : -t;
}

/** Coverage factor k with P(|t| <= k) = probability (95.45 % unless said otherwise). */
export function coverageFactor(dof: number, probability: number = COVERAGE_PROBABILITY): number {
  return studentTQuantile(0.5 + probability / 2, dof);
}

export function chiSquareCdf(x: number, dof: number): number {
  requireDof('chiSquareCdf', dof);
  return incompleteGamma(dof / 2, x / 2);
}

/** x with chiSquareCdf(x, dof) = p. */
export function chiSquareQuantile(p: number, dof: number): number {
  requireProbability('chiSquareQuantile', p);
  requireDof('chiSquareQuantile', dof);
  let high = dof + 10;
  while (chiSquareCdf(high, dof) < p) high *= 2;
  return invertIncreasing((x) => chiSquareCdf(x, dof), p, 0, high);
}

/** Ratio of two variances with a and b degrees of freedom (Fisher), cumulative. */
export function fCdf(x: number, a: number, b: number): number {
  requireDof('fCdf', a);
  requireDof('fCdf', b);
  return x > 0 ? incompleteBeta((a * x) / (a * x + b), a / 2, b / 2) : 0;
}

/** x with fCdf(x, a, b) = p. */
export function fQuantile(p: number, a: number, b: number): number {
  requireProbability('fQuantile', p);
  // In y = a x/(a x + b) the distribution is a bounded, increasing function.
  const y = invertIncreasing((v) => incompleteBeta(v, a / 2, b / 2), p, 0, 1);
  return (b * y) / (a * (1 - y));
}

function invertIncreasing(f: (x: number) => number, target: number, low: number, high: number): number {
  let a = low;
  let b = high;
  for (let i = 0; i < 200 && b - a > 1e-15 * Math.abs(b); i++) {
    const middle = (a + b) / 2;
    if (f(middle) < target) a = middle;
    else b = middle;
  }
  return (a + b) / 2;
}

function requireProbability(name: string, p: number): void {
  if (!(p > 0 && p < 1))
    throw new RangeError(`${name}: a probability between 0 and 1 was expected, got ${p}`);
}

function requireDof(name: string, dof: number): void {
  if (!(dof > 0)) throw new RangeError(`${name}: positive degrees of freedom were expected, got ${dof}`);
}
