import type { Capture, Measured, StylusPage } from '../../shared/index.ts';

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

/** The same with what the radius's doubt makes of it. */
function bottoming(radius: Measured): Measured | null {
  const value = bottomingWidthUm(radius.value);
  const above = bottomingWidthUm(radius.value + radius.expanded);
  if (value === null || above === null) return null;
  return { value, expanded: above - value };
}

export type EndOn = { readonly along: Measured; readonly taken: string };

/** The longer facet of the newest end-on picture up to a day; null when none was measured in um. */
export function endOnContact(page: StylusPage, until: string | null): EndOn | null {
  const day = (capture: Capture): string => capture.taken?.wall.slice(0, 10) ?? '';
  const candidates = page.captures.filter(
    (capture) =>
      capture.view === 'end-on' &&
      capture.scale !== null &&
      capture.examination?.ok === true &&
      (capture.examination.facets ?? []).length > 0 &&
      (until === null || day(capture) <= until.slice(0, 10)),
  );
  const newest = candidates.at(-1);
  const facets = newest?.examination?.ok === true ? (newest.examination.facets ?? []) : [];
  if (newest === undefined || facets.length === 0) return null;
  const along = facets.map((facet) => facet.alongUm).reduce((a, b) => (b.value > a.value ? b : a));
  return { along, taken: day(newest) };
}

export type Meaning = {
  /** At the contact's best estimate and at the ends of its interval; null beyond the formula. */
  readonly loss: { readonly at: number; readonly least: number; readonly most: number | null } | null;
  readonly contact: Measured;
  /** The day of the end-on picture that the contact was measured in; null = assumed from the width. */
  readonly measuredOn: string | null;
  /** Flat width at which the bottom is reached, and how much of it is left. */
  readonly bottom: { readonly at: Measured; readonly left: Measured } | null;
};

type Seen = { readonly width: Measured; readonly detected: boolean };

/** Of the wider flat; null without detected wear. */
export function meaningOf(
  flats: readonly Seen[],
  radius: Measured,
  sideRadiusUm: number | null,
  endOn: EndOn | null = null,
): Meaning | null {
  const seen = flats.filter((flat) => flat.detected).map((flat) => flat.width);
  if (seen.length === 0) return null;
  const widest = seen.reduce((a, b) => (b.value > a.value ? b : a));
  const share = assumedContactUm(1, radius.value, Math.min(radius.value, sideRadiusUm ?? radius.value));
  const contact = endOn?.along ?? { value: widest.value * share, expanded: widest.expanded * share };
  const at = lossDb(contact.value);
  const bottom = bottoming(radius);
  return {
    loss:
      at === null
        ? null
        : {
            at,
            least: lossDb(Math.max(0, contact.value - contact.expanded)) ?? 0,
            most: lossDb(contact.value + contact.expanded),
          },
    contact,
    measuredOn: endOn?.taken ?? null,
    bottom: bottom && {
      at: bottom,
      left: {
        value: bottom.value - widest.value,
        expanded: Math.hypot(bottom.expanded, widest.expanded),
      },
    },
  };
}
