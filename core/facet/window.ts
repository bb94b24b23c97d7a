import type { PairStart } from './find.ts';
import type { WorkingCopy } from './working-copy.ts';

/** Pixels about the two patches; places in um from the start's middle, x right, y down. */
export type Window = {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly grey: Float64Array;
  /** Which patch is nearer: 0 one, 1 other. */
  readonly near: Uint8Array;
  readonly middle: { readonly x: number; readonly y: number };
  readonly umPerPx: number;
};

/** Surroundings about each patch that are fitted with it, um. */
const MARGIN_UM = 5;

export function windowAbout(copy: WorkingCopy, start: PairStart, sigmaUm: number): Window {
  const { image, umPerPx } = copy;
  const middle = { x: (start.one.x + start.other.x) / 2, y: (start.one.y + start.other.y) / 2 };
  const reach = [start.one, start.other].map((s) => 1.35 * s.size + (2 * sigmaUm + MARGIN_UM) / umPerPx);
  const lists: [number[], number[], number[], number[]] = [[], [], [], []];
  const most = Math.max(...reach);
  const span = (a: number, b: number, limit: number): [number, number] => [
    Math.max(0, Math.floor(Math.min(a, b) - most)),
    Math.min(limit - 1, Math.ceil(Math.max(a, b) + most)),
  ];
  const [x0, x1] = span(start.one.x, start.other.x, image.width);
  const [y0, y1] = span(start.one.y, start.other.y, image.height);
  for (let y = y0; y <= y1; y++)
    for (let x = x0; x <= x1; x++) {
      const one = Math.hypot(x - start.one.x, y - start.one.y);
      const other = Math.hypot(x - start.other.x, y - start.other.y);
      if (one > reach[0] && other > reach[1]) continue;
      lists[0].push((x - middle.x) * umPerPx);
      lists[1].push((y - middle.y) * umPerPx);
      lists[2].push(image.data[y * image.width + x]);
      lists[3].push(one - reach[0] <= other - reach[1] ? 0 : 1);
    }
  return {
    x: Float64Array.from(lists[0]),
    y: Float64Array.from(lists[1]),
    grey: Float64Array.from(lists[2]),
    near: Uint8Array.from(lists[3]),
    middle,
    umPerPx,
  };
}
