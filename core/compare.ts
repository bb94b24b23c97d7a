import type { CompareFunction, CompareInput, Control, GivenScale } from './index.ts';
import { withPlanes, type Planes } from './image/planes.ts';
import { ENGINE_VERSION } from './version.ts';
import {
  answer,
  refuse,
  REPORT_VERSION,
  type ComparisonAnswer,
  type ComparisonReport,
  type Outcome,
  type Warning,
} from '../shared/index.ts';
import {
  checkFit,
  checkPrepared,
  checkSamePart,
  looksLikeTip,
  outlinesDiffer,
  relativeMisfit,
  shankRatio,
} from './tip/checks.ts';
import { inPercentOf } from './tip/percent.ts';
import { prepareCapture } from './tip/prepare.ts';
import { fitClean, fitProud, savedAs, type CleanSingle } from './tip/clean-single.ts';
import { twoParts } from './tip/same-part.ts';
import type { Prepared } from './tip/single.ts';
import { reportPair } from './tip/report-pair.ts';
import { BY_HAND, locatedByHand, scaleRatioOf, type HandPlacing } from './registration/by-hand.ts';
import { compareProfiles } from './registration/profiles.ts';
import { registerPair } from './registration/register.ts';
import { SIDES } from './tip/walls.ts';
import { flatWidth, wedgeOf } from './tip/wedge.ts';
import { comparisonWithRepeatability } from './uncertainty/index.ts';
import { noOutlineIn } from './views.ts';

/** Relative standard uncertainty of a scale that came without one; said in every budget that uses it. */
export const DEFAULT_SCALE_U = 0.003;

/**
 * Pixels of a capture's own fit: only the start of the joint one, which takes more. A silhouette needs fewer than a lit
 * part, whose own outline must be good enough not to take shading for a chip.
 */
const startPixels = ({ darkPart }: Prepared): number => (darkPart ? 1200 : 2000);

/** A joint radius this far off the cleaner capture's own is not believed. */
const MOST_RADIUS_CHANGE = 0.15;

export type UsedScale = { readonly umPerPx: number; readonly relative: number; readonly note: string };
export function usedScale(given: GivenScale): UsedScale {
  const stated = given.standardUmPerPx !== null;
  return {
    umPerPx: given.umPerPx,
    relative: stated ? given.standardUmPerPx / given.umPerPx : DEFAULT_SCALE_U,
    note: stated
      ? 'as given with the scale'
      : `no uncertainty was given with the scale: ${100 * DEFAULT_SCALE_U} % assumed`,
  };
}

function refused(
  input: CompareInput,
  outcome: Outcome<unknown>,
  started: number,
  control: Control,
): ComparisonReport {
  if (outcome.ok) throw new Error('refused: got an answer');
  return {
    ok: false,
    ...(input.id === undefined ? {} : { id: input.id }),
    reportVersion: REPORT_VERSION,
    engineVersion: ENGINE_VERSION,
    reason: outcome.reason,
    timingMs: control.now() - started,
  };
}

/**
 * Compares two captures of one stylus in the same view: pose and shape of each, joint fit, change. Never returns a
 * number that it does not believe: a refusal carries a code and a sentence. Without scales the answer is in per cent
 * of the baseline's shank width.
 */
export const comparePair: CompareFunction = (input, control) =>
  withPlanes((planes) => comparePictures(input, control, planes));

async function comparePictures(
  input: CompareInput,
  control: Control,
  planes: Planes,
): Promise<ComparisonReport> {
  const started = control.now();
  const no = (o: Outcome<unknown>): ComparisonReport => refused(input, o, started, control);
  const unseen = noOutlineIn(input.view);
  if (unseen !== null) return no(unseen);
  const withoutScale = input.baselineScale === null || input.laterScale === null;
  const warnings: Warning[] = [];
  const scales = [input.baselineScale, input.laterScale].map((s) =>
    usedScale(withoutScale || s === null ? { umPerPx: 1, standardUmPerPx: 0.01 } : s),
  );
  const names = ['Baseline', 'Later picture'];
  const pictures = [input.baseline, input.later];
  const hand = handOf(input);
  if (hand) warnings.push(BY_HAND);
  const prepared: Prepared[] = [];
  for (let i = 0; i < 2; i++) {
    control.progress(
      i === 0 ? 'Finding the tip in the baseline' : 'Finding the tip in the later picture',
      0.05 + 0.15 * i,
    );
    control.check();
    const given = hand && i === 1 ? locatedByHand(prepared[0].located, hand) : undefined;
    let found = prepareCapture(pictures[i], scales[i].umPerPx, given, planes);
    if (found.ok && i === 1 && withoutScale)
      found = { ok: true, value: rescaled(prepared[0], found.value, hand && scaleRatioOf(hand)) };
    if (!found.ok)
      return no({
        ok: false,
        reason: { code: found.reason.code, message: `${names[i]}: ${found.reason.message}` },
      });
    const checked = checkPrepared(found.value, names[i]);
    if (!checked.ok) return no(checked);
    warnings.push(...checked.value);
    prepared.push(found.value);
  }
  const cleans: CleanSingle[] = [];
  for (let i = 0; i < 2; i++) {
    control.progress('Fitting the outline', 0.35 + 0.2 * i);
    control.check();
    // the same part is expected, so the later fit starts from the baseline's shape; it may leave it
    const pixels = startPixels(prepared[i]);
    const [first] = cleans;
    cleans.push(
      first === undefined
        ? fitClean(prepared[i], { pixels })
        : fitClean(prepared[i], { pixels, shape: first.fit.fitted.p, other: savedAs(first) }),
    );
  }
  // one that hardly showed it, beside one that shows it clearly
  if (savedAs(cleans[1]) === 'encoded' && savedAs(cleans[0]) === 'light')
    cleans[0] = fitClean(prepared[0], { pixels: startPixels(prepared[0]), other: 'encoded' });
  // a hand that laid them over each other has said that it is one part
  const apart = hand
    ? null
    : twoParts(cleans[0], cleans[1], () => fitClean(prepared[1], { pixels: startPixels(prepared[1]) }));
  if (apart) return no(apart);
  const settled = reconciled(cleans);
  const singles = settled.map((c) => c.fit);
  const ratioSd = Math.hypot(scales[0].relative, scales[1].relative, 3e-4);
  const wedges = singles.every(looksLikeTip);
  for (let i = 0; i < 2; i++) {
    const checked = checkFit(singles[i], names[i]);
    // a tip that is no wedge still has an outline whose change can be measured
    if (!checked.ok && (wedges || checked.reason.code !== 'tip-not-found')) return no(checked);
    if (checked.ok) warnings.push(...checked.value);
  }
  const same = wedges ? checkSamePart(singles[0], singles[1]) : answer<Warning[]>([]);
  if (!same.ok) return no(same);
  warnings.push(...same.value);
  control.progress('Laying the captures over each other', 0.75);
  control.check();
  const measured = wedges
    ? wedgePair(settled, scales, ratioSd)
    : compareProfiles(settled[0], settled[1], scales, ratioSd);
  if (!measured.ok) return no(measured);
  control.progress('Measuring', 0.92);
  control.check();
  const report = measured.value;
  const answerInUm: ComparisonAnswer = {
    ok: true,
    ...(input.id === undefined ? {} : { id: input.id }),
    reportVersion: REPORT_VERSION,
    engineVersion: ENGINE_VERSION,
    unit: 'um',
    method: wedges ? 'joint-model' : 'recession-profile',
    ...report,
    ...(hand ? { registration: { ...report.registration, byHand: true } } : {}),
    warnings: [...warnings, ...report.warnings],
    timingMs: control.now() - started,
  };
  control.progress('Done', 1);
  const { baselineRepeatability: before = null, laterRepeatability: after = null } = input;
  if (!withoutScale) return comparisonWithRepeatability(answerInUm, before, after);
  const shank = prepared[0].located.shankPx;
  if (shank === null)
    return no(
      refuse(
        'scale-missing',
        'No scale is known and the shank is not in the picture, so there is nothing to measure against. Give a scale, or show more of the shank.',
      ),
    );
  return comparisonWithRepeatability(inPercentOf(answerInUm, shank), before, after);
}

/** Joint fit of two captures that are rounded wedges, and what it says. */
function wedgePair(
  settled: CleanSingle[],
  scales: UsedScale[],
  ratioSd: number,
): ReturnType<typeof reportPair> {
  const registered = registerPair(settled[0], settled[1], ratioSd);
  if (!registered.ok) return registered;
  const alone = settled[departing(settled[0]) <= departing(settled[1]) ? 0 : 1].fit.fitted.p[0];
  if (Math.abs(registered.value.parameters[0][0] / alone - 1) > MOST_RADIUS_CHANGE)
    return refuse(
      'registration-failed',
      'Together the two captures ask for another tip radius than the cleaner one shows alone: something large covers or breaks the tip in one of them. Clean the tip and take the picture again; if it stays, look at each picture by itself.',
    );
  return reportPair(registered.value, scales[0], scales[1]);
}

/**
 * Residue or a chip on one capture's tip can spoil its own fit. Where the outlines differ, each capture in turn leads and
 * the other is fitted again close to its shape; the way that leaves less unexplained counts. So, too, where flats are wider
 * than any stylus is let to have. What is another part will not follow either way.
 */
function reconciled(cleans: CleanSingle[]): CleanSingle[] {
  const differ = outlinesDiffer(cleans[0].fit, cleans[1].fit);
  if (!differ && !cleans.some((clean) => tooWide(clean) > 0)) return cleans;
  const led = [0, 1].map((leader) => {
    const other = cleans[1 - leader].fit.prepared;
    const again = fitClean(other, {
      shape: cleans[leader].fit.fitted.p,
      grip: 4,
      pixels: startPixels(other),
      other: savedAs(cleans[leader]),
    });
    return leader === 0 ? [cleans[0], again] : [again, cleans[1]];
  });
  for (const leader of [0, 1]) {
    const { prepared } = cleans[1 - leader].fit;
    const { p } = cleans[leader].fit.fitted;
    const proud = prepared.darkPart ? fitProud(prepared, p, 4, startPixels(prepared)) : null;
    if (proud) led.push(leader === 0 ? [cleans[0], proud] : [proud, cleans[1]]);
  }
  const open = led.map((pair) => unexplained(pair[0]) + unexplained(pair[1]));
  return led[open.indexOf(Math.min(...open))];
}

/**
 * What a clean fit leaves open, about 1 for a sound one: its misfit in units of camera noise, the outline it departs from,
 * and flats wider than a stylus is ever let to have, behind which something large hides.
 */
function unexplained(clean: CleanSingle): number {
  const { fit } = clean;
  const { prepared } = fit;
  const noise = Math.max(prepared.background.noise / prepared.contrast, 0.004);
  return relativeMisfit(fit) / noise + departing(clean) / 20 + 4 * tooWide(clean);
}

/** In tip radii. */
const WIDEST_FLAT = 0.95;

/** By how many tip radii the flats of a fit are wider than a stylus is ever let to have. */
function tooWide({ fit }: CleanSingle): number {
  const wedge = wedgeOf(fit.fitted.p);
  return SIDES.reduce(
    (sum, side) => sum + Math.max(0, flatWidth(wedge, side) / wedge.radius - WIDEST_FLAT),
    0,
  );
}

/** Length of outline that departs from the fit, um, with a little for the fit's oddness. */
function departing(clean: CleanSingle): number {
  const length = clean.runs.reduce((sum, run) => sum + run.to - run.from, 0);
  return length + 20 * Math.abs(clean.fit.fitted.p[1]);
}

function handOf(input: CompareInput): HandPlacing | null {
  const { baselinePoseHint: baseline, laterPoseHint: later } = input;
  return baseline === undefined || later === undefined ? null : { baseline, later };
}

/**
 * Without scales the later capture gets the scale that a hand gave it, else the one that makes the two shanks (else the
 * two radii) equally wide.
 */
function rescaled(baseline: Prepared, later: Prepared, byHand: number | null): Prepared {
  const ratio = byHand ?? shankRatio(baseline, later) ?? later.located.radiusPx / baseline.located.radiusPx;
  return { ...later, umPerPx: later.umPerPx / ratio };
}
