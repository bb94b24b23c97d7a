import type { WorkingCopy } from './working-copy.ts';

const RINGS_UM = [16, 24, 32, 40, 50, 60, 72, 84, 96, 110, 124, 140];
const SPOKES = 48;

/**
 * How much a picture looks the same when it is turned by half a turn about a place: correlation of opposite places on
 * rings of 16 to 140 um, the average light of every ring left in, 0 where there is none or it is negative.
 */
export function evennessAbout(copy: WorkingCopy, x: number, y: number): number {
  const { image, umPerPx } = copy;
  const at = (u: number, v: number): number | null => {
    const i = Math.round(u);
    const j = Math.round(v);
    if (i < 1 || j < 1 || i >= image.width - 1 || j >= image.height - 1) return null;
    let sum = 0;
    for (let dy = -1; dy <= 1; dy++)
      for (let dx = -1; dx <= 1; dx++) sum += image.data[(j + dy) * image.width + i + dx];
    return sum / 9;
  };
  let [n, s, ss, pp] = [0, 0, 0, 0];
  for (const um of RINGS_UM)
    for (let k = 0; k < SPOKES / 2; k++) {
      const turn = (2 * Math.PI * k) / SPOKES;
      const dx = (um / umPerPx) * Math.cos(turn);
      const dy = (um / umPerPx) * Math.sin(turn);
      const a = at(x + dx, y + dy);
      const b = at(x - dx, y - dy);
      if (a === null || b === null) continue;
      n += 2;
      s += a + b;
      ss += a * a + b * b;
      pp += 2 * a * b;
    }
  const variance = ss - (s * s) / n;
  return n < 40 || variance <= 0 ? 0 : Math.max(0, (pp - (s * s) / n) / variance);
}
