import { answer, type Outcome, refuse } from '../../shared/index.ts';
import { imageShift } from '../calibration/image-shift.ts';
import type { DecodedPicture, GivenScale } from '../index.ts';
import type { FacetReading } from './measure.ts';
import { workingCopy } from './working-copy.ts';

/** A patch may seem to move by this much between two pictures of a part that stood still, um. */
const STILL_UM = 1.5;

/**
 * Two readings of the same part under lamps from different sides: true flats stay where they are on the part, glints
 * wander with the light. `true` when a patch of the first moved by more than 1.5 um beyond its uncertainty, or is gone.
 * `shiftPx`: how the part itself moved from the first picture to the second.
 */
export function movesWithLight(
  one: FacetReading,
  two: FacetReading,
  umPerPx: number,
  shiftPx: { readonly dx: number; readonly dy: number } = { dx: 0, dy: 0 },
): boolean {
  return one.facets.some((a) => {
    const near = two.facets.map((b) => {
      const dx = b.centrePx.x - a.centrePx.x - shiftPx.dx;
      const dy = b.centrePx.y - a.centrePx.y - shiftPx.dy;
      return Math.hypot(dx, dy) * umPerPx - Math.hypot(a.acrossUm.expanded, b.acrossUm.expanded) / 2;
    });
    return !near.some((moved) => moved <= STILL_UM);
  });
}

/** How the part moved between two pictures of equal size, px; no move where the pictures do not tell. */
export function partShift(a: DecodedPicture, b: DecodedPicture, umPerPx: number): { dx: number; dy: number } {
  const still = { dx: 0, dy: 0 };
  if (a.width !== b.width || a.height !== b.height) return still;
  const [one, two] = [workingCopy(a, umPerPx), workingCopy(b, umPerPx)];
  const found = imageShift(one.image, two.image);
  if (found === null || !(found.standard < 0.5)) return still;
  return { dx: found.dx * one.factor, dy: found.dy * one.factor };
}

/** The first reading, if its patches stay where they are under the other lamp; else a refusal that says so. */
export function checkedByLight(
  one: FacetReading,
  two: Outcome<FacetReading>,
  pictures: readonly [DecodedPicture, DecodedPicture],
  scale: GivenScale,
): Outcome<FacetReading> {
  if (!two.ok) return refuse(two.reason.code, `The picture under the other light: ${two.reason.message}`);
  if (one.facets.length === 0) return answer(one);
  if (movesWithLight(one, two.value, scale.umPerPx, partShift(...pictures, scale.umPerPx)))
    return refuse(
      'not-the-same-part',
      'The bright patches move with the lamp, not with the part: they are reflections of the lamp and no flats. An unworn or polished tip looks like this. Turn the lamp until patches show that stay.',
    );
  return answer({
    ...one,
    warnings: [
      ...one.warnings,
      { code: 'light-checked', message: 'The patches stayed in place under a lamp from another side.' },
    ],
  });
}
