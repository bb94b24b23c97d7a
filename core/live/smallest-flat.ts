/**
 * The smallest flat that a picture could show, quickly: an estimate of the detection limit that examining the picture
 * would state. A flat of width w on an arc of radius R takes away the area w^3/12R, and what an edge tells about an
 * area is as uncertain as its noise over its contrast and as it is blurred (core/tip/walls). The two constants come
 * from comparing with examined pictures, not from theory: read the result as "about".
 */
export type LimitInput = {
  readonly radiusPx: number;
  /** 10-90 % width of the edge, pixels. */
  readonly edgePx: number;
  /** Standard deviation of one pixel, grey. */
  readonly noise: number;
  /** Step from field to part, grey. */
  readonly contrast: number;
  /** The part is brighter than the field: its edge has rims and glints that no smooth interior follows. */
  readonly lit: boolean;
};

const TEN_TO_NINETY = 2.5631;
/** Detection limit as an area over (noise/contrast) x sigma, pixels; set by examining rendered pictures (see the test). */
const AREA = 26;
/** A blur of this part of the radius makes a flat and the arc it was cut from look half alike. */
const ALIKE = 0.14;
/** As in core/tip/report-pair: what a lit edge is trusted less. */
const LIT = 2.4;

/** Width in pixels of the frame; Infinity where the edge has no contrast. */
export function smallestFlatPx({ radiusPx, edgePx, noise, contrast, lit }: LimitInput): number {
  if (!(contrast > 0) || !(radiusPx > 0)) return Infinity;
  const sigma = Math.max(0.5, edgePx / TEN_TO_NINETY);
  const area =
    (lit ? LIT : 1) * AREA * (noise / contrast) * sigma * Math.hypot(1, sigma / (ALIKE * radiusPx));
  return Math.cbrt(12 * radiusPx * area);
}
