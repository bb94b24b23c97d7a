import type { FitPoints } from './axis-fit.ts';
import type { EvenRange } from './even-range.ts';
import type { EdgePoints } from './sections.ts';

/** Those points of a list, in their order. */
export const chosen = ({ x, y, side, section }: FitPoints, keep: readonly number[]): FitPoints => ({
  x: Float64Array.from(keep, (i) => x[i]),
  y: Float64Array.from(keep, (i) => y[i]),
  side: Int8Array.from(keep, (i) => side[i]),
  section: Int32Array.from(keep, (i) => section[i]),
});

export const joined = (one: FitPoints, two: FitPoints): FitPoints => ({
  x: Float64Array.from([...one.x, ...two.x]),
  y: Float64Array.from([...one.y, ...two.y]),
  side: Int8Array.from([...one.side, ...two.side]),
  section: Int32Array.from([...one.section, ...two.section]),
});

export const within = (points: FitPoints, { from, to }: Pick<EvenRange, 'from' | 'to'>): FitPoints =>
  chosen(
    points,
    Array.from(points.x.keys()).filter((i) => points.section[i] >= from && points.section[i] <= to),
  );

/** Sections of the range, what is stepped over left out; they count from its first one. */
export function pickSections(edges: EdgePoints, { from, to, skipped }: EvenRange): EdgePoints {
  const keep = Array.from(edges.x.keys()).filter((i) => {
    const k = edges.section[i];
    return k >= from && k <= to && !skipped.some(([a, b]) => k >= a && k <= b);
  });
  return {
    ...edges,
    ...chosen(edges, keep),
    section: Int32Array.from(keep, (i) => edges.section[i] - from),
    standard: Float64Array.from(keep, (i) => edges.standard[i]),
    sections: to - from + 1,
  };
}

/** Sections stepped over within the range. */
export const lengthSkipped = ({ from, to, skipped }: EvenRange): number =>
  skipped.reduce((sum, [a, b]) => sum + Math.max(0, Math.min(b, to) - Math.max(a, from) + 1), 0);

/** Both edges of every so-manieth section: points in turn would be those of one edge for an even stride. */
export const every = (edges: FitPoints, stride: number): FitPoints =>
  chosen(
    edges,
    Array.from(edges.x.keys()).filter((i) => edges.section[i] % stride === 0),
  );
