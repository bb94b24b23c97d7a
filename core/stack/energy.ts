import type { Plane } from '../live/planes.ts';
import { smooth } from './align.ts';

/**
 * How sharp a plane is, place by place: the mean squared step between neighbouring pixels, on a grid of whole blocks.
 * For one edge the sum over it goes with 1/sigma, so the plane in which the edge is sharpest has the most.
 */
export type Energy = Plane & { readonly block: number };

export const BLOCK_PX = 4;

export function energyOf({ width, height, data }: Plane, block = BLOCK_PX): Energy {
  const across = Math.floor(width / block);
  const down = Math.floor(height / block);
  const out = new Float32Array(across * down);
  for (let y = 0; y < down * block; y++) {
    const row = Math.floor(y / block) * across;
    for (let x = 0; x < across * block; x++) {
      const i = y * width + x;
      const gx = x + 1 < width ? data[i + 1] - data[i] : 0;
      const gy = y + 1 < height ? data[i + width] - data[i] : 0;
      out[row + Math.floor(x / block)] += gx * gx + gy * gy;
    }
  }
  const share = 1 / (block * block);
  for (let i = 0; i < out.length; i++) out[i] *= share;
  return { width: across, height: down, data: out, block };
}

/**
 * The energy of the neighbourhood. It must reach further than the widest blur: else the halo of a blurred edge beats
 * the clean field beside the sharp one, and the merge keeps the halo.
 */
export const spreadEnergy = (energy: Energy, reachPx: number): Energy => ({
  ...energy,
  ...smooth(energy, Math.max(1, reachPx / energy.block)),
});
