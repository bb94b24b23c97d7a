import { answer, refuse, type Outcome, type Warning } from '../../shared/index.ts';
import { SIGMA, WEIGHT } from './capture-model.ts';
import { edgeWidth } from './sharpness.ts';
import type { Prepared, SingleFit } from './single.ts';
import { axesOf, outlineAt, wedgeOf } from './wedge.ts';
import { columnOf, frameOf, rowOf } from '../edge/read-edges.ts';

/** What must hold before a number is believed. `which` names the picture in the sentences. */

/** Smallest tip radius in pixels on which anything can be measured. */
const LEAST_RADIUS_PX = 5;

export function checkPrepared(prepared: Prepared, which: string): Outcome<Warning[]> {
  const warnings: Warning[] = [];
  if (prepared.background.clipped > 0.05)
    warnings.push({
      code: 'clipped',
      message: `${which}: ${Math.round(100 * prepared.background.clipped)} % of the field is burnt out; a lower exposure gives better numbers.`,
    });
  if (!prepared.darkPart && burntShare(prepared) > MOST_BURNT)
    return refuse(
      'over-exposed',
      `${which}: the lit tip is burnt out, so that its edge lies somewhere in the white. Lower the exposure or the light until the tip shows its own shading, and take it again.`,
    );
  if (prepared.located.radiusPx < LEAST_RADIUS_PX)
    return tooSmall(prepared, prepared.located.radiusPx, which);
  return answer(warnings);
}

/**
 * Of a lit tip's inside. A lamp mirrored in it takes a few per cent and leaves the edge alone; rendered tips at a right
 * exposure show none, those at 2.6 times as much and more from 0.48 up.
 */
const MOST_BURNT = 0.35;
const BURNT = 0.985;

/** Share of the pixels at full scale within the tip, up to one and a half radii above the arc's centre. */
function burntShare({ image, located: l }: Prepared): number {
  const [c, s] = [Math.cos(l.rotation), Math.sin(l.rotation)];
  const r = l.radiusPx;
  const step = 0.06;
  let [all, burnt] = [0, 0];
  for (let u = -0.9; u <= 0.9; u += step)
    for (let v = -1.5; v <= 0.9; v += step) {
      if (v > 0 && Math.hypot(u, v) > 0.9) continue;
      const x = Math.round(l.xPx + r * (c * u + s * v));
      const y = Math.round(l.yPx + r * (c * v - s * u));
      if (x < 0 || y < 0 || x >= image.width || y >= image.height) continue;
      all++;
      if (image.data[y * image.width + x] >= BURNT) burnt++;
    }
  return burnt / Math.max(1, all);
}

/** No stylus is sharper, um, not even an elliptic one from the side. */
const LEAST_RADIUS_UM = 4;

/** So few pixels may be a picture that is too coarse, or a thing more pointed than any stylus. */
function tooSmall({ umPerPx }: Prepared, radiusPx: number, which: string): Outcome<never> {
  if (radiusPx * umPerPx >= LEAST_RADIUS_UM) return tooCoarse(radiusPx, which);
  return refuse(
    'tip-not-found',
    `${which}: what was found ends in a point of less than ${LEAST_RADIUS_UM}\u00a0µm radius, sharper than any stylus. Check the scale, and that the picture shows the tip.`,
  );
}

function tooCoarse(radiusPx: number, which: string): Outcome<never> {
  return refuse(
    'too-coarse',
    `${which}: the tip's radius covers only ${radiusPx.toFixed(1)} pixels. Go closer or choose the largest frame size.`,
  );
}

/** Is the edge too wide for the tip's size? */
export function isSoft({ fitted: { p } }: SingleFit): boolean {
  const edge = edgeWidth(p[SIGMA], p[WEIGHT]);
  return edge > Math.min(18, 0.95 * p[0]) || !(edge > 0);
}

export function checkFit(fit: SingleFit, which: string): Outcome<Warning[]> {
  const p = fit.fitted.p;
  const edge = edgeWidth(p[SIGMA], p[WEIGHT]);
  const warnings: Warning[] = [];
  const radiusPx = p[0] / fit.prepared.umPerPx;
  if (radiusPx < LEAST_RADIUS_PX) return tooSmall(fit.prepared, radiusPx, which);
  if (![p, fit.fitted.covariance].every((list) => list.every(Number.isFinite)))
    return refuse(
      'failed',
      `${which}: the outline could not be fitted with any certainty. Take the picture again, sharper and larger.`,
    );
  // another thing is no soft tip: softness is spoken of where a blurred tip explains the picture
  if (!isExplained(fit) || !hasCone(fit)) return noTip(which);
  const soft = isSoft(fit);
  // an edge no wider than the pixels make it is no matter of focus
  if (soft && edge < 5 * fit.prepared.umPerPx) return tooCoarse(radiusPx, which);
  if (soft)
    return refuse(
      'too-blurred',
      `${which}: the edge is ${edge.toFixed(1)}\u00a0µm wide, too soft for a tip of ${p[0].toFixed(0)}\u00a0µm radius. Focus on the tip's outline and take it again.`,
    );
  if (!isOfStylusSize(fit)) return noTip(which);
  if (!arcInFrame(fit))
    return refuse(
      'tip-outside-frame',
      `${which}: the border of the picture cuts the tip. Move it towards the middle and take the picture again.`,
    );
  if (!fit.fitted.converged)
    warnings.push({
      code: 'fit-unsettled',
      message: `${which}: the fit did not settle fully; look at the outline before you trust the numbers.`,
    });
  return answer(warnings);
}

/** Does all of the fitted arc, from flank to flank, lie within the picture? */
function arcInFrame({ prepared, fitted }: SingleFit): boolean {
  const wedge = wedgeOf(fitted.p);
  const axes = axesOf(wedge);
  const frame = frameOf(prepared, fitted.p);
  const { width, height } = prepared.image;
  const [left, right] = [wedge.halfLeft, wedge.halfRight].map((half) => wedge.radius * (Math.PI / 2 - half));
  return Array.from({ length: 25 }, (_, i) => -left + ((left + right) * i) / 24).every((s) => {
    const o = outlineAt(wedge, axes, s);
    const [x, y] = [columnOf(frame, o.x, o.y), rowOf(frame, o.x, o.y)];
    return x > 0 && y > 0 && x < width - 1 && y < height - 1;
  });
}

function noTip(which: string): Outcome<never> {
  return refuse(
    'tip-not-found',
    `${which}: what was found has no outline like a rounded tip between two straight flanks. Check that the picture shows the tip from the front, clean, and alone.`,
  );
}

/**
 * Misfit beyond the noise that a genuine tip may show, as a part of the contrast. Rendered tips with every trouble on
 * stay below 0.03 (dark) and 0.05 (front-lit); pictures of other things start at 0.09.
 */
const MOST_MISFIT = { dark: 0.06, bright: 0.085 };
/** Beyond any stylus: semi-axes that differ by more, or a larger radius (IASA-TC 04: 78 rpm tips up to 102 um). */
const MOST_ELLIPSE = 0.26;
const MOST_RADIUS_UM = 160;
/** Cones are made with half angles of 20 to 27.5 degrees (IEC 98); needles, hairs and pencils are slimmer. */
const LEAST_HALF = (15 * Math.PI) / 180;
const MOST_HALF = (40 * Math.PI) / 180;

/** Does the rounded wedge describe this capture? */
export function looksLikeTip(fit: SingleFit): boolean {
  return isExplained(fit) && hasCone(fit) && isOfStylusSize(fit);
}

/** Is the arc no flatter and no larger than any stylus'? */
const isOfStylusSize = ({ fitted: { p } }: SingleFit): boolean =>
  Math.abs(p[1]) < MOST_ELLIPSE && p[0] < MOST_RADIUS_UM;

/** Do the flanks meet at the angle of a stylus' cone? */
function hasCone({ fitted }: SingleFit): boolean {
  const half = (fitted.p[2] + fitted.p[3]) / 2;
  return half > LEAST_HALF && half < MOST_HALF;
}

/** Is what the fit looked at, masks left out, explained down to what a genuine tip may show beyond the noise? */
export function isExplained(fit: SingleFit): boolean {
  const { prepared } = fit;
  // A busy background is no camera noise: what counts as noise is capped.
  const noise = Math.min(0.03, prepared.background.noise / prepared.contrast);
  const excess = Math.sqrt(Math.max(0, relativeMisfit(fit) ** 2 - noise * noise));
  const most = prepared.darkPart ? MOST_MISFIT.dark : MOST_MISFIT.bright;
  return excess < most;
}

const LEAST_PIXELS = 150;

/** Root-mean-square residual (all pixels of the band, robustly clipped) over the part's contrast. */
export function relativeMisfit(fit: SingleFit): number {
  const r = fit.fitted.residuals[0];
  const mask = fit.problem.parts[0].mask;
  let sum = 0;
  let n = 0;
  for (let k = 0; k < r.length; k++)
    if (mask[k] > 0) {
      sum += r[k] * r[k];
      n++;
    }
  // a fit that had to leave nearly everything out says nothing
  return n < LEAST_PIXELS ? Infinity : Math.sqrt(sum / n) / fit.prepared.contrast;
}

/** Do the two fits disagree more than a good pair does? Not yet a verdict. */
export function outlinesDiffer(baseline: SingleFit, later: SingleFit): boolean {
  const b = baseline.fitted.p;
  const l = later.fitted.p;
  const ratio = Math.max(b[0] / l[0], l[0] / b[0]);
  return ratio > 1.12 || Math.abs(b[2] - l[2]) + Math.abs(b[3] - l[3]) > 0.02;
}

/** Are these two outlines one and the same part? By flank angles, radius and, where seen, the shank. */
export function checkSamePart(baseline: SingleFit, later: SingleFit): Outcome<Warning[]> {
  const b = baseline.fitted.p;
  const l = later.fitted.p;
  const degree = 180 / Math.PI;
  const flank = Math.abs(b[2] + b[3] - (l[2] + l[3])) * degree * 0.5;
  const ratio = Math.max(b[0] / l[0], l[0] / b[0]);
  const shank = shankRatio(baseline.prepared, later.prepared);
  const shankOff = shank === null ? 0 : Math.abs(Math.log(shank));
  if (flank > 1.6 || ratio > 1.45 || shankOff > 0.06)
    return refuse(
      'not-the-same-part',
      'The two outlines differ more than wear can explain (flank angle, radius or shank width). Check that both pictures show the same stylus, in the same view, and that both scales are right.',
    );
  const warnings: Warning[] = [];
  if (flank > 0.8)
    warnings.push({
      code: 'pose',
      message: `The flank angles differ by ${flank.toFixed(1)} degrees between the captures: the part was probably turned or pitched. A flat seen askew looks narrower than it is.`,
    });
  return answer(warnings);
}

/** Later shank width over the baseline's, both in um by the stated scales; null where a shank is not seen. */
export function shankRatio(baseline: Prepared, later: Prepared): number | null {
  const b = baseline.located.shankPx;
  const l = later.located.shankPx;
  if (b === null || l === null) return null;
  return (l * later.umPerPx) / (b * baseline.umPerPx);
}
