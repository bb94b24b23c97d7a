import { robustLinear } from '../fit/robust-linear.ts';
import { type AxisModel, axisOffset, type Frame, halfAt, toFrame, traceAxis } from './axis-model.ts';
import type { EdgePoints } from './sections.ts';

type Sided = Pick<EdgePoints, 'x' | 'y' | 'side' | 'section'>;

/** [section, right edge, left edge] of every section that has both; also of an end piece (sides +-2). */
export function pairs(edges: Sided): [number, number, number][] {
  const right = new Map<number, number>();
  for (let i = 0; i < edges.x.length; i++) if (edges.side[i] > 0) right.set(edges.section[i], i);
  const out: [number, number, number][] = [];
  for (let j = 0; j < edges.x.length; j++) {
    const i = edges.side[j] < 0 ? right.get(edges.section[j]) : undefined;
    if (i !== undefined) out.push([edges.section[j], i, j]);
  }
  return out;
}

/** Middle of the edges over some sections, by medians: a lump on one of them does not matter. */
function middle(edges: EdgePoints, from: number, to: number): { x: number; y: number; half: number } | null {
  const pick = (side: number, v: Float64Array): number[] => {
    const out: number[] = [];
    for (let i = 0; i < v.length; i++)
      if (edges.side[i] === side && edges.section[i] >= from && edges.section[i] < to) out.push(v[i]);
    return out.toSorted((a, b) => a - b);
  };
  const mid = (values: number[]): number => values[Math.floor(values.length / 2)];
  const [xr, yr, xl, yl] = [pick(1, edges.x), pick(1, edges.y), pick(-1, edges.x), pick(-1, edges.y)];
  if (xr.length < 3 || xl.length < 3) return null;
  const [ax, ay, bx, by] = [mid(xr), mid(yr), mid(xl), mid(yl)];
  return { x: (ax + bx) / 2, y: (ay + by) / 2, half: Math.hypot(ax - bx, ay - by) / 2 };
}

export function chordFrame(edges: EdgePoints): Frame | null {
  const n = edges.sections;
  const a = middle(edges, 0, Math.ceil(0.08 * n));
  const b = middle(edges, Math.floor(0.92 * n), n);
  if (a === null || b === null) return null;
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  if (length < 40) return null;
  return { x: a.x, y: a.y, cos: (b.x - a.x) / length, sin: (b.y - a.y) / length, length };
}

type Centres = { u: Float64Array; v: Float64Array; half: Float64Array };

/** Middle and half width of every section that has both edges, in the chord's frame. */
function centreLine(edges: Sided, frame: Frame): Centres {
  const rows = pairs(edges).map(([, i, j]): [number, number, number] => [
    ...toFrame(frame, (edges.x[i] + edges.x[j]) / 2, (edges.y[i] + edges.y[j]) / 2),
    Math.hypot(edges.x[i] - edges.x[j], edges.y[i] - edges.y[j]) / 2,
  ]);
  const column = (k: 0 | 1 | 2): Float64Array => Float64Array.from(rows, (row) => row[k]);
  return { u: column(0), v: column(1), half: column(2) };
}

/** A start needs no more places than these. */
const ENOUGH = 150;

function thinned({ u, v, half }: Centres): Centres {
  const stride = Math.ceil(u.length / ENOUGH);
  const few = (list: Float64Array): Float64Array => list.filter((_, i) => i % stride === 0);
  return stride > 1 ? { u: few(u), v: few(v), half: few(half) } : { u, v, half };
}

/**
 * First guesses: for fixed place and length of the bend the middle line is linear in offset, heading and bend, so the
 * whole plane of (centre, span) can be searched without getting stuck. The best three are handed on. An end piece, whose
 * width is its own, takes part with its middle line.
 */
export function starts(edges: EdgePoints, frame: Frame, end: Sided | null = null): AxisModel[] {
  const line = thinned(centreLine(edges, frame));
  const beyond = end && thinned(centreLine(end, frame));
  const u = Float64Array.from([...line.u, ...(beyond?.u ?? [])]);
  const v = Float64Array.from([...line.v, ...(beyond?.v ?? [])]);
  const n = line.u.length;
  if (n < 30) return [];
  const taper = robustLinear(
    Float64Array.from({ length: 2 * n }, (_, k) => (k % 2 ? line.u[k >> 1] / frame.length : 1)),
    line.half,
    2,
  );
  if (taper === null) return [];
  const found: { cost: number; model: AxisModel }[] = [];
  for (const centre of [0.3, 0.4, 0.5, 0.6, 0.7])
    for (const span of [0.1, 0.35, 0.7]) {
      const unit = traceAxis({ ...STRAIGHT, bend: 1e-3, centre, span }, frame.length, 0.6);
      const design = new Float64Array(3 * u.length);
      for (let i = 0; i < u.length; i++)
        design.set([1, u[i], 1000 * axisOffset(unit, frame.length, u[i])], 3 * i);
      const solved = robustLinear(design, v, 3);
      if (solved === null) continue;
      const cost = solved.rest.reduce((sum, r) => sum + Math.min(4, Math.abs(r)), 0);
      const [offset, first, bend] = solved.p;
      const [rootHalf, slope] = taper.p;
      found.push({
        cost,
        model: {
          offset,
          first,
          bend,
          centre,
          span,
          shape: 0.5,
          rootHalf,
          tipHalf: rootHalf + slope,
          endFactor: 1,
          bulge: 0,
        },
      });
    }
  return found
    .toSorted((a, b) => a.cost - b.cost)
    .slice(0, 3)
    .map((f) => f.model);
}

/**
 * First guesses with one edge of the end piece alone, whose distance from the axis is its own: it tells how the axis
 * goes on in direction, not in place. `even`: points in pairs, `base`: the fit without that edge.
 */
export function startsOfOneEdge(even: Sided, edge: Sided, frame: Frame, base: AxisModel): AxisModel[] {
  const line = thinned(centreLine(even, frame));
  const rows = Array.from(edge.x.keys(), (i) => toFrame(frame, edge.x[i], edge.y[i]));
  const sign = Math.sign(edge.side[0]);
  const u = [...line.u, ...rows.map((row) => row[0])];
  const beyond = rows.map(([along, v]) => v - sign * halfAt(base, along / frame.length));
  const v = Float64Array.from([...line.v, ...beyond]);
  const found: { cost: number; model: AxisModel }[] = [];
  for (const centre of [0.3, 0.4, 0.5, 0.6, 0.7, 0.8])
    for (const span of [0.1, 0.35, 0.7]) {
      const unit = traceAxis({ ...STRAIGHT, bend: 1e-3, centre, span }, frame.length, 0.6);
      const design = new Float64Array(4 * u.length);
      for (let i = 0; i < u.length; i++)
        design.set(
          [1, u[i], 1000 * axisOffset(unit, frame.length, u[i]), i < line.u.length ? 0 : sign],
          4 * i,
        );
      const solved = robustLinear(design, v, 4);
      if (solved === null) continue;
      const cost = solved.rest.reduce((sum, r) => sum + Math.min(4, Math.abs(r)), 0);
      const [offset, first, bend, wider] = solved.p;
      const endFactor = 1 + wider / halfAt(base, 1);
      found.push({ cost, model: { ...base, offset, first, bend, centre, span, shape: 0.5, endFactor } });
    }
  return found
    .toSorted((a, b) => a.cost - b.cost)
    .slice(0, 2)
    .map((f) => f.model);
}

const STRAIGHT: AxisModel = {
  offset: 0,
  first: 0,
  bend: 0,
  centre: 0.5,
  span: 0.5,
  shape: 0.5,
  rootHalf: 0,
  tipHalf: 0,
  endFactor: 1,
  bulge: 0,
};
