import { type AxisModel, type Frame, pointOn, traceAxis } from './axis-model.ts';
import type { Section } from './sections.ts';
import type { Silhouette } from './silhouette.ts';

/** Sections one pixel apart from the block to the tube's end. */
export type Walk = {
  readonly sections: Section[];
  /** Where the first one stands, and the step from one to the next: fractions of the frame's length. */
  readonly firstFraction: number;
  readonly step: number;
};

/** How far behind the chord the tube is looked for, of the chord's length. */
const BACKWARDS = 1.5;
/** How far beyond it. */
const FORWARDS = 1.5;
/** Wider than the tube by this: the block, or something that lies across the tube. */
const WIDER = 1.35;
/** The tube behind the chord is at most as much wider than at its end. */
const MOST_GROWN = 1.1;
/** What lies across it is shorter than this many half widths, and the tube goes on as long behind it. */
const ACROSS = 4;

/**
 * Sections across the fitted axis from the block to the tube's end, half widths read from the mask. Towards the root the
 * walk keeps to the mask's middle, because a first model may not know of a bend there, and steps over what lies across the
 * tube (a fibre, a grain): the block is wide for good.
 */
export function walkAlong(shape: Silhouette, frame: Frame, model: AxisModel): Walk {
  const curve = traceAxis(model, frame.length, BACKWARDS + 0.1);
  const on = (x: number, y: number): boolean => {
    const i = Math.floor((x + 0.5) / shape.factor);
    const j = Math.floor((y + 0.5) / shape.factor);
    return i >= 0 && j >= 0 && i < shape.width && j < shape.height && shape.mask[j * shape.width + i] === 1;
  };
  const widest = 3 * Math.max(model.rootHalf, model.tipHalf);
  const march = (x: number, y: number, dx: number, dy: number): number => {
    let d = 0;
    while (d < widest && on(x + dx * d, y + dy * d)) d += 0.5;
    return d;
  };
  const step = 1 / frame.length;
  // Behind the chord a taper must not grow into the block's width.
  const halfAt = (q: number): number =>
    Math.min(MOST_GROWN * model.rootHalf, model.rootHalf + (model.tipHalf - model.rootHalf) * q);
  const across = (q: number, shift: number): Section => {
    const p = pointOn(curve, frame, q);
    const place = { ...p, x: p.x + shift * p.nx, y: p.y + shift * p.ny };
    return {
      ...place,
      right: march(place.x, place.y, place.nx, place.ny),
      left: march(place.x, place.y, -place.nx, -place.ny),
    };
  };
  const behind: Section[] = [];
  const start = 0.3;
  let shift = 0;
  let [wide, narrow, kept] = [0, 0, 0];
  for (let k = 1; k * step < BACKWARDS + start; k++) {
    const q = start - k * step;
    const section = across(q, shift);
    const half = halfAt(q);
    const width = section.right + section.left;
    behind.push(width > 0 ? section : { ...section, right: half, left: half });
    if (width === 0 || width > 2 * (WIDER * half + 3)) {
      if (wide > 0 && narrow > 0 && narrow < ACROSS * half) break;
      [wide, narrow] = [narrow > 0 ? 1 : wide + 1, 0];
      if (wide > ACROSS * half) break;
      continue;
    }
    narrow++;
    if (wide === 0 || narrow >= ACROSS * half) [wide, kept] = [0, behind.length];
    if (width < 2 * (1.1 * half + 2))
      shift += Math.max(-0.5, Math.min(0.5, 0.1 * (section.right - section.left)));
  }
  kept = Math.min(kept, sameWidth(behind, Math.round(start / step)));
  const sections = behind.slice(0, kept).toReversed();
  const firstFraction = start - kept * step;
  let missing = 0;
  for (let q = start; q < 1 + FORWARDS; q += step) {
    const section = across(q, 0);
    // A dark ring about the diamond is a hole in the mask, not the tube's end.
    missing = section.right + section.left === 0 ? missing + 1 : 0;
    if (q > 0.5 && missing > 1.2 * model.rootHalf) break;
    sections.push(section);
  }
  sections.length -= Math.min(missing, sections.length);
  return { sections, firstFraction, step };
}

/** A little more of the tube than the first look found always belongs to it, of the chord's length. */
const NEAR = 0.12;
/** What lies behind may be wider than the tube in front of the chord's root end by this. */
const AS_WIDE = 1.25;

/**
 * How many sections may be kept, counted from the middle towards the root (`chord`: where the chord begins): a block may
 * be hardly wider than a tube that grows towards it, but it is wider than the tube was.
 */
function sameWidth(behind: readonly Section[], chord: number): number {
  const median = (list: readonly Section[]): number =>
    list.map((s) => s.right + s.left).toSorted((a, b) => a - b)[list.length >> 1] ?? 0;
  const near = Math.round(chord * (1 + NEAR / 0.3));
  const beyond = behind.slice(near);
  return median(beyond) > AS_WIDE * median(behind.slice(0, chord)) ? near : behind.length;
}
