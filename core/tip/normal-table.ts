/**
 * The normal distribution from a table, for the inner loops of the fit, which ask for it millions of times a pair. The
 * sums over an outline read the table themselves: a call each would cost more than the step.
 */
/** The table reaches from minus to plus this many standard deviations. */
export const TABLE = 6;
/** Nodes of the table per unit; small enough for the fastest cache. */
export const PER_UNIT = 64;
export const INV_ROOT_2PI = 1 / Math.sqrt(2 * Math.PI);
/** Distribution function and density side by side at every node. */
export const table = new Float64Array(2 * (2 * TABLE * PER_UNIT + 1));
{
  const fine = 16;
  const h = 1 / (PER_UNIT * fine);
  const density = (z: number): number => INV_ROOT_2PI * Math.exp((-z * z) / 2);
  let sum = 9.865876450376946e-10; // Phi(-6): DLMF 7.2.2 with erfc(6/sqrt 2)
  for (let i = 0; i <= 2 * TABLE * PER_UNIT; i++) {
    const z = -TABLE + i / PER_UNIT;
    table[2 * i] = sum;
    table[2 * i + 1] = density(z);
    // Simpson over the next cell
    for (let k = 0; k < fine; k++) {
      const from = z + k * h;
      sum += (h / 6) * (density(from) + 4 * density(from + h / 2) + density(from + h));
    }
  }
}
/** Normal distribution function by a Taylor step from the nearest node (error below 1e-7). */
export function normalCdf(z: number): number {
  if (z <= -TABLE) return 0;
  if (z >= TABLE) return 1;
  const i = ((z + TABLE) * PER_UNIT + 0.5) | 0;
  const node = i / PER_UNIT - TABLE;
  const d = z - node;
  return table[2 * i] + d * table[2 * i + 1] * (1 - 0.5 * d * (node - (d * (node * node - 1)) / 3));
}
/** Both at once, at one look into the table: distribution function and density at z, written to `out`. */
export function normalBoth(z: number, out: { cdf: number; density: number }): void {
  if (z <= -TABLE || z >= TABLE) {
    out.cdf = z < 0 ? 0 : 1;
    out.density = 0;
    return;
  }
  const i = ((z + TABLE) * PER_UNIT + 0.5) | 0;
  const node = i / PER_UNIT - TABLE;
  const d = z - node;
  const at = table[2 * i + 1];
  const q = node * node - 1;
  out.cdf = table[2 * i] + d * at * (1 - 0.5 * d * (node - (d * q) / 3));
  out.density = at * (1 - d * (node - 0.5 * d * q));
}
