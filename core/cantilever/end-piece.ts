import type { EdgePoints } from './sections.ts';
import { pairs } from './starts.ts';

/** Edge points of the end piece; their sides are +-2. */
export type EndPoints = Pick<EdgePoints, 'x' | 'y' | 'side' | 'section'>;

/**
 * Edges of the end piece: from the first section whose width agrees with the commonest ratio to the taper there, up to
 * shortly before the end. Lumps of glue and the diamond are among them; the fit throws them out. null when the piece
 * shows no width of its own.
 */
export function endPiece(
  edges: EdgePoints,
  from: number,
  [a, b]: readonly [number, number],
  sigma: number,
): { edges: EndPoints; factor: number } | null {
  const cap = edges.sections - Math.ceil(3 * sigma + 2);
  const list = pairs(edges)
    .filter(([k]) => k > from && k < cap)
    .map(([section, i, j]) => ({
      section,
      ratio: Math.hypot(edges.x[i] - edges.x[j], edges.y[i] - edges.y[j]) / (a + b * section),
    }));
  const best = list.reduce<typeof list>((most, item) => {
    const these = list.filter((other) => Math.abs(other.ratio - item.ratio) < 0.015);
    return these.length > most.length ? these : most;
  }, []);
  if (best.length < 8) return null;
  const start = Math.min(...best.map((item) => item.section));
  const keep = Array.from(edges.x.keys()).filter((i) => edges.section[i] >= start && edges.section[i] < cap);
  return {
    edges: {
      x: Float64Array.from(keep, (i) => edges.x[i]),
      y: Float64Array.from(keep, (i) => edges.y[i]),
      side: Int8Array.from(keep, (i) => 2 * edges.side[i]),
      section: Int32Array.from(keep, (i) => edges.section[i]),
    },
    factor: best.reduce((sum, item) => sum + item.ratio, 0) / best.length,
  };
}
