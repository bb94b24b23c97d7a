import { wornDepth, type Offsets } from '../edge/offsets.ts';
import { axesOf, outlineAt, type Wedge } from './wedge.ts';

/** Measured contour in the tip frame, um, from the left flank over the apex to the right one. */
export function contourOf(wedge: Wedge, offsets: Offsets): [number, number][] {
  const axes = axesOf(wedge);
  const out: [number, number][] = [];
  offsets.s.forEach((s, i) => {
    const d = offsets.delta[i];
    if (!Number.isFinite(d)) return;
    const o = outlineAt(wedge, axes, s);
    const t = d - wornDepth(wedge, s);
    out.push([o.x + t * o.nx, o.y + t * o.ny]);
  });
  return out;
}
