import type { Suspicion } from '../../shared/index.ts';
import { edgeOffsets, polarAt, runsBeyond, type Offsets, type Run } from '../edge/offsets.ts';
import type { Band, CaptureModel } from './capture-model.ts';
import { weighAlong } from './pose.ts';
import type { Prepared } from './single.ts';
import { wedgeOf } from './wedge.ts';

/** Local departures of the outline that no flat explains: recession = chip, growth = residue. */
export type Departures = {
  readonly runs: readonly Run[];
  readonly offsets: Offsets;
  readonly threshold: number;
};

export const OFFSET_STEP_UM = 0.5;

/** Half the tip zone's length along the outline: everything within 2.5 R of the tip's centre. */
export function tipZone(p: ArrayLike<number>): number {
  const radius = p[0];
  const half = (p[2] + p[3]) / 2;
  return radius * (Math.PI / 2 - half) + radius * Math.sqrt(2.5 * 2.5 - 1);
}

/** Departures in one capture against its own fit; `floor` um is what a good wedge may still differ by. */
export function departuresOf(
  prepared: Prepared,
  model: CaptureModel,
  p: ArrayLike<number>,
  floor: number,
): Departures {
  const offsets = edgeOffsets(prepared, model, p, OFFSET_STEP_UM);
  const threshold = Math.max(floor, 5 * offsets.noise);
  const runs = runsBeyond(offsets.s, offsets.delta, threshold, 2);
  return { runs, offsets, threshold };
}

/** Weight 0 for pixels near the runs (their own length and `margin` um around), 1 elsewhere. */
export function maskOut(
  runs: readonly Run[],
  p: ArrayLike<number>,
  margin: number,
): ((band: Band) => Float64Array) | null {
  if (runs.length === 0) return null;
  return weighAlong(p, (s) => (runs.some((r) => s > r.from - margin && s < r.to + margin) ? 0 : 1));
}

export function suspicionsOf(runs: readonly Run[], p: ArrayLike<number>): Suspicion[] {
  const wedge = wedgeOf(p);
  const zone = tipZone(p);
  return runs
    .filter((r) => Math.abs(r.at) < zone)
    .map((r) => ({
      kind: r.extreme < 0 ? ('chip' as const) : ('residue' as const),
      angleDeg: polarAt(wedge, r.at),
      sizeUm: r.to - r.from,
      depthUm: Math.abs(r.extreme),
    }));
}
