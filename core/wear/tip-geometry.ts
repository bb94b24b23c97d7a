/**
 * A round tip of radius R in a 90 degree groove, with flats of width w and depth d on it: elementary geometry, all in
 * um. Valid while both ends of a flat lie on the arc (see the definitions of flat width and depth).
 */
const SIN45 = Math.SQRT1_2;

/** Distance between the two contacts of an unworn tip: sqrt(2) R. */
export function contactSpan(radius: number): number {
  return Math.SQRT2 * radius;
}

/** d = R - sqrt(R^2 - w^2/4). */
export function flatDepth(radius: number, width: number): number {
  requireFlat('flatDepth', radius, width);
  // The difference of two like numbers would lose digits for small flats.
  const half = width / 2;
  return (half * half) / (radius + Math.sqrt(radius * radius - half * half));
}

/** w = 2 sqrt(2 R d - d^2); the inverse of {@link flatDepth}. */
export function flatWidth(radius: number, depth: number): number {
  if (!(depth >= 0 && depth <= radius))
    throw new RangeError(`flatWidth: a depth from 0 to ${radius} was expected, got ${depth}`);
  return 2 * Math.sqrt(2 * radius * depth - depth * depth);
}

/** Area of the circle's segment that a flat took away, um^2. */
export function flatArea(radius: number, width: number): number {
  requireFlat('flatArea', radius, width);
  const t = 2 * Math.asin(width / (2 * radius));
  return (radius * radius * (t - Math.sin(t))) / 2;
}

/** Distance between the inner edges of two like flats: 2 R sin(45 deg - asin(w/2R)); 0 where they meet. */
export function innerEdgeDistance(radius: number, width: number): number {
  requireFlat('innerEdgeDistance', radius, width);
  return 2 * radius * Math.sin(Math.max(0, Math.PI / 4 - Math.asin(width / (2 * radius))));
}

/** Flat width at which the tip touches a groove bottom of radius b; 0 when it touches from the start. */
export function bottomContactWidth(radius: number, bottomRadius: number): number {
  const depth = ((radius - bottomRadius) * (Math.SQRT2 - 1)) / Math.SQRT2;
  return depth <= 0 ? 0 : flatWidth(radius, depth);
}

/** Flat width at which the two flats meet: sqrt(2) R. */
export function flatsMeetWidth(radius: number): number {
  return Math.SQRT2 * radius;
}

/** Contact length along the groove, assumed from the width for a tip of side radius r: w sqrt(r/R). Say "assumed". */
export function assumedContactLength(width: number, radius: number, sideRadius: number): number {
  return width * Math.sqrt(sideRadius / radius);
}

/** A flat seen end-on (down the shank) shows this width across the groove. */
export function seenEndOn(width: number): number {
  return SIN45 * width;
}

/** Load on each wall over the tracking force: cos 45 degrees. */
export const WALL_LOAD_SHARE = SIN45;

function requireFlat(name: string, radius: number, width: number): void {
  if (!(width >= 0 && width <= 2 * radius))
    throw new RangeError(`${name}: a width from 0 to ${2 * radius} was expected, got ${width}`);
}
