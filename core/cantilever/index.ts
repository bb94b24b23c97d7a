import {
  type CantileverReport,
  type Outcome,
  REPORT_VERSION,
  type Reason,
  refuse,
  answer,
  type Suspicion,
  type Warning,
} from '../../shared/index.ts';
import { toGrey, type GreyImage } from '../image/grey.ts';
import type { CantileverFunction, CantileverInput, GivenScale } from '../index.ts';
import { DECISION_FACTOR, measuredFrom } from '../uncertainty/index.ts';
import { ENGINE_VERSION } from '../version.ts';
import { traceAxis } from './axis-model.ts';
import { axisLine, bendBudget, bendOf, straightnessBudget } from './budget.ts';
import { directionAt, lookForDiamond } from './diamond.ts';
import { type Followed, followAxis } from './follow.ts';
import { roughAxis } from './path.ts';
import { skewAgainst, skewBudget } from './skew.ts';
import { findSilhouette, type Silhouette } from './silhouette.ts';
import { noCantileverIn } from '../views.ts';

/** Below this a cantilever counts as straight in ordinary production; a smaller bend is measured, not suspected. */
const SUSPECT_BEND_DEG = 1;
/** A straight piece shorter than this is a diamond's shank, seen by mistake as a cantilever, um. */
const LEAST_LENGTH_UM = 1000;
/** Standard uncertainty of a scale that came without one, relative: the same as everywhere in the engine. */
const DEFAULT_SCALE_U = 0.003;

/** `plain`: the first outline, where another one told the axis; it may lack the diamond that this one shows. */
type Found = {
  readonly image: GreyImage;
  readonly shape: Silhouette;
  readonly plain: Silhouette;
  readonly axis: Followed;
};

/**
 * Bend angle and straightness of a cantilever, seen from the side, from below or from above, backlit or ring-lit, at
 * any rotation. `bendToward` is seen when going from root to tip in the picture: 'left' is anticlockwise on screen.
 * Without a scale the angle is as good as with one; lengths then count in per cent of the visible length (warning).
 */
export const measureCantilever: CantileverFunction = async (input, control): Promise<CantileverReport> => {
  const started = control.now();
  const finish = () => ({
    ...(input.id === undefined ? {} : { id: input.id }),
    reportVersion: REPORT_VERSION as typeof REPORT_VERSION,
    engineVersion: ENGINE_VERSION,
    timingMs: control.now() - started,
  });
  control.progress('Finding the cantilever', 0.1);
  control.check();
  const found = findCantilever(input, (fraction) => {
    control.progress('Following its edges', fraction);
    control.check();
  });
  if (!found.ok) return { ok: false, ...finish(), reason: found.reason };
  control.progress('Measuring', 0.9);
  control.check();
  return { ok: true, ...finish(), ...report(found.value, input) };
};

function findCantilever(input: CantileverInput, tick: (fraction: number) => void): Outcome<Found> {
  const unseen = noCantileverIn(input.view);
  if (unseen !== null) return unseen;
  const image = toGrey(input.picture);
  const outline = findSilhouette(image);
  const plain = followed(image, outline, input.scale, tick);
  const doubt = plain.ok ? unsure(plain.value.axis) : plain.reason;
  if (doubt === null || !AGAIN.has(doubt.code)) return plain;
  // Uneven light on the field may have been taken for a part, or the tube's dark side for the field.
  for (const threshold of ['strict', 'lenient'] as const) {
    const other = followed(image, findSilhouette(image, threshold), input.scale, tick);
    if (!other.ok || unsure(other.value.axis) !== null) continue;
    if (!plain.ok || agree(plain.value.axis, other.value.axis))
      return answer({ ...other.value, plain: outline ?? other.value.shape });
  }
  return { ok: false, reason: doubt };
}

/** A second outline may tell better what the first one told, but nothing else. */
function agree(one: Followed, other: Followed): boolean {
  const bend = ({ fit, root, tip }: Followed): number => bendOf(fit.model, root, tip);
  return Math.abs(bend(one) - bend(other)) <= bendBudget(one).combined.expanded;
}

/** Refusals that may come from a badly chosen outline alone. */
const AGAIN: ReadonlySet<string> = new Set(['cantilever-not-found', 'tip-outside-frame']);

function followed(
  image: GreyImage,
  shape: Silhouette | null,
  scale: GivenScale | null,
  tick: (fraction: number) => void,
): Outcome<Found> {
  if (shape === null || shape.rimShare < 0.5) return notFound();
  tick(0.3);
  const rough = roughAxis(shape);
  if (rough === null) return notFound();
  if (rough.bothEndsOutside)
    return refuse(
      'tip-outside-frame',
      'The cantilever leaves the picture at both ends. Move back until its free end can be seen.',
    );
  tick(0.5);
  const axis = followAxis(image, shape, rough);
  if (axis === null) return notFound();
  const reason = doubts(axis, scale);
  return reason ? { ok: false, reason } : answer({ image, shape, plain: shape, axis });
}

const notFound = (): { readonly ok: false; readonly reason: Reason } =>
  refuse(
    'cantilever-not-found',
    'No cantilever with two clear edges was found. It needs to stand before an even background, with its root on one side of the picture and its tip inside.',
  );

/** Reasons not to believe what was followed; null when there is none. */
function doubts(axis: Followed, scale: GivenScale | null): Reason | null {
  const { model, spread } = axis.fit;
  const width = model.rootHalf + model.tipHalf;
  const length = (axis.tip - axis.root) * axis.frame.length;
  if (width < 8)
    return refuse('too-coarse', `The cantilever is only ${Math.round(width)} pixels wide. Go closer.`).reason;
  if (axis.sigma > 0.2 * width || axis.sigma > 12)
    return refuse(
      'too-blurred',
      'The edges of the cantilever are too soft to be followed. Focus on its edges.',
    ).reason;
  const even = (axis.even - axis.root) * axis.frame.length;
  const sound =
    axis.usedShare > 0.7 &&
    spread < Math.max(0.9, 0.015 * width) &&
    length > 2 * width &&
    (scale === null || length * scale.umPerPx > LEAST_LENGTH_UM) &&
    even > 1.2 * width &&
    model.tipHalf > 0.2 * model.rootHalf &&
    model.rootHalf > 0.5 * model.tipHalf;
  return sound ? null : notFound().reason;
}

/** An angle that may be wrong by more cannot tell a bend that would be suspected from none, degrees (expanded). */
const MOST_DOUBT_DEG = (2 * SUSPECT_BEND_DEG) / DECISION_FACTOR;
/** Part of the visible tube, at its end, that may go unused: pressed and glued ends take up to a third of a short one. */
const MOST_UNSEEN = 0.35;
/** Sections of the end piece from which on it counts as used. */
const LEAST_END = 8;

function unsure(axis: Followed): Reason | null {
  const { expanded } = bendBudget(axis).combined;
  // What bends where nothing could be used is seen by nobody, and no scatter tells of it.
  const unseen = axis.endSections < LEAST_END ? (axis.tip - axis.even) / (axis.tip - axis.root) : 0;
  const tooWide = expanded > MOST_DOUBT_DEG || undecided(axis);
  if (!tooWide && unseen <= MOST_UNSEEN) return null;
  const told = tooWide ? expanded : MOST_DOUBT_DEG;
  return refuse(
    'cantilever-not-found',
    `The edges do not tell the bend to better than ${told.toFixed(1)} degrees, which leaves open whether it is bent: too little of the tube has two clean, even edges. Show more of it, light it evenly or from behind, and brush off what sticks to it.`,
  ).reason;
}

/** An angle that neither proves a bend nor rules out one that would be suspected tells nothing that anyone could act on. */
function undecided(axis: Followed): boolean {
  const { standard, expanded } = bendBudget(axis).combined;
  const bend = Math.abs(bendOf(axis.fit.model, axis.root, axis.tip));
  return bend <= DECISION_FACTOR * standard && bend + expanded >= SUSPECT_BEND_DEG;
}

function report(found: Found, input: CantileverInput) {
  const { image, shape, axis } = found;
  const bend = bendOf(axis.fit.model, axis.root, axis.tip);
  const { lines, combined } = bendBudget(axis);
  const line = axisLine(axis);
  const unit = lengthUnit(input.scale, line.lengthPx);
  const bent = Math.abs(bend) > DECISION_FACTOR * combined.standard;
  const straightness = line.straightnessPx * unit.perPx;
  const ofStraightness = straightnessBudget(axis, line, combined.standard, unit);
  return {
    unit: unit.known ? ('um' as const) : ('percent-of-length' as const),
    cantilever: {
      bendAngleDeg: { value: Math.abs(bend), expanded: combined.expanded },
      bendToward: bent ? (bend > 0 ? 'right' : 'left') : 'none',
      signedBendDeg: bend,
      straightnessUm: measuredFrom(straightness, ofStraightness),
      lengthUm: line.lengthPx * unit.perPx,
      ...(input.line === undefined
        ? {}
        : { skewDeg: skewAgainst(line.points, input.line, combined.standard) }),
      budgets: {
        bendAngleDeg: lines,
        straightnessUm: ofStraightness,
        ...(input.line === undefined ? {} : { skewDeg: skewBudget(input.line, combined.standard) }),
      },
    },
    suspicions: suspicionsOf(found, input, { bend, bent, straightness, perPx: unit.perPx }),
    warnings: warningsOf(image, shape, input, unit),
    drawing: { axisPx: line.points },
  };
}

type LengthUnit = { readonly perPx: number; readonly relative: number; readonly known: boolean };

function lengthUnit(scale: GivenScale | null, lengthPx: number): LengthUnit {
  if (scale === null) return { perPx: 100 / lengthPx, relative: 0, known: false };
  const u = scale.standardUmPerPx ?? DEFAULT_SCALE_U * scale.umPerPx;
  return { perPx: scale.umPerPx, relative: u / scale.umPerPx, known: true };
}

function suspicionsOf(
  { image, shape, plain, axis }: Found,
  input: CantileverInput,
  seen: { bend: number; bent: boolean; straightness: number; perPx: number },
): Suspicion[] {
  const out: Suspicion[] = [];
  const curve = traceAxis(axis.fit.model, axis.frame.length, 0.6);
  const middle = Math.max(axis.root, Math.min(axis.tip, axis.fit.model.centre));
  if (seen.bent && Math.abs(seen.bend) >= SUSPECT_BEND_DEG)
    out.push({
      kind: 'bent-cantilever',
      angleDeg: directionAt(curve, axis.frame, middle),
      sizeUm: seen.straightness,
      depthUm: 0,
    });
  // From below and above the diamond hides behind the tube or stands towards the lens.
  if (input.view !== 'side') return out;
  const own = lookForDiamond(image, shape, axis, curve);
  const other = plain === shape || own.state === 'present' ? own : lookForDiamond(image, plain, axis, curve);
  const diamond = other.state === 'present' ? other : own;
  if (diamond.state !== 'present')
    out.push({
      kind: `${diamond.state}-diamond`,
      angleDeg: diamond.directionDeg,
      sizeUm: diamond.heightPx * seen.perPx,
      depthUm: 0,
    });
  return out;
}

function warningsOf(
  image: GreyImage,
  shape: Silhouette,
  input: CantileverInput,
  unit: LengthUnit,
): Warning[] {
  const out: Warning[] = [];
  if (!unit.known)
    out.push({
      code: 'scale-missing',
      message:
        'No scale was given: straightness and length count in per cent of the visible length, not in µm.',
    });
  if (input.scale && input.scale.standardUmPerPx === null)
    out.push({
      code: 'scale-uncertainty-assumed',
      message: 'The scale came without an uncertainty; 0.3 % was used.',
    });
  if (image.clippedFraction > 0.2 || shape.fieldClipped > 0.2)
    out.push({
      code: 'over-exposed',
      message:
        'Much of the picture is over-exposed. The angle is usable, but edges may look moved; lower the exposure.',
    });
  if (input.view !== 'side')
    out.push({
      code: 'diamond-not-judged',
      message:
        'Whether the diamond is there, leans or is turned can only be judged from the side and from the front.',
    });
  return out;
}

export { bendChange } from './change.ts';
export { skewAgainst } from './skew.ts';
