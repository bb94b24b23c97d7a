import type { ResidueFate } from '../../shared/index.ts';

/** Residue as one picture shows it: polar angle in the tip frame, degrees; length along the outline and height. */
export type SeenResidue = { readonly angleDeg: number; readonly sizeUm: number; readonly depthUm: number };

/** Two places less far apart than this are one: pose and fit move a place by a few degrees. Our own choice. */
const SAME_PLACE_DEG = 15;

/** Residue before against residue after cleaning; null = that picture gave no answer. */
export function residueFate(
  before: readonly SeenResidue[] | null,
  after: readonly SeenResidue[] | null,
): ResidueFate {
  if (before === null || after === null) return 'cannot-tell';
  if (after.length === 0) return before.length === 0 ? 'none' : 'gone';
  const stays = after.some((one) => before.some((other) => apart(one, other) <= SAME_PLACE_DEG));
  return stays ? 'stays' : 'new';
}

function apart(a: SeenResidue, b: SeenResidue): number {
  const turn = Math.abs(a.angleDeg - b.angleDeg) % 360;
  return Math.min(turn, 360 - turn);
}
