import type { BudgetLine, Measured } from '../../shared/index.ts';
import type { GivenLine } from '../index.ts';
import { measuredFrom } from '../uncertainty/index.ts';

/** How well a person sets a point, px, and types an angle read elsewhere, degrees. */
const POINT_PX = 1;
const TYPED_DEG = 0.1;

/**
 * Skew of the axis at the root against a line that the person gave: two points in picture pixels, or an angle on screen,
 * anticlockwise from level. Degrees, anticlockwise on screen positive, -90 to 90; the line's sense does not matter.
 * `axisStandardDeg`: standard uncertainty of the axis' direction.
 */
export function skewAgainst(
  axisPx: readonly (readonly [number, number])[],
  given: GivenLine,
  axisStandardDeg: number,
): Measured {
  const third = axisPx[Math.max(1, Math.floor(axisPx.length / 6))];
  const axis = (Math.atan2(-(third[1] - axisPx[0][1]), third[0] - axisPx[0][0]) * 180) / Math.PI;
  const line = lineOf(given);
  const degrees = axis - line.deg;
  return measuredFrom(((((degrees + 90) % 180) + 180) % 180) - 90, skewBudget(given, axisStandardDeg));
}

/** Its uncertainty line by line, degrees. */
export function skewBudget(given: GivenLine, axisStandardDeg: number): BudgetLine[] {
  return [
    {
      source: 'axis',
      standard: axisStandardDeg,
      type: 'A',
      degreesOfFreedom: null,
      note: 'direction at the root, taken to be as uncertain as the bend',
    },
    {
      source: 'line',
      standard: lineOf(given).standardDeg,
      type: 'B',
      degreesOfFreedom: null,
      note: 'angleDeg' in given ? 'an angle read elsewhere' : 'each of its two points set to a pixel',
    },
  ];
}

function lineOf(given: GivenLine): { deg: number; standardDeg: number } {
  if ('angleDeg' in given) return { deg: given.angleDeg, standardDeg: TYPED_DEG };
  const [dx, dy] = [given.to[0] - given.from[0], given.to[1] - given.from[1]];
  const length = Math.hypot(dx, dy);
  if (!(length > 0)) throw new RangeError('skewAgainst: a line needs two different points');
  return {
    deg: (Math.atan2(-dy, dx) * 180) / Math.PI,
    standardDeg: ((Math.SQRT2 * POINT_PX) / length) * (180 / Math.PI),
  };
}
