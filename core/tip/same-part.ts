import { refuse, type Outcome } from '../../shared/index.ts';
import { isSoft, looksLikeTip, shankRatio } from './checks.ts';
import type { CleanSingle } from './clean-single.ts';
import { misfitInflation } from './report-pair.ts';
import { isSilhouette } from './silhouette.ts';
import { tipZone } from './suspect.ts';
import { axesOf, support, wedgeOf } from './wedge.ts';

/**
 * Are two captures of one part? Wear takes material at the two walls and leaves the apex between them, the flanks and the
 * shank as they were. So what one part keeps is the flanks' angle, the shank's width, and how far the apex stays behind the
 * point at which its flanks would meet: `reach` = H(h) / sin h - b, which is R (1 / sin h - 1) for a round tip. It is known
 * to about 0.1 um from a silhouette, far better than the radius, which trades with the ellipse. A chip or residue on the apex moves it as well,
 * but then the outline departs from a rounded wedge; another part's does not.
 */
type Reach = { readonly um: number; readonly standard: number };

/** Of the reach: what a fit with an odd ellipse, fluff or a small chip may be wrong by, in the laboratory up to 0.044. */
const LEAST_REACH_SHARE = 0.055;
/** Standard uncertainties that a difference must exceed; sound pairs of the laboratory stay below 2. */
const SURE = 4;
/** What is enough to look again at lit parts, whose later fit gives way to the known shape. */
const DOUBTED = 1;
/** Degrees between the half angles. A part pitched by 10 degrees shows half a degree. */
const MOST_FLANK = 1.2;
/**
 * Logarithm of the shanks' ratio. Sound pairs stay below 0.018, but a stated scale may be wrong by some 5 per cent, which is
 * warned of and no other part.
 */
const MOST_SHANK = 0.08;
/** More of the reach may differ where no shank tells whether the scales do, and a little for the shank's own error. */
const SCALES_APART = { shankSeen: 0.02, unseen: 0.07 };
/** A fit that takes a lump or a bite for shape shows it by an ellipse that tips are not made with. */
const ODD_ELLIPSE = 0.18;
/** Ellipses that differ by more show that the known shape did not suit the later capture. */
const ELLIPSE_APART = 0.055;
const ODD_WALL = (5 * Math.PI) / 180;
/** In radii: deeper than a flat of 0.95 R, the widest that a stylus is let to have. */
const DEEPEST = 0.13;
/**
 * What a plain tip may be off its fit, um. Silhouettes of other parts stay below 0.14, lumps taken for shape left 0.47 and more;
 * lit parts mostly below 0.5, lumps on them 0.78 and more.
 */
const MOST_OPEN = { dark: 0.3, lit: 0.6 };

function reachOf({ fit, offsets }: CleanSingle): Reach {
  const { fitted, problem, prepared } = fit;
  const n = problem.size;
  const at = (p: ArrayLike<number>): number => {
    const wedge = wedgeOf(p);
    const axes = axesOf(wedge);
    const half = (wedge.halfLeft + wedge.halfRight) / 2;
    return support(axes, half) / Math.sin(half) - axes.b;
  };
  const um = at(fitted.p);
  const slopes = [0, 1, 2, 3].map((k) => {
    const moved = Float64Array.from(fitted.p);
    const step = k === 0 ? 0.01 : 1e-4;
    moved[k] += step;
    return (at(moved) - um) / step;
  });
  let variance = 0;
  slopes.forEach((a, i) => slopes.forEach((b, j) => (variance += a * b * fitted.covariance[i * n + j])));
  const silhouette = isSilhouette(prepared, problem.parts[0].model, fitted.p);
  const inflation = misfitInflation({ offsets: [offsets] }, silhouette);
  return { um, standard: variance > 0 ? Math.sqrt(variance) * inflation : Infinity };
}

/**
 * Do the two reaches differ by more than they are uncertain? In units of the shanks where they were seen and are alike: a wrong
 * scale stretches both.
 */
function reachesDiffer(a: CleanSingle, b: CleanSingle, sure: number): boolean {
  const [p, q] = [reachOf(a), reachOf(b)];
  const ratio = shankRatio(a.fit.prepared, b.fit.prepared);
  const seen = ratio !== null && Math.abs(Math.log(ratio)) < MOST_SHANK;
  const apart = Math.abs(p.um - q.um / (seen ? ratio : 1));
  const share = LEAST_REACH_SHARE + (seen ? SCALES_APART.shankSeen : SCALES_APART.unseen);
  return apart > sure * Math.hypot(p.standard, q.standard) && apart > share * Math.min(p.um, q.um);
}

function flanksDiffer(a: CleanSingle, b: CleanSingle): boolean {
  const [p, q] = [a.fit.fitted.p, b.fit.fitted.p];
  return (Math.abs(p[2] + p[3] - q[2] - q[3]) / 2) * (180 / Math.PI) > MOST_FLANK;
}

/**
 * Is this capture a rounded wedge by itself, with nothing on its tip that the fit leaves open? A lump that a fit took for shape
 * shows itself: by an odd ellipse, by flats that lie where no groove has walls, by flats as deep as they may be, by what is left.
 */
function isPlain({ fit, offsets, runs }: CleanSingle): boolean {
  const { p } = fit.fitted;
  const zone = tipZone(p);
  const open = fit.prepared.darkPart ? Math.max(MOST_OPEN.dark, 5 * offsets.noise) : MOST_OPEN.lit;
  return (
    looksLikeTip(fit) &&
    Math.abs(p[1]) < ODD_ELLIPSE &&
    [4, 5].every((k) => Math.abs(p[k]) < ODD_WALL) &&
    [6, 7].every((k) => p[k] < DEEPEST * p[0]) &&
    !runs.some((run) => Math.abs(run.at) < zone) &&
    offsets.s.every((s, i) => Math.abs(s) > zone || !(Math.abs(offsets.delta[i]) > open))
  );
}

/**
 * Refuses a pair that shows two parts. `ownLater` fits the later capture once more without knowing the baseline's shape, which
 * would draw it there; it is asked for only where something speaks against one part. Null: nothing speaks against it, or
 * what does may be a chip or residue.
 */
export function twoParts(
  baseline: CleanSingle,
  later: CleanSingle,
  ownLater: () => CleanSingle,
): Outcome<never> | null {
  const shank = shankRatio(baseline.fit.prepared, later.fit.prepared);
  const shanks = shank !== null && Math.abs(Math.log(shank)) > MOST_SHANK;
  const zone = tipZone(later.fit.fitted.p);
  const asked =
    shanks ||
    flanksDiffer(baseline, later) ||
    reachesDiffer(
      baseline,
      later,
      baseline.fit.prepared.darkPart && later.fit.prepared.darkPart ? SURE : DOUBTED,
    ) ||
    !looksLikeTip(later.fit) ||
    Math.abs(later.fit.fitted.p[1] - baseline.fit.fitted.p[1]) > ELLIPSE_APART ||
    later.runs.some((run) => Math.abs(run.at) < zone);
  // a soft picture widens shanks and rounds tips; it is refused for that
  const sound = ({ fit }: CleanSingle): boolean => looksLikeTip(fit) && !isSoft(fit);
  if (!asked || !sound(baseline) || isSoft(later.fit)) return null;
  const own = ownLater();
  if (!sound(own)) return null;
  // nothing on the tip changes the shank, nor the flanks where it is not taken for a part of them
  const flanks = flanksDiffer(baseline, later) && flanksDiffer(baseline, own) && isPlain(own);
  const tips = isPlain(baseline) && isPlain(own) && reachesDiffer(baseline, own, SURE);
  if (!shanks && !flanks && !tips) return null;
  return refuse(
    'not-the-same-part',
    'Each picture shows a clean tip, but not the same one: flank angle, shank width, or how far the apex reaches beyond the flanks differ by more than wear can change them. Check that both pictures show the same stylus, in the same view, and that both scales are right.',
  );
}
