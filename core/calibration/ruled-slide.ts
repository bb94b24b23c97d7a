import type { BudgetLine, Measured, Warning } from '../../shared/index.ts';
import { leastSquares } from '../fit/linear-algebra.ts';
import { fitLine, type LineFit } from '../fit/line.ts';
import { toGrey, type GreyImage } from '../image/grey.ts';
import type { Control, DecodedPicture } from '../index.ts';
import { combineBudget } from '../uncertainty/index.ts';
import { fitField, type LineField } from './field.ts';
import { findLineCentres, type LineCentres } from './lines.ts';
import { directionAcross } from './orientation.ts';
import { findPeriod, fitSpacing, type Spacing } from './spacing.ts';

export type RuledSlideInput = {
  readonly picture: DecodedPicture;
  /** Distance from one line to the next, um, as stated on the slide. */
  readonly pitchUm: number;
  /** Relative standard uncertainty of the slide's own pitch; a default of 0.02 % is used and said when absent. */
  readonly pitchRelativeStandard?: number;
};

/** One found line as drawn over the picture: its ends in picture pixels, and how far it lies off an even rule, px. */
export type FoundLine = {
  readonly number: number;
  readonly x1: number;
  readonly y1: number;
  readonly x2: number;
  readonly y2: number;
  readonly residualPx: number;
};

export type RuledSlideScale = {
  readonly umPerPx: number;
  readonly standardUmPerPx: number;
  /** Expanded uncertainty, t(95.45 %), um/px. */
  readonly expandedUmPerPx: number;
  readonly budget: BudgetLine[];
  /** Direction across the lines, degrees anticlockwise on screen from right, in (-90, 90]. */
  readonly acrossDeg: number;
  readonly linesUsed: number;
  /** Lines that the rule expects between the first and the last one and that were not found. */
  readonly linesMissing: number;
  /** Scatter of the lines about a straight, even rule, px. */
  readonly scatterPx: number;
  /** Greatest bend of a line over the picture, px. */
  readonly lineBendPx: number;
  /** Change of the local scale from one side of the field of lines to the other or to its middle, per cent. */
  readonly scaleChangePercent: number;
  /** Displacement of the picture's corner by the lens, per cent of its distance from the middle, outwards positive; 0 unseen. */
  readonly cornerPercent: Measured;
  /** In the order of their numbers; the first found line has number 0, missing ones leave a gap. */
  readonly lines: FoundLine[];
  readonly warnings: Warning[];
};

export type RuledSlideOutcome =
  | { readonly ok: true; readonly value: RuledSlideScale }
  | {
      readonly ok: false;
      readonly reason: {
        readonly code: 'lines-not-found' | 'lines-irregular' | 'too-few-lines';
        readonly message: string;
      };
    };

const DEFAULT_PITCH_U = 0.0002;
const LEAST_LINES = 5;
/** Scatter of the lines about their rule, over their distance: rulings show a hundredth of this, other edges more. */
const MOST_SCATTER = 0.02;
/** Part of the change of scale that a lens of another course than r^2 leaves in the middle. */
const BEND_SHAPE = 0.03;
/** Left over at the first and the last line of rendered slides with uneven light, px. */
const LINE_SHAPE_PX = 0.03;

/**
 * Scale from a picture of a ruled slide in any orientation: sub-pixel line centres in strips, then one regression over
 * all of them. The scale is that in the picture's middle: bending by the lens and a slant of the slide are fitted along
 * where they show, and their slopes vanish there.
 */
export function calibrateFromRuledSlide(
  input: RuledSlideInput,
  control: Pick<Control, 'progress'> = { progress: () => undefined },
): RuledSlideOutcome {
  if (!(input.pitchUm > 0))
    throw new RangeError(`pitchUm: a positive distance was expected, got ${input.pitchUm}`);
  const image = toGrey(input.picture);
  control.progress('Finding how the lines run', 0.1);
  const direction = directionAcross(image);
  control.progress('Finding the lines', 0.35);
  const lines = direction === null ? null : findLineCentres(image, direction);
  if (direction === null || lines === null)
    return no(
      'lines-not-found',
      'No ruled lines were found. Focus on the lines and let them fill the picture.',
    );
  control.progress('Counting the lines', 0.6);
  const period = findPeriod(lines);
  const rough = period === null ? null : fitSpacing(lines, period);
  if (rough === null)
    return no(
      'lines-irregular',
      'The lines found are not evenly spaced. Show the ruled part only, without figures or frames.',
    );
  // Once more along the direction that the lines themselves give: the strips then cut them squarely.
  control.progress('Fitting the lines', 0.75);
  const better = direction + Math.atan(rough.tilt) * -1;
  const again = findLineCentres(image, better);
  const spacing = again && fitSpacing(again, rough.period * Math.cos(Math.atan(rough.tilt)));
  return spacing && again
    ? judge(image, again, spacing, better, input)
    : judge(image, lines, rough, direction, input);
}

const no = (
  code: 'lines-not-found' | 'lines-irregular' | 'too-few-lines',
  message: string,
): RuledSlideOutcome => ({ ok: false, reason: { code, message } });

/** Mean place of every line over its strips, tilt taken out. */
function lineMeans(lines: LineCentres, spacing: Spacing): { index: number[]; u: number[]; count: number[] } {
  const sums = new Map<number, { u: number; n: number }>();
  for (let i = 0; i < lines.u.length; i++) {
    if (!spacing.used[i]) continue;
    const entry = sums.get(spacing.index[i]) ?? { u: 0, n: 0 };
    entry.u += lines.u[i] - spacing.tilt * lines.v[i];
    entry.n++;
    sums.set(spacing.index[i], entry);
  }
  const rows = Array.from(sums, ([index, { u, n }]) => ({ index, u: u / n, n })).toSorted(
    (a, b) => a.index - b.index,
  );
  return { index: rows.map((r) => r.index), u: rows.map((r) => r.u), count: rows.map((r) => r.n) };
}

function judge(
  image: GreyImage,
  lines: LineCentres,
  spacing: Spacing,
  direction: number,
  input: RuledSlideInput,
): RuledSlideOutcome {
  const means = lineMeans(lines, spacing);
  const line = means.index.length >= LEAST_LINES ? fitLine(means.index, means.u, means.count) : null;
  if (line === null)
    return no(
      'too-few-lines',
      `Only ${means.index.length} lines were found; at least ${LEAST_LINES} are needed.`,
    );
  const share = spacing.used.reduce((a, b) => a + b, 0) / spacing.used.length;
  if (share < 0.5 || spacing.spread > 0.12 * spacing.period)
    return no(
      'lines-irregular',
      'The lines found are not evenly spaced. Show the ruled part only, without figures or frames.',
    );
  const expected = means.index[means.index.length - 1] - means.index[0] + 1;
  // With more than half of its lines missing a comb is as good as one of half the spacing: nothing to be sure of.
  if (means.index.length < 0.5 * expected)
    return no(
      'lines-irregular',
      'Too many lines of an even ruling are missing in this picture. Clean the slide, or show a part with all its lines.',
    );
  const halfDiagonal = Math.hypot(image.width - 1, image.height - 1) / 2;
  const middle = fitField(lines, spacing, halfDiagonal, LINE_SHAPE_PX);
  if (middle === null || middle.scatter > MOST_SCATTER * Math.abs(middle.period))
    return no(
      'lines-irregular',
      'The lines found are not spaced as evenly as a ruling is. Show the ruled part only, without figures or frames.',
    );
  // Distance across the lines: the strips may still cut them at a slant of `tilt`.
  const perpendicular = Math.abs(middle.period) * Math.cos(Math.atan(middle.tilt));
  const umPerPx = input.pitchUm / perpendicular;
  const field = fieldShape(lines, spacing);
  const budget = slideBudget(umPerPx, middle, field.scaleChange, input.pitchRelativeStandard);
  const sum = combineBudget(budget);
  const across = (-(direction - Math.atan(spacing.tilt)) * 180) / Math.PI;
  return {
    ok: true,
    value: {
      umPerPx,
      standardUmPerPx: sum.standard,
      expandedUmPerPx: sum.expanded,
      budget,
      acrossDeg: 90 - ((((90 - across) % 180) + 180) % 180),
      linesUsed: means.index.length,
      linesMissing: expected - means.index.length,
      scatterPx: middle.scatter,
      lineBendPx: field.bendPx,
      scaleChangePercent: 100 * field.scaleChange,
      cornerPercent: { value: 100 * middle.corner, expanded: 200 * middle.cornerStandard },
      lines: foundLines(image, lines, spacing, direction, { ...means, line }),
      warnings: slideWarnings(image, field, expected, means.index.length, perpendicular, lines.sigma, input),
    },
  };
}

/** Every line from its first to its last strip, back in picture pixels. */
function foundLines(
  image: GreyImage,
  lines: LineCentres,
  spacing: Spacing,
  direction: number,
  means: { readonly index: number[]; readonly u: number[]; readonly line: LineFit },
): FoundLine[] {
  const [c, s] = [Math.cos(direction), Math.sin(direction)];
  const [cx, cy] = [(image.width - 1) / 2, (image.height - 1) / 2];
  // A strip's centre stands for its whole width, so the drawn line reaches half a strip further.
  const half = (Math.abs(s) * cx + Math.abs(c) * cy) / lines.strips;
  const ends = new Map<number, [number, number]>();
  for (let i = 0; i < lines.u.length; i++) {
    if (!spacing.used[i]) continue;
    const [low, high] = ends.get(spacing.index[i]) ?? [Infinity, -Infinity];
    ends.set(spacing.index[i], [Math.min(low, lines.v[i] - half), Math.max(high, lines.v[i] + half)]);
  }
  const falling = means.line.slope < 0;
  const first = falling ? means.index[means.index.length - 1] : means.index[0];
  const found = means.index.map((index, i): FoundLine => {
    const [v1, v2] = ends.get(index)!;
    const at = (v: number): [number, number] => {
      const u = means.u[i] + spacing.tilt * v;
      return [cx + c * u - s * v, cy + s * u + c * v];
    };
    const [[x1, y1], [x2, y2]] = [at(v1), at(v2)];
    const residualPx = means.u[i] - means.line.intercept - means.line.slope * index;
    return { number: falling ? first - index : index - first, x1, y1, x2, y2, residualPx };
  });
  return falling ? found.toReversed() : found;
}

type Field = { readonly bendPx: number; readonly scaleChange: number };

/**
 * What a straight, even rule leaves: bend of the lines (v^2, also growing to the sides), local scale changing across
 * (i^2) and towards the rim (i^3). Only what stands out of its own uncertainty counts.
 */
function fieldShape(lines: LineCentres, spacing: Spacing): Field {
  const keep = Array.from(spacing.used.keys()).filter((i) => spacing.used[i]);
  const low = Math.min(...keep.map((i) => spacing.index[i]));
  const high = Math.max(...keep.map((i) => spacing.index[i]));
  const half = Math.max(1, (high - low) / 2);
  const tall = Math.max(1, ...keep.map((i) => Math.abs(lines.v[i])));
  const columns = 7;
  const rows = keep.flatMap((k) => {
    const a = (spacing.index[k] - (low + high) / 2) / half;
    const b = lines.v[k] / tall;
    return [1, a, b, b * b, a * b * b, a * a, a * a * a];
  });
  const solved = leastSquares(
    rows,
    Float64Array.from(keep, (i) => lines.u[i]),
    keep.length,
    columns,
  );
  if (solved === null || keep.length < 2 * columns) return { bendPx: 0, scaleChange: 0 };
  const variance = solved.sumOfSquares / (keep.length - columns);
  const value = (j: number): number => {
    const deviation = Math.sqrt(solved.inverseNormal[j * columns + j] * variance);
    return Math.abs(solved.solution[j]) > 3 * deviation ? solved.solution[j] : 0;
  };
  const perUnit = Math.abs(spacing.period * half);
  return {
    bendPx: Math.abs(value(3)) + Math.abs(value(4)),
    // Local scale: derivative of u by a, against its mean: 2 c a from a^2, 3 c (a^2 - 1/3) from a^3.
    scaleChange: (2 * Math.abs(value(5)) + 2 * Math.abs(value(6))) / perUnit,
  };
}

function slideBudget(
  umPerPx: number,
  middle: LineField,
  scaleChange: number,
  pitchRelative: number | undefined,
): BudgetLine[] {
  return [
    {
      source: 'line centres',
      standard: (umPerPx * middle.periodStandard) / Math.abs(middle.period),
      type: 'A',
      degreesOfFreedom: middle.degreesOfFreedom,
      note: 'scatter of the lines about an even rule; uneven light may move a line by a few hundredths of a pixel',
    },
    {
      source: 'slide',
      standard: umPerPx * (pitchRelative ?? DEFAULT_PITCH_U),
      type: 'B',
      degreesOfFreedom: null,
      note:
        pitchRelative === undefined
          ? 'accuracy of the slide not stated: 0.02 % assumed'
          : 'accuracy of the slide as stated',
    },
    {
      source: 'distortion',
      standard: umPerPx * (middle.bends ? BEND_SHAPE * scaleChange : scaleChange / Math.sqrt(12)),
      type: 'B',
      degreesOfFreedom: null,
      note: middle.bends
        ? 'lens and slant taken out; their course may differ from the assumed one'
        : 'local scale against the mean over the field',
    },
  ];
}

function slideWarnings(
  image: GreyImage,
  field: Field,
  expected: number,
  found: number,
  period: number,
  sigma: number,
  input: RuledSlideInput,
): Warning[] {
  const out: Warning[] = [];
  if (field.bendPx > 0.5)
    out.push({
      code: 'lines-bend',
      message: `The lines bend by ${field.bendPx.toFixed(1)} pixels over the picture: the lens distorts. The scale is that in the picture’s middle; measure there.`,
    });
  if (field.scaleChange > 0.004)
    out.push({
      code: 'scale-varies',
      message: `The scale changes by ${(100 * field.scaleChange).toFixed(1)} per cent over the picture: the slide is tilted or the lens distorts. The scale is that in the picture’s middle.`,
    });
  if (expected - found > 0.3 * expected)
    out.push({
      code: 'lines-missing',
      message: `${expected - found} of ${expected} lines were not found. Check that the stated pitch is the distance between neighbouring lines.`,
    });
  if (period < 5 * sigma)
    out.push({
      code: 'lines-close',
      message: 'The lines are hardly apart in this picture. A coarser ruling would be surer.',
    });
  if (image.clippedFraction > 0.3)
    out.push({
      code: 'over-exposed',
      message: 'Much of the picture is over-exposed; thin lines may look thinner on one side.',
    });
  if (input.pitchRelativeStandard === undefined)
    out.push({
      code: 'slide-accuracy-assumed',
      message: 'The accuracy of the slide was not stated; 0.02 % was assumed.',
    });
  return out;
}
