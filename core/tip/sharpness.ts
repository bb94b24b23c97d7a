import { WIDE } from './blurred-edge.ts';
import { normalCdf } from './normal-table.ts';

/** 10-90 % width of a straight edge imaged with PSF = (1 + w) G(sigma) - w G(1.6 sigma), same unit as sigma. */
export function edgeWidth(sigma: number, weight: number): number {
  const at = (t: number): number => (1 + weight) * normalCdf(t) - weight * normalCdf(t / WIDE);
  const solve = (level: number): number => {
    let low = -6;
    let high = 6;
    for (let i = 0; i < 50; i++) {
      const middle = (low + high) / 2;
      if (at(middle) < level) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
  return sigma * (solve(0.9) - solve(0.1));
}
