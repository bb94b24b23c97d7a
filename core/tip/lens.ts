import { columnOf, frameOf, rowOf, type Frame } from '../edge/read-edges.ts';
import { flankReach, type Prepared, type SingleFit } from './single.ts';
import { axesOf, outlineAt, wedgeOf, type Wedge } from './wedge.ts';

/**
 * A lens that bends lines: a place u off the frame's middle is shown at u (1 + k |u|^2 / r^2), r half the frame's diagonal. It
 * turns the edges of a part by other angles in other places of the frame, and no fit of the tip alone can know by how much. In a
 * picture that somebody has cut the middle is another one; what that does is within what is left open of k.
 */

/** Standard uncertainty of k where nothing is known of the lens: a third of a per cent in the corners. From memory, not from a standard. */
export const LENS_SD = 0.003;

/** Of an edge at (x, y) with the outward normal (nx, ny), tip frame, um: how far out k = 1 shows it, um. */
export function outwardByLens(
  { image, umPerPx }: Prepared,
  frame: Frame,
  { x, y, nx, ny }: { readonly x: number; readonly y: number; readonly nx: number; readonly ny: number },
): number {
  const [column, row] = [columnOf(frame, x, y), rowOf(frame, x, y)];
  const u = column - (image.width - 1) / 2;
  const v = row - (image.height - 1) / 2;
  const outwards = u * (columnOf(frame, x + nx, y + ny) - column) + v * (rowOf(frame, x + nx, y + ny) - row);
  return (4 * (u * u + v * v) * outwards * umPerPx ** 2) / (image.width ** 2 + image.height ** 2);
}

/** How far k = 1 turns the tip as its two flanks show it, radians, in the sense of a capture's rotation. */
export function flanksTurnedByLens({ prepared, fitted: { p } }: SingleFit): number {
  const frame = frameOf(prepared, p);
  const wedge = wedgeOf(p);
  const reach = flankReach(prepared.located, prepared.umPerPx);
  const opens = (sign: number): number => {
    const from = startOfFlank(wedge, sign);
    const at = (s: number): number =>
      outwardByLens(prepared, frame, outlineAt(wedge, axesOf(wedge), sign * s));
    return (at(reach) - at(from)) / (reach - from);
  };
  return (opens(-1) - opens(1)) / 2;
}

const startOfFlank = (wedge: Wedge, sign: number): number =>
  wedge.radius * (Math.PI / 2 - (sign < 0 ? wedge.halfLeft : wedge.halfRight));
