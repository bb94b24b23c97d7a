import type { Offsets, Run } from '../edge/offsets.ts';
import { SIGMA, type Band } from './capture-model.ts';
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

export function fitClean(
  prepared: Prepared,
  known?: ArrayLike<number>,
  grip = 1,
  pixels?: number,
): CleanSingle {
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
