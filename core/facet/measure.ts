import {
  answer,
  type BudgetLine,
  type Measured,
  type Outcome,
  refuse,
  type Warning,
} from '../../shared/index.ts';
import type { DecodedPicture, GivenScale } from '../index.ts';
import { combineBudget } from '../uncertainty/index.ts';
import { findSpots, pairStarts, type Spot } from './find.ts';
import { fitPair, type PairFit, type Patch } from './fit.ts';
import { ringResidual } from './ring.ts';
import { workingCopy, type WorkingCopy } from './working-copy.ts';

/**
 * A flat as the bright patch that it is in an end-on picture. `acrossUm` is the extent as seen: the plane is tilted by
 * 45 degrees, so the flat's own width is `widthUm` = across / cos 45. `left` and `right` as in the picture.
 */
export type FacetMeasurement = {
  readonly side: 'left' | 'right';
  readonly alongUm: Measured;
  readonly acrossUm: Measured;
  readonly widthUm: Measured;
  readonly centrePx: { readonly x: number; readonly y: number };
  /** The fitted patch's rim in the picture, px: a closed line (the last point joins the first), clockwise on screen. */
  readonly outlinePx: [number, number][];
  /** Corners of the box about it, two sides along the groove, px: in the order of the outline. */
  readonly cornersPx: [number, number][];
  readonly budget: {
    readonly along: BudgetLine[];
    readonly across: BudgetLine[];
    readonly width: BudgetLine[];
  };
};

export type FacetReading = {
  readonly facets: FacetMeasurement[];
  readonly warnings: Warning[];
  /** Edge width 10-90 % of the patches, um; null without patches. */
  readonly edgeUm: number | null;
  /**
   * Direction of the groove in the picture, degrees anticlockwise from right, 0 to 180: at right angles to the line
   * through both patches. null without patches.
   */
  readonly groove: {
    readonly directionDeg: number;
    readonly expandedDeg: number;
    readonly budget: BudgetLine[];
  } | null;
};

const DEFAULT_SCALE_U = 0.003;
/** Patches are no even ellipses with fuller corners: relative, and at least this much, um. */
const SHAPE_RELATIVE = 0.02;
const SHAPE_UM = 0.15;
/** For light left unexplained, as part of the patches' own (found by rendering with a second renderer), um. */
const MISFIT_UM = 8;
/** Part of a spot at full scale from which its size is not believed. */
const MOST_BURNT = 0.15;
/** Pairs of spots that rank below this part of the best are not tried. */
const LIKELY = 0.6;
/** Unexplained light over the patches' own, from which on no other explanation is looked for. */
const EXPLAINED = 0.03;
/** Pixels coarser than this hold too few of a flat of 5 um. */
const COARSEST_UM = 2;

/** Bright patches of both flats in an end-on picture under ring or side light. */
export function measureFacets(
  picture: DecodedPicture,
  scale: GivenScale,
  check: () => void = () => {},
): Outcome<FacetReading> {
  if (scale.umPerPx > COARSEST_UM)
    return refuse(
      'too-coarse',
      `At ${Number(scale.umPerPx.toPrecision(2))}\u00a0µm per pixel a flat covers two or three pixels. Go closer, to about 1\u00a0µm per pixel or finer.`,
    );
  const copy = workingCopy(picture, scale.umPerPx);
  check();
  const spots = findSpots(copy);
  if (spots.length === 0)
    return answer(none('Nothing in this picture is as bright as a flat that mirrors the lamp.'));
  if (burntOut(spots))
    return refuse(
      'over-exposed',
      'The bright patches are burnt out, so they look larger than they are. Lower the exposure until they are grey.',
    );
  check();
  const fit = bestPair(copy, spots, check);
  if (fit === null)
    return answer(
      none(
        spots.length === 1
          ? 'Only one bright patch was found. Both are needed to tell the direction of the groove: move the lamp until both flats shine. If it never shows a second one, the tip may be worn on one side only.'
          : 'No pair of bright patches was found. An unworn tip shows none, or only a ring of the lamp.',
      ),
    );
  return answer({
    ...sides(fit, copy, scale),
    warnings: warningsOf(fit, scale),
    edgeUm: 2.563 * fit.sigma,
    groove: grooveOf(fit),
  });
}

function grooveOf({ angle, angleStandard }: PairFit): NonNullable<FacetReading['groove']> {
  const budget: BudgetLine[] = [
    {
      source: 'fit',
      standard: (angleStandard * 180) / Math.PI,
      type: 'A',
      degreesOfFreedom: null,
      note: 'places of both patches',
    },
  ];
  return {
    directionDeg: ((((-angle * 180) / Math.PI + 90) % 180) + 180) % 180,
    expandedDeg: combineBudget(budget).expanded,
    budget,
  };
}

const none = (message: string): FacetReading => ({
  facets: [],
  edgeUm: null,
  groove: null,
  warnings: [{ code: 'no-facets', message }],
});

/** The brightest spots count: a burnt speck elsewhere does no harm. */
function burntOut(spots: readonly Spot[]): boolean {
  const most = spots[0].contrast;
  const main = spots.filter((s) => s.contrast > 0.6 * most && s.areaPx > 0.2 * spots[0].areaPx).slice(0, 2);
  const area = main.reduce((sum, s) => sum + s.areaPx, 0);
  return main.reduce((sum, s) => sum + s.burnt * s.areaPx, 0) > MOST_BURNT * area;
}

function bestPair(copy: WorkingCopy, spots: readonly Spot[], check: () => void): PairFit | null {
  const step = spots[0].contrast;
  const starts = pairStarts(spots, copy);
  const top = Math.max(...starts.map((s) => s.score));
  let best: PairFit | null = null;
  for (const start of starts) {
    // A pair that ranks far below another is glints, however well two patches fit it.
    if (start.score < LIKELY * top && !start.inOneSpot) continue;
    for (const between of ['nothing', 'dot', 'ring'] as const) {
      check();
      const fit = fitPair(copy, start, step, between);
      if (fit === null || (start.inOneSpot && relative(fit) > 2 * EXPLAINED)) continue;
      if (!believed(fit, step) || onlyRing(fit)) continue;
      // A ring or a dot has four parameters more; it has to earn them.
      if (best === null || relative(fit) < relative(best) * (between === 'nothing' ? 1 : 0.9)) best = fit;
      if (relative(best) < EXPLAINED) return best;
    }
    if (best !== null && relative(best) < 2 * EXPLAINED) return best;
  }
  return best;
}

/** What the fit leaves unexplained, over the patches' light. */
const relative = (fit: PairFit): number => fit.residual / Math.min(fit.one.light, fit.other.light);

/** Two patches, both clearly brighter than the ground, of like light, neither at the end of what the fit allows. */
function believed(fit: PairFit, step: number): boolean {
  const distance = Math.hypot(fit.other.x - fit.one.x, fit.other.y - fit.one.y);
  const good = (p: Patch): boolean =>
    p.light > Math.max(0.35 * step, 6 * fit.residual) &&
    p.across > 2 &&
    p.across < 26 &&
    p.along > 2 &&
    p.along < 45 &&
    p.acrossStandard < 4 &&
    p.alongStandard < 4;
  const even = Math.min(fit.one.light, fit.other.light) > 0.35 * Math.max(fit.one.light, fit.other.light);
  // Two patches that reach over the middle are one, or a ring.
  const apart = distance > Math.max(8, 0.45 * (fit.one.across + fit.other.across));
  return good(fit.one) && good(fit.other) && even && apart && fit.sigma < 3.6 && relative(fit) < 0.2;
}

/** Two halves of a lamp's ring: the ring alone explains the picture about as well. */
function onlyRing(fit: PairFit): boolean {
  const distance = Math.hypot(fit.other.x - fit.one.x, fit.other.y - fit.one.y);
  return ringResidual(fit.window, distance / 2) < 1.4 * fit.residual;
}

function sides(fit: PairFit, copy: WorkingCopy, scale: GivenScale): { facets: FacetMeasurement[] } {
  const [left, right] = fit.one.x <= fit.other.x ? [fit.one, fit.other] : [fit.other, fit.one];
  return { facets: [facet('left', left, fit, copy, scale), facet('right', right, fit, copy, scale)] };
}

function facet(
  side: 'left' | 'right',
  patch: Patch,
  fit: PairFit,
  copy: WorkingCopy,
  scale: GivenScale,
): FacetMeasurement {
  const along = budgetOf(patch.along, patch.alongStandard, relative(fit), scale);
  const across = budgetOf(patch.across, patch.acrossStandard, relative(fit), scale);
  const measured = (value: number, lines: BudgetLine[]): Measured => ({
    value,
    expanded: combineBudget(lines).expanded,
  });
  const width = across.map((line) => ({ ...line, standard: line.standard * Math.SQRT2 }));
  const original = (um: number, middle: number): number =>
    (middle + um / copy.umPerPx + 0.5) * copy.factor - 0.5;
  return {
    side,
    alongUm: measured(patch.along, along),
    acrossUm: measured(patch.across, across),
    widthUm: measured(patch.across * Math.SQRT2, width),
    centrePx: { x: original(patch.x, fit.window.middle.x), y: original(patch.y, fit.window.middle.y) },
    ...rimOf(patch, fit.angle, (x, y) => [
      original(x, fit.window.middle.x),
      original(y, fit.window.middle.y),
    ]),
    budget: { along, across, width },
  };
}

const RIM_POINTS = 32;

/** Rim |u/a|^n + |v/b|^n = 1 and the box about it, u across the groove, v along it. */
function rimOf(
  patch: Patch,
  angle: number,
  toPicture: (x: number, y: number) => [number, number],
): Pick<FacetMeasurement, 'outlinePx' | 'cornersPx'> {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const [a, b] = [patch.across / 2, patch.along / 2];
  const at = (u: number, v: number): [number, number] =>
    toPicture(patch.x + c * u - s * v, patch.y + s * u + c * v);
  const power = (t: number): number => Math.sign(t) * Math.abs(t) ** (2 / patch.exponent);
  const rim = Array.from({ length: RIM_POINTS }, (_, k): [number, number] => {
    const t = (2 * Math.PI * k) / RIM_POINTS;
    return at(a * power(Math.cos(t)), b * power(Math.sin(t)));
  });
  return { outlinePx: rim, cornersPx: [at(a, b), at(-a, b), at(-a, -b), at(a, -b)] };
}

function budgetOf(value: number, fitStandard: number, misfit: number, scale: GivenScale): BudgetLine[] {
  const relativeU = (scale.standardUmPerPx ?? DEFAULT_SCALE_U * scale.umPerPx) / scale.umPerPx;
  return [
    {
      source: 'fit',
      standard: fitStandard,
      type: 'A',
      degreesOfFreedom: null,
      note: 'noise, texture, blur and the roundness of the corners',
    },
    { source: 'scale', standard: relativeU * value, type: 'B', degreesOfFreedom: null },
    {
      source: 'shape',
      standard: Math.hypot(SHAPE_UM, SHAPE_RELATIVE * value, MISFIT_UM * misfit),
      type: 'B',
      degreesOfFreedom: null,
      note: 'a patch is neither even nor exactly of the assumed shape',
    },
  ];
}

function warningsOf(fit: PairFit, scale: GivenScale): Warning[] {
  const out: Warning[] = [];
  if (fit.ring > 0.3 * Math.min(fit.one.light, fit.other.light))
    out.push({
      code: 'lamp-ring',
      message: 'The lamp mirrors itself as a ring between the patches; it was taken out.',
    });
  if (Math.abs(Math.cos(fit.angle)) < 0.3)
    out.push({
      code: 'sides-unsure',
      message:
        'The patches lie one above the other: left and right are as in the picture, and may be swapped on the stylus.',
    });
  if (scale.standardUmPerPx === null)
    out.push({
      code: 'scale-uncertainty-assumed',
      message: 'The scale came without an uncertainty; 0.3 % was used.',
    });
  return out;
}
