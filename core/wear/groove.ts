/** Groove motion and what a contact of finite length loses. Radii in mm, lengths in um where named so. */

/** Recorded band of a 30 cm side: IEC 60098:1987 cl. 8.5 (292.6 mm outer diameter, read 2nd hand) to 120.65 mm inner. */
export const LP_OUTER_RADIUS_MM = 146.3;
export const LP_INNER_RADIUS_MM = 60.325;
export const LP_RPM = 100 / 3;
/** Length of a side when the person does not say otherwise (practice). */
export const DEFAULT_SIDE_MINUTES = 22;

/** Speed of the groove under the stylus, m/s. */
export function grooveSpeed(rpm: number, radiusMm: number): number {
  return (2 * Math.PI * radiusMm * rpm) / 60 / 1000;
}

/**
 * Groove that passes under the stylus in `minutes` while it goes from one radius to the other at an even pace, m:
 * pi (r1 + r2) rpm T.
 */
export function grooveLength(rpm: number, fromRadiusMm: number, toRadiusMm: number, minutes: number): number {
  return (Math.PI * (fromRadiusMm + toRadiusMm) * rpm * minutes) / 1000;
}

/** Groove kilometres of playing time on records of one kind. */
export function grooveKilometres(
  hours: number,
  rpm: number = LP_RPM,
  fromRadiusMm: number = LP_OUTER_RADIUS_MM,
  toRadiusMm: number = LP_INNER_RADIUS_MM,
): number {
  return grooveLength(rpm, fromRadiusMm, toRadiusMm, 60 * hours) / 1000;
}

/** Records of two sides that fit into playing time. */
export function recordsIn(hours: number, minutesPerSide: number = DEFAULT_SIDE_MINUTES): number {
  return (60 * hours) / (2 * minutesPerSide);
}

export function hoursOfSides(sides: number, minutesPerSide: number = DEFAULT_SIDE_MINUTES): number {
  return (sides * minutesPerSide) / 60;
}

/** Wavelength of a tone in the groove, um. */
export function wavelength(frequencyHz: number, rpm: number, radiusMm: number): number {
  return (grooveSpeed(rpm, radiusMm) / frequencyHz) * 1e6;
}

/**
 * Level of a tone of wavelength L read by a contact of length l along the groove, dB (negative): 20 log10 of
 * |sin(pi l/L)/(pi l/L)|. Mathematics of an even average over the contact; as a model of a stylus first order only.
 */
export function contactLoss(contactUm: number, wavelengthUm: number): number {
  const x = (Math.PI * contactUm) / wavelengthUm;
  return x === 0 ? 0 : 20 * Math.log10(Math.abs(Math.sin(x) / x));
}

/** Contact length that loses `lossDb` (positive) at a wavelength, um: below the first zero at l = L. */
export function contactForLoss(lossDb: number, wavelengthUm: number): number {
  if (!(lossDb >= 0))
    throw new RangeError(`contactForLoss: a loss of 0 dB or more was expected, got ${lossDb}`);
  let low = 0;
  let high = wavelengthUm;
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2;
    if (-contactLoss(middle, wavelengthUm) < lossDb) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
