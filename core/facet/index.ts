import {
  answer,
  type BudgetLine,
  type ExaminationReport,
  type Measured,
  type Outcome,
  refuse,
  REPORT_VERSION,
  type Warning,
} from '../../shared/index.ts';
import { toGrey, type GreyImage } from '../image/grey.ts';
import type { Control, ExamineInput, GivenScale } from '../index.ts';
import { combineBudget } from '../uncertainty/index.ts';
import { ENGINE_VERSION } from '../version.ts';
import { type Bright, findBright } from './find.ts';
import { fitPair, type PairFit, type Patch } from './fit.ts';

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
  readonly budget: { readonly along: BudgetLine[]; readonly across: BudgetLine[] };
};

export type FacetReading = {
  readonly facets: FacetMeasurement[];
  readonly warnings: Warning[];
  /** Edge width 10-90 % of the patches, um; null without patches. */
  readonly edgeUm: number | null;
};

const DEFAULT_SCALE_U = 0.003;
/** Neighbouring pixels share texture and JPEG blocks: the fit's own deviation is too small by about this factor. */
const CORRELATION = 2.5;
/** Patches are not exactly ellipses, nor evenly bright: relative, and at least this much, um. */
const SHAPE_RELATIVE = 0.02;
const SHAPE_UM = 0.15;

/** Bright patches of both flats in an end-on picture under ring or side light. */
export function measureFacets(image: GreyImage, scale: GivenScale): Outcome<FacetReading> {
  const bright = findBright(image, scale.umPerPx);
  if (bright === null)
    return answer(none('Nothing in this picture is as bright as a flat that mirrors the lamp.'));
  if (bright.clipped > 0.15)
    return refuse(
      'over-exposed',
      'The bright patches are burnt out, so they look larger than they are. Lower the exposure until they are grey.',
    );
  const fit = bestPair(image, bright, scale.umPerPx);
  if (fit === null)
    return answer(
      none('No pair of bright patches was found. An unworn tip shows none, or only a ring of the lamp.'),
    );
  return answer({
    facets: [facet('left', fit.left, fit, scale), facet('right', fit.right, fit, scale)],
    warnings: warningsOf(fit, scale),
    edgeUm: 2.563 * fit.sigma,
  });
}

const none = (message: string): FacetReading => ({
  facets: [],
  edgeUm: null,
  warnings: [{ code: 'no-facets', message }],
});

function bestPair(image: GreyImage, bright: Bright, umPerPx: number): PairFit | null {
  let best: PairFit | null = null;
  for (const start of bright.starts) {
    // Explained to a few per cent of its contrast: no need to try the rest.
    if (best !== null && best.residual < 0.04 * (bright.top - bright.ground)) break;
    for (const withRing of [false, true]) {
      const fit = fitPair(image, start, umPerPx, withRing);
      if (fit === null || !believed(fit, bright)) continue;
      // A ring costs two parameters more; it has to earn them.
      if (best === null || fit.residual < best.residual * (withRing ? 0.97 : 1)) best = fit;
    }
  }
  return best;
}

/** Two patches, both clearly brighter than the ground, of like light, neither at the end of what the fit allows. */
function believed(fit: PairFit, bright: Bright): boolean {
  const step = bright.top - bright.ground;
  const good = (p: Patch): boolean =>
    p.light > Math.max(0.35 * step, 6 * fit.residual) &&
    p.across > 2 &&
    p.across < 26 &&
    p.along > 2 &&
    p.along < 45 &&
    // Two patches that reach over the middle are one, or a ring.
    p.reach > 0.45 * p.across;
  const even = Math.min(fit.left.light, fit.right.light) > 0.4 * Math.max(fit.left.light, fit.right.light);
  const like = Math.min(fit.left.reach, fit.right.reach) > 0.5 * Math.max(fit.left.reach, fit.right.reach);
  return good(fit.left) && good(fit.right) && even && like && fit.residual < 0.25 * step;
}

function facet(side: 'left' | 'right', patch: Patch, fit: PairFit, scale: GivenScale): FacetMeasurement {
  const along = budgetOf(patch.along, patch.alongStandard, scale);
  const across = budgetOf(patch.across, patch.acrossStandard, scale);
  const measured = (value: number, lines: BudgetLine[]): Measured => ({
    value,
    expanded: combineBudget(lines).expanded,
  });
  const acrossUm = measured(patch.across, across);
  const reach = ((side === 'right' ? 1 : -1) * patch.reach) / scale.umPerPx;
  return {
    side,
    alongUm: measured(patch.along, along),
    acrossUm,
    widthUm: { value: acrossUm.value * Math.SQRT2, expanded: acrossUm.expanded * Math.SQRT2 },
    centrePx: { x: fit.x + reach * Math.cos(fit.angle), y: fit.y + reach * Math.sin(fit.angle) },
    budget: { along, across },
  };
}

function budgetOf(value: number, fitStandard: number, scale: GivenScale): BudgetLine[] {
  const relative = (scale.standardUmPerPx ?? DEFAULT_SCALE_U * scale.umPerPx) / scale.umPerPx;
  return [
    {
      source: 'fit',
      standard: CORRELATION * fitStandard,
      type: 'A',
      degreesOfFreedom: null,
      note: 'noise and texture',
    },
    { source: 'scale', standard: relative * value, type: 'B', degreesOfFreedom: null },
    {
      source: 'shape',
      standard: Math.hypot(SHAPE_UM, SHAPE_RELATIVE * value),
      type: 'B',
      degreesOfFreedom: null,
      note: 'a patch is not exactly an even ellipse',
    },
  ];
}

function warningsOf(fit: PairFit, scale: GivenScale): Warning[] {
  const out: Warning[] = [];
  if (fit.ring > 0.3 * Math.min(fit.left.light, fit.right.light))
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

/**
 * Two readings of the same part, which did not move, under lamps from different sides: true flats stay where they are,
 * glints wander with the light. `true` when a patch moved by more than 1.5 um beyond its uncertainty, or is gone.
 */
export function movesWithLight(one: FacetReading, two: FacetReading, umPerPx: number): boolean {
  return one.facets.some((a) => {
    const b = two.facets.find((f) => f.side === a.side);
    if (b === undefined) return true;
    const moved = Math.hypot(a.centrePx.x - b.centrePx.x, a.centrePx.y - b.centrePx.y) * umPerPx;
    return moved > 1.5 + Math.hypot(a.acrossUm.expanded, b.acrossUm.expanded) / 2;
  });
}

/** The end-on branch of an examination: facets instead of an outline. */
export async function examineEndOn(input: ExamineInput, control: Control): Promise<ExaminationReport> {
  const started = control.now();
  const common = () => ({
    ...(input.id === undefined ? {} : { id: input.id }),
    reportVersion: REPORT_VERSION as typeof REPORT_VERSION,
    engineVersion: ENGINE_VERSION,
    timingMs: control.now() - started,
  });
  const outcome: Outcome<FacetReading> =
    input.scale === null
      ? refuse(
          'scale-missing',
          'This picture has no scale yet. Give um per pixel, or two points of known distance.',
        )
      : readFacets(input, input.scale, control);
  if (!outcome.ok) return { ok: false, ...common(), reason: outcome.reason };
  const { facets, warnings, edgeUm } = outcome.value;
  return {
    ok: true,
    ...common(),
    unit: 'um',
    sharpness: { edgeUm: edgeUm ?? 0 },
    facets: facets.map(({ side, alongUm, acrossUm }) => ({ side, alongUm, acrossUm })),
    suspicions: [],
    warnings,
  };
}

function readFacets(input: ExamineInput, scale: GivenScale, control: Control): Outcome<FacetReading> {
  control.progress('Looking for bright patches', 0.2);
  control.check();
  const image = toGrey(input.picture);
  control.progress('Fitting the patches', 0.5);
  control.check();
  return measureFacets(image, scale);
}
