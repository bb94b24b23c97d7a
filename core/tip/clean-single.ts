import type { Offsets, Run } from '../edge/offsets.ts';
import { SIGMA, TONE } from './capture-model.ts';
import { looksLikeTip } from './checks.ts';
import { linearised } from './prepare.ts';
import { fitSingle, type Prepared, type SingleFit } from './single.ts';
import { departuresOf, maskOut } from './suspect.ts';

/** A single fit from which local departures (chip, residue, fluff) were kept away, and those departures. */
export type CleanSingle = {
  readonly fit: SingleFit;
  readonly offsets: Offsets;
  readonly runs: readonly Run[];
};

/** How far the foot of a lump may reach beyond where it is seen to stand proud, um. */
export const FOOT = 4;

/** One capture alone is no judge of small departures: an unusual but honest shape leaves up to this, um. */
const FLOOR = 1.6;

/** Beyond what tips are made like (12 % and some): then something local is pulling the ellipse. */
const ODD_ELLIPSE = 0.18;

/**
 * A file's values may be light or, as most cameras save it, encoded for display. Both show a sharp black-and-white edge, but
 * blur is a mean of light: an encoded edge is lopsided, its middle lies inwards by up to 0.8 standard deviations of the blur,
 * and a tip reads a tenth too small. A fit that bends its tone curve towards that is repeated on the values as light; the one
 * with the straighter curve counts. How much bend is asked for depends on how the part's other capture was saved: a stylus is
 * mostly seen by one camera. (Rendered silhouettes bend by 0.12 to 0.7 encoded, by -0.16 to 0.22 as light, and those as light
 * bend further the other way when they are decoded.) Silhouettes alone: the shading behind a lit part's edge bends as much.
 */
export type Saved = 'unknown' | 'light' | 'encoded';
const LEAST_BEND: Readonly<Record<Saved, number>> = { unknown: 0.1, light: 0.25, encoded: 0.05 };

/** What is known of a capture before it is fitted on its own. */
export type Before = {
  /** Shape of another capture of the part, and how many times tighter than loosely it is held. */
  readonly shape?: ArrayLike<number>;
  readonly grip?: number;
  /** At most so many pixels take part. */
  readonly pixels?: number;
  /** How the part's other capture was saved. */
  readonly other?: Saved;
};

export function fitClean(prepared: Prepared, before: Before = {}): CleanSingle {
  const { shape, grip = 1, pixels, other: saved = 'unknown' } = before;
  const own = fitCleanAs(prepared, shape, grip, pixels);
  const bent = ({ fit }: CleanSingle): number => -fit.fitted.p[TONE];
  // what a wedge does not describe bends the curve for reasons of its own
  const asked = prepared.darkPart && !prepared.linearised && looksLikeTip(own.fit);
  if (!asked || !(bent(own) > LEAST_BEND[saved])) return own;
  const other = fitCleanAs(linearised(prepared), shape, grip, pixels);
  return Math.abs(bent(other)) < (saved === 'encoded' ? 1.5 : 1) * bent(own) ? other : own;
}

export const savedAs = ({ fit }: CleanSingle): Saved => (fit.prepared.linearised ? 'encoded' : 'light');

function fitCleanAs(prepared: Prepared, known?: ArrayLike<number>, grip = 1, pixels?: number): CleanSingle {
  let fit = fitSingle(prepared, null, known, grip, pixels);
  if (Math.abs(fit.fitted.p[1]) > ODD_ELLIPSE) {
    const round = fit.fitted.p.slice(0, 6);
    round[1] = 0;
    round[0] = prepared.located.radiusPx * prepared.umPerPx;
    fit = fitSingle(prepared, null, known ?? round, grip, pixels);
  }
  return cleaned(prepared, fit, known, grip, pixels);
}

/** Masks what departs from a fit, and fits again, twice at most. */
function cleaned(
  prepared: Prepared,
  begun: SingleFit,
  known: ArrayLike<number> | undefined,
  grip: number,
  pixels: number | undefined,
): CleanSingle {
  let fit = begun;
  let seen = departing(fit);
  for (let round = 0; round < 2 && seen.runs.length > 0; round++) {
    const mask = maskOut(seen.runs, fit.fitted.p, 1.5 * fit.fitted.p[SIGMA]);
    if (!mask) break;
    fit = fitSingle(prepared, mask, known ?? fit.fitted.p, grip, pixels);
    seen = departing(fit);
  }
  return { fit, offsets: seen.offsets, runs: seen.runs };
}

const departing = ({ prepared, problem, fitted }: SingleFit): Pick<CleanSingle, 'offsets' | 'runs'> =>
  departuresOf(prepared, problem.parts[0].model, fitted.p, FLOOR);

/**
 * A capture of a part whose shape, flats and all, another capture of it has shown. What stands proud of that is residue and is
 * left out with its foot from the start: a fit that is free to takes a lump on the apex for a pointed tip between two wide
 * flats. Null where nothing stands proud.
 */
export function fitProud(
  prepared: Prepared,
  known: ArrayLike<number>,
  grip: number,
  pixels: number,
): CleanSingle | null {
  const held = fitSingle(prepared, null, known, grip, pixels, [known[6], known[7]]);
  const proud = departing(held).runs.filter((run) => run.extreme > 0);
  const mask = maskOut(proud, held.fitted.p, 1.5 * held.fitted.p[SIGMA] + FOOT);
  if (!mask) return null;
  return cleaned(prepared, fitSingle(prepared, mask, known, grip, pixels), known, grip, pixels);
}
