import type { EdgePoints, Section } from './sections.ts';
import { robustLinear } from '../fit/robust-linear.ts';
import { pairs } from './starts.ts';

/**
 * A step in the width where a tube carries a thinner rod (or a rod a tube): behind this section, by this half, px, which
 * changes by `slope` a section: either piece has its own taper.
 */
export type Joint = { readonly after: number; readonly half: number; readonly slope: number };

/** A smaller step than this share of the width, or px, is left to the taper. */
const LEAST_SHARE = 0.04;
const LEAST_PX = 1.5;
/** A rod thinner than its tube by more than this, of the thicker one's width, is a tube that leaves its block. */
const MOST_SHARE = 0.4;

/** Part of the tube beyond which no joint is looked for. */
const BEYOND = 0.78;
/** A step to a greater width in the tube's front part is its pressed end, which glue widens further. */
const FRONT = 0.5;

/**
 * Looks for one step in the width, sought over the middle part: the end may be flattened, the root may widen. Both
 * pieces share the axis, so a step in the width says nothing about a bend. null when one taper does as well.
 */
export function findJoint(edges: EdgePoints, sigma: number): Joint | null {
  const both = pairs(edges).map(([k, i, j]) => ({
    k,
    w: Math.hypot(edges.x[i] - edges.x[j], edges.y[i] - edges.y[j]),
  }));
  const n = edges.sections;
  const list = both.filter(({ k }) => k > 0.06 * n && k < BEYOND * n);
  if (list.length < 60) return null;
  const blurred = 2 * sigma + 3;
  type Solved = { cost: number; step: number; slope: number; width: number; taper: number };
  const cost = (after: number | null): Solved | null => {
    const used = after === null ? list : list.filter(({ k }) => Math.abs(k - after) > blurred);
    const columns = after === null ? 2 : 4;
    const sides = [
      used.filter(({ k }) => k < (after ?? 0)).length,
      used.filter(({ k }) => k > (after ?? 0)).length,
    ];
    if (after !== null && Math.min(...sides) < 0.12 * n) return null;
    const design = Float64Array.from(
      used.flatMap(({ k }) =>
        after === null ? [1, k / n] : [1, k / n, k > after ? 1 : 0, k > after ? (k - after) / n : 0],
      ),
    );
    const solved = robustLinear(
      design,
      Float64Array.from(used, ({ w }) => w),
      columns,
    );
    if (solved === null) return null;
    const sum = solved.rest.reduce((total, r) => total + Math.min(3, Math.abs(r)), 0) / used.length;
    const [width, taper, step = 0, slope = 0] = solved.p;
    return { cost: sum, step, slope: slope / n, width, taper };
  };
  const plain = cost(null);
  if (plain === null) return null;
  type Found = Solved & { after: number };
  let best: Found | null = null;
  const look = (from: number, to: number, stride: number): void => {
    for (let after = from; after < to; after += stride) {
      const here = cost(after);
      if (here !== null && (best === null || here.cost < best.cost)) best = { after, ...here };
    }
  };
  const coarse = Math.max(1, Math.round(n / 40));
  look(Math.round(0.15 * n), 0.7 * n, coarse);
  const around = (best as Found | null)?.after;
  if (around === undefined) return null;
  look(around - coarse, around + coarse, Math.max(1, Math.round(coarse / 5)));
  const found = best as Found | null;
  if (found === null || found.cost > 0.5 * plain.cost) return null;
  if (Math.abs(found.step) < Math.max(LEAST_PX, LEAST_SHARE * found.width)) return null;
  if (found.step > 0 && found.after > FRONT * n) return null;
  // A piece that grows towards the tip is no rod with a taper of its own, but the end, pressed or with glue on it.
  const grown = (found.taper / n + found.slope) * (BEYOND * n - found.after);
  if (grown > Math.max(LEAST_PX, LEAST_SHARE * found.width)) return null;
  // Either piece has its own taper, so both widths are taken at the joint.
  const before = found.width + (found.taper * found.after) / edges.sections;
  if (Math.abs(found.step) > MOST_SHARE * Math.max(before, before + found.step)) return null;
  return { after: found.after, half: found.step / 2, slope: found.slope / 2 };
}

/** The edges as if the tube had the width of its root piece all along; what lies in the step itself is left out. */
export function evened(
  edges: EdgePoints,
  sections: readonly Section[],
  joint: Joint,
  sigma: number,
): EdgePoints {
  const keep = Array.from(edges.x.keys()).filter(
    (i) => Math.abs(edges.section[i] - joint.after) > 2 * sigma + 2,
  );
  const move = (i: number, component: 'nx' | 'ny'): number => {
    const section = sections[edges.section[i]];
    const half = joint.half + joint.slope * (edges.section[i] - joint.after);
    return edges.section[i] > joint.after ? -half * edges.side[i] * section[component] : 0;
  };
  return {
    ...edges,
    x: Float64Array.from(keep, (i) => edges.x[i] + move(i, 'nx')),
    y: Float64Array.from(keep, (i) => edges.y[i] + move(i, 'ny')),
    side: Int8Array.from(keep, (i) => edges.side[i]),
    section: Int32Array.from(keep, (i) => edges.section[i]),
    standard: Float64Array.from(keep, (i) => edges.standard[i]),
  };
}

/** The edges without the step of a joint, and that joint. */
export function withoutJoint(edges: EdgePoints | null, sections: readonly Section[], sigma: number) {
  const joint = edges && findJoint(edges, sigma);
  return { edges: edges && joint ? evened(edges, sections, joint, sigma) : edges, joint };
}
