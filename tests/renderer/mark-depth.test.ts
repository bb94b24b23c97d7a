import { describe, expect, it } from 'vitest';
import { measuredDepth, type Departures } from '../../renderer/marks/proposals.ts';

/** A chip of 4.3 at 84 degrees and two flats of half a micrometre, as the outlines of a pair show them. */
const departures: Departures = {
  profile: [
    [45, 0.5, 0.3],
    [60, 0, 0.3],
    [84, 4.26, 0.3],
    [100, 0.1, 0.3],
    [135, 0.6, 0.3],
    [170, -1.4, 0.3],
  ],
  recession: { value: 4.26, expanded: 0.34 },
  growth: { value: 1.4, expanded: 0.3 },
};
const chip = { kind: 'chip', angleDeg: 82, sizeUm: 14, depthUm: 4.3 } as const;

describe('the depth of a suspected place', () => {
  it('is the largest recession of the pair where that lies there, and its growth for residue', () => {
    expect(measuredDepth(chip, departures, 18)).toEqual({ value: 4.26, expanded: 0.34 });
    const residue = { kind: 'residue', angleDeg: -188, sizeUm: 5, depthUm: 1.4 } as const;
    expect(measuredDepth(residue, departures, 18)).toEqual({ value: 1.4, expanded: 0.3 });
  });

  it('is not taken from another place, from another depth, or from a picture on its own', () => {
    expect(measuredDepth({ ...chip, angleDeg: 150, sizeUm: 3 }, departures, 18)).toBeNull();
    expect(measuredDepth({ ...chip, depthUm: 1.2 }, departures, 18)).toBeNull();
    expect(measuredDepth(chip, null, 18)).toBeNull();
    expect(measuredDepth({ ...chip, kind: 'bent-cantilever' }, departures, 18)).toBeNull();
  });
});
