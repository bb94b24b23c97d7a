import {
  pointsOf,
  withPoints,
  type MarkDraft,
  type MarkPoint,
  type MarkShape,
  type MarkSize,
} from '../../shared/index.ts';
import { editable, parseNumber, type LengthUnit } from '../format.ts';
import { sizeOfShape, type Sizing } from './ground.ts';
import { shownUnit } from './mark-text.ts';
import { dayError } from '../ui/day.ts';
import { placeProblem, type PlaceGround } from './place.ts';

/** A mark's form: everything that can be drawn can be typed. */
export type MarkForm = {
  readonly draft: MarkDraft;
  /** x and y of every point as typed, in the mark's own unit. */
  readonly points: readonly (readonly [string, string])[];
  /** Typed over what the shape says; '' = as drawn. */
  readonly size: string;
  readonly doubt: string;
};

const three = (value: number): string => editable(Math.round(value * 1000) / 1000);
const textsOf = (shape: MarkShape): MarkForm['points'] =>
  pointsOf(shape).map(([x, y]) => [three(x), three(y)] as const);

export function openForm(draft: MarkDraft, unit: LengthUnit): MarkForm {
  const { size } = draft;
  const typed = size !== null && size.source !== 'drawn';
  const factor = size === null ? 1 : shownUnit(size.unit, unit).factor;
  return {
    draft,
    points: textsOf(draft.shape),
    size: typed ? editable(size.value, factor) : '',
    doubt: typed && size.expanded !== null ? editable(size.expanded, factor) : '',
  };
}

/** Another shape with the points that there are already; new ones lie beside the last. */
export function reshaped(form: MarkForm, type: MarkShape['type'], step: number): MarkForm {
  const points = [...pointsOf(form.draft.shape)];
  const [x, y] = points.at(-1) ?? [0, 0];
  while (points.length < 3) points.push([x + step * points.length, y + step * (points.length - 1)]);
  const [a, b, c] = points;
  const shapes: Readonly<Record<MarkShape['type'], MarkShape>> = {
    point: { type: 'point', at: a },
    line: { type: 'line', from: a, to: b },
    angle: { type: 'angle', from: a, corner: b, to: c },
    outline: { type: 'outline', points },
  };
  return { ...form, draft: { ...form.draft, shape: shapes[type] }, points: textsOf(shapes[type]) };
}

export type ReadForm = {
  readonly draft: MarkDraft | null;
  readonly errors: Readonly<Record<string, string>>;
  /** How far the mark lies from the part, on the background; in its own unit. */
  readonly away?: number;
};

/** The draft that the form describes, or what is wrong with it; numbers take a comma or a point. */
export function readForm(
  form: MarkForm,
  sizing: Sizing,
  unit: LengthUnit,
  ground: PlaceGround | null = null,
): ReadForm {
  const errors: Record<string, string> = {};
  const points = form.points.map(([x, y], index): MarkPoint | null => {
    const read = [parseNumber(x), parseNumber(y)];
    if (read[0] === null || read[1] === null) errors[`point${index}`] = 'Two numbers, x and y.';
    return read[0] === null || read[1] === null ? null : [read[0], read[1]];
  });
  const size = parseNumber(form.size);
  const doubt = parseNumber(form.doubt);
  if (form.size.trim() !== '' && (size === null || size < 0)) errors['size'] = 'A number, not below zero.';
  if (form.doubt.trim() !== '' && (doubt === null || doubt < 0))
    errors['doubt'] = 'A number, not below zero.';
  const seenOn = dayError(form.draft.seenOn);
  if (seenOn !== null) errors['seenOn'] = seenOn;
  if (Object.keys(errors).length > 0) return { draft: null, errors };
  const shape = withPoints(form.draft.shape, points as MarkPoint[]);
  const { kind } = form.draft;
  const problem = ground === null ? null : placeProblem(kind, shape, ground);
  if (problem?.kind === 'outside') {
    for (const index of problem.points) errors[`point${index}`] = 'Outside the picture.';
    return { draft: null, errors };
  }
  const drawn = sizeOfShape(kind, shape, sizing);
  const typed = size === null ? null : typedSize(size, doubt, drawn, form.draft.size, sizing, unit);
  return {
    draft: { ...form.draft, shape, size: typed ?? drawn },
    errors,
    ...(problem === null ? {} : { away: problem.away }),
  };
}

function typedSize(
  value: number,
  doubt: number | null,
  drawn: MarkSize | null,
  before: MarkSize | null,
  sizing: Sizing,
  unit: LengthUnit,
): MarkSize {
  const counted = drawn?.unit ?? before?.unit ?? sizing.unit;
  const { factor } = shownUnit(counted, unit);
  const next = { value: value / factor, expanded: doubt === null ? null : doubt / factor, unit: counted };
  // Untouched since the program stated it: still the program's own.
  const same =
    before?.source === 'report' &&
    Math.abs(before.value - next.value) <= 1e-4 * Math.max(1, before.value) &&
    (before.expanded === null) === (next.expanded === null);
  return same ? before : { ...next, source: 'typed' };
}

/** The unit in which size fields count for this shape. */
export function sizeUnit(form: MarkForm, sizing: Sizing): MarkSize['unit'] {
  if (form.draft.shape.type === 'angle') return 'deg';
  return form.draft.shape.type === 'point' ? (form.draft.size?.unit ?? sizing.unit) : sizing.unit;
}
