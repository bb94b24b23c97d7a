import type { Measured } from '../../shared/index.ts';

/**
 * What a flat means for the groove, to first order and from stated inputs only. Sources: geometry; the loss of a
 * contact of finite length is the mathematics of an average over it, as a stylus model first order only.
 */
/** Wavelength of 10 kHz at the innermost groove, r 60.325 mm, 33 1/3 rpm: 21.06 um (computed). */
export const INNER_WAVELENGTH_UM = 21.06;
/** Radius of a microgroove's bottom, about 6 um (practice). */
const GROOVE_BOTTOM_UM = 6;

/** Loss in dB, 0 or negative; null once the contact is as long as the wave and the formula says nothing. */
export function lossDb(contactUm: number, wavelengthUm = INNER_WAVELENGTH_UM): number | null {
  if (contactUm >= wavelengthUm) return null;
  const a = (Math.PI * contactUm) / wavelengthUm;
  return a === 0 ? 0 : 20 * Math.log10(Math.sin(a) / a);
}

/** Contact length along the groove, assumed: l = w sqrt(r / R) for a tip of side radius r. */
export const assumedContactUm = (widthUm: number, radiusUm: number, sideRadiusUm: number): number =>
  widthUm * Math.sqrt(sideRadiusUm / radiusUm);

/** Flat width at which the tip touches the groove's bottom; null for a tip that is no rounder than the bottom. */
export function bottomingWidthUm(radiusUm: number): number | null {
  const over = radiusUm - GROOVE_BOTTOM_UM;
  if (over <= 0) return null;
  const depth = (over * (Math.SQRT2 - 1)) / Math.SQRT2;
  return 2 * Math.sqrt(2 * radiusUm * depth - depth * depth);
}

export type Meaning = {
  readonly lossDb: number | null;
  readonly contactUm: number;
  readonly bottomUm: number | null;
};

/** Of the wider flat; null without detected wear or without the radii. */
export function meaningOf(
  flats: readonly { readonly width: Measured; readonly detected: boolean }[],
  radiusUm: number,
  sideRadiusUm: number | null,
): Meaning | null {
  const widest = Math.max(0, ...flats.filter((flat) => flat.detected).map((flat) => flat.width.value));
  if (widest === 0) return null;
  const contactUm = assumedContactUm(widest, radiusUm, Math.min(radiusUm, sideRadiusUm ?? radiusUm));
  return { lossDb: lossDb(contactUm), contactUm, bottomUm: bottomingWidthUm(radiusUm) };
}
