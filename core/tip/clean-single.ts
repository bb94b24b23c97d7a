import type { Offsets, Run } from '../edge/offsets.ts';
import { SIGMA, TONE, type Band } from './capture-model.ts';
import { linearised } from './prepare.ts';
import { fitSingle, type Prepared, type SingleFit } from './single.ts';
import { departuresOf, maskOut } from './suspect.ts';

/** A single fit from which local departures (chip, residue, fluff) were kept away, and those departures. */
export type CleanSingle = {
  readonly fit: SingleFit;
  readonly offsets: Offsets;
  readonly runs: readonly Run[];
};

/** One capture alone is no judge of small departures: an unusual but honest shape leaves up to this, um. */
const FLOOR = 1.6;

/** Beyond what tips are made like (12 % and some): then something local is pulling the ellipse. */
const ODD_ELLIPSE = 0.18;

/**
 * A file's values may be light or, as most cameras save it, encoded for display. Both show a sharp black-and-white edge, but
 * blur is a mean of light: an encoded edge is lopsided, its middle lies inwards by up to 0.8 standard deviations of the blur,
 * and a tip reads a tenth too small. A fit that bends its tone curve by this much towards it is repeated on the values as
 * light; the one with the straighter curve counts. (Rendered silhouettes: 0.25 to 0.7 encoded, -0.13 to 0.19 as light.) Silhouettes
 * alone: the shading behind a lit part's edge bends the curve as much.
 */
const BENT = 0.12;

export function fitClean(
  prepared: Prepared,
  known?: ArrayLike<number>,
  grip = 1,
  pixels?: number,
): CleanSingle {
  const own = fitCleanAs(prepared, known, grip, pixels);
  const bent = ({ fit }: CleanSingle): number => -fit.fitted.p[TONE];
  if (!prepared.darkPart || prepared.linearised || !(bent(own) > BENT)) return own;
  const other = fitCleanAs(linearised(prepared), known, grip, pixels);
  return Math.abs(bent(other)) < bent(own) ? other : own;
}

function fitCleanAs(prepared: Prepared, known?: ArrayLike<number>, grip = 1, pixels?: number): CleanSingle {
  let fit = fitSingle(prepared, null, known, grip, pixels);
  if (Math.abs(fit.fitted.p[1]) > ODD_ELLIPSE) {
    const round = fit.fitted.p.slice(0, 6);
    round[1] = 0;
    round[0] = prepared.located.radiusPx * prepared.umPerPx;
    fit = fitSingle(prepared, null, known ?? round, grip, pixels);
  }
  const look = (): Pick<CleanSingle, 'offsets' | 'runs'> =>
    departuresOf(prepared, fit.problem.parts[0].model, fit.fitted.p, FLOOR);
  let seen = look();
  for (let round = 0; round < 2 && seen.runs.length > 0; round++) {
    const mask: ((band: Band) => Float64Array) | null = maskOut(
      seen.runs,
      fit.fitted.p,
      1.5 * fit.fitted.p[SIGMA],
    );
    if (!mask) break;
    fit = fitSingle(prepared, mask, known ?? fit.fitted.p, grip, pixels);
    seen = look();
  }
  return { fit, offsets: seen.offsets, runs: seen.runs };
}
