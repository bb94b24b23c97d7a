import { expect } from 'vitest';
import type { BudgetLine, Measured } from '../../shared/index.ts';

/** Coverage factors for 95.45 % by degrees of freedom: JCGM 100:2008, table G.2. */
const TABLE_G2: readonly (readonly [number, number])[] = [
  [5, 2.65],
  [6, 2.52],
  [7, 2.43],
  [8, 2.37],
  [9, 2.32],
  [10, 2.28],
  [12, 2.23],
  [14, 2.2],
  [16, 2.17],
  [18, 2.15],
  [20, 2.13],
  [30, 2.09],
  [40, 2.06],
  [50, 2.05],
  [100, 2.025],
  [Infinity, 2],
];

/**
 * Expects U = k u: u the root of the sum of the lines' squares, k that of the printed table for the effective degrees of
 * freedom (Welch-Satterthwaite, JCGM 100 G.4.1), counted here anew.
 */
export function addsUp({ expanded }: Measured, lines: readonly BudgetLine[]): void {
  const u = Math.hypot(...lines.map((line) => line.standard));
  const below = lines.reduce(
    (sum, { standard, degreesOfFreedom }) =>
      degreesOfFreedom === null ? sum : sum + standard ** 4 / degreesOfFreedom,
    0,
  );
  const freedom = below === 0 ? Infinity : u ** 4 / below;
  const after = TABLE_G2.findIndex(([nu]) => nu >= freedom);
  expect(after, 'too few degrees of freedom for the table').toBeGreaterThan(0);
  // The table is rounded to half a hundredth.
  expect(expanded / u).toBeGreaterThanOrEqual(TABLE_G2[after][1] - 0.006);
  expect(expanded / u).toBeLessThanOrEqual(TABLE_G2[after - 1][1] + 0.006);
  if (freedom === Infinity) expect(expanded / u).toBeCloseTo(2, 9);
}

/** Standard uncertainty of the line with this source. */
export function standardOf(lines: readonly BudgetLine[], source: string): number {
  const line = lines.find((one) => one.source === source);
  if (line === undefined)
    throw new Error(`no line "${source}" among ${lines.map((one) => one.source).join(', ')}`);
  return line.standard;
}
