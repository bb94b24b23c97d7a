import { type Fitter, fit, type WearLaw, type WearPoint } from '../../../core/wear/index.ts';

/** Laws that were fitted already: a fit costs up to half a second, and the same points have the same law. */
const KEPT = 200;
const kept = new Map<string, WearLaw | null>();

const keyOf = (points: readonly WearPoint[], unknownStart: boolean): string =>
  JSON.stringify([unknownStart, points]);

export const isFitted = (points: readonly WearPoint[], unknownStart: boolean): boolean =>
  kept.has(keyOf(points, unknownStart));

export function keepLaw(points: readonly WearPoint[], unknownStart: boolean, law: WearLaw | null): void {
  kept.set(keyOf(points, unknownStart), law);
  if (kept.size > KEPT) kept.delete(kept.keys().next().value!);
}

export const fitOnce: Fitter = (points: readonly WearPoint[], unknownStart: boolean) => {
  const known = kept.get(keyOf(points, unknownStart));
  if (known !== undefined) return known;
  const law = fit(points, unknownStart);
  keepLaw(points, unknownStart, law);
  return law;
};
