import type { CantileverAnswer, Measured } from '../../shared/index.ts';

export type Bend = Pick<CantileverAnswer['cantilever'], 'bendAngleDeg' | 'bendToward' | 'signedBendDeg'>;

/** Change of the bend from the baseline to a later picture of the same view, degrees; towards the right positive. */
export function bendChange(baseline: Bend, later: Bend): Measured {
  const signed = (b: Bend): number =>
    b.signedBendDeg ?? (b.bendToward === 'left' ? -1 : 1) * b.bendAngleDeg.value;
  return {
    value: signed(later) - signed(baseline),
    expanded: Math.hypot(baseline.bendAngleDeg.expanded, later.bendAngleDeg.expanded),
  };
}
