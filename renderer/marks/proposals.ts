import type { Contour } from '../bench/draw.ts';
import { contourAt, polarDeg } from '../bench/geometry.ts';
import {
  degreesBetween,
  MARK_OF_SUSPICION,
  middleOfShape,
  SAME_PLACE_DEG,
  type CantileverAnswer,
  type Mark,
  type MarkDraft,
  type MarkKind,
  type MarkPoint,
  type MarkShape,
  type MarkSize,
  type Suspicion,
} from '../../shared/index.ts';
import { fromStageShape, onStage, type Ground } from './ground.ts';

/**
 * What the program suspects, as proposals to accept, change or reject. An answered one does not come back for the same
 * picture; what was rejected in another picture is asked again and says so, because a new chip may lie where an
 * innocent shadow once lay.
 */
export type Proposal = {
  readonly suspicion: Suspicion;
  readonly draft: MarkDraft;
  /** The same place was rejected in another picture. */
  readonly rejectedBefore: Mark | null;
};

export type Suspected = {
  readonly suspicions: readonly Suspicion[];
  /** Outline in the stage's frame, for places given by their angle. */
  readonly contour: Contour | null;
  readonly unit: 'um' | 'percent-of-shank';
  readonly cantilever: CantileverAnswer | null;
  /** What a pair's outlines say of the largest departures, with their uncertainty; null for a picture on its own. */
  readonly departures: Departures | null;
};
export type Departures = {
  /** [polar angle, degrees; recession; its expanded uncertainty] */
  readonly profile: readonly (readonly [number, number, number])[];
  readonly recession: Measured;
  readonly growth: Measured;
};
type Measured = { readonly value: number; readonly expanded: number };

/** The depth as a pair measured it, where the largest departure of its outlines lies at the suspected place. */
export function measuredDepth(
  suspicion: Suspicion,
  departures: Departures | null,
  radius: number,
): Measured | null {
  if (departures === null || (suspicion.kind !== 'chip' && suspicion.kind !== 'residue')) return null;
  const sign = suspicion.kind === 'chip' ? 1 : -1;
  const most = departures.profile.reduce<readonly [number, number]>(
    (best, [angle, value]) => (sign * value > best[1] ? [angle, sign * value] : best),
    [NaN, 0],
  );
  const said = suspicion.kind === 'chip' ? departures.recession : departures.growth;
  const there = most[1] > 0 && samePlace(suspicion, most[0], radius);
  // The suspicion was read off the later outline alone; a departure much unlike it is another thing.
  return there && Math.abs(said.value - suspicion.depthUm) <= said.expanded + 0.1 * suspicion.depthUm
    ? said
    : null;
}

/** Places on the outline are one also when they lie closer than half the suspected size. */
function samePlace(suspicion: Suspicion, degrees: number, radius: number): boolean {
  const half = radius > 0 ? (Math.atan2(suspicion.sizeUm / 2, radius) * 180) / Math.PI : 0;
  return degreesBetween(suspicion.angleDeg, degrees) <= Math.max(SAME_PLACE_DEG, half);
}

/** Points of the outline half a length before and behind a place on it. */
export function alongContour(contour: Contour, at: MarkPoint, length: number): [MarkPoint, MarkPoint] {
  let nearest = 0;
  let least = Infinity;
  for (const [i, [x, y]] of contour.entries()) {
    const away = Math.hypot(x - at[0], y - at[1]);
    if (away < least) [least, nearest] = [away, i];
  }
  const walk = (step: 1 | -1): MarkPoint => {
    let gone = 0;
    let last: MarkPoint = at;
    for (let i = nearest; i >= 0 && i < contour.length && gone < length / 2; i += step) {
      const next: MarkPoint = [contour[i][0], contour[i][1]];
      gone += Math.hypot(next[0] - last[0], next[1] - last[1]);
      last = next;
    }
    return last;
  };
  return [walk(-1), walk(1)];
}

/** As the screens count it, without a jump on the left side: from -90 to 270 degrees. */
export const aroundDeg = (degrees: number): number => (degrees < -90 ? degrees + 360 : degrees);

/**
 * On the outline: a line over the place, as long as the program says it is. Where no outline is drawn, a point in the
 * suspected direction: a suspicion is never dropped for want of a drawing.
 */
function outlineShape(suspicion: Suspicion, contour: Contour, radius: number): MarkShape {
  const degrees = aroundDeg(suspicion.angleDeg);
  const at = contourAt(contour, degrees);
  if (at === null) {
    const a = (degrees * Math.PI) / 180;
    return { type: 'point', at: [radius * Math.cos(a), radius * Math.sin(a)] };
  }
  const [from, to] = alongContour(contour, [at.x, at.y], suspicion.sizeUm);
  return { type: 'line', from, to };
}

/** On the cantilever, in the picture's own pixels: the bend as an angle, the diamond's place as a point. */
function cantileverShape(kind: MarkKind, axis: readonly MarkPoint[]): MarkShape | null {
  const [from, to] = [axis.at(0), axis.at(-1)];
  if (from === undefined || to === undefined || axis.length < 3) return null;
  if (kind !== 'bent-cantilever') return { type: 'point', at: to };
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const off = ([x, y]: MarkPoint): number => Math.abs(dx * (y - from[1]) - dy * (x - from[0]));
  const corner = axis.slice(1, -1).reduce((most, point) => (off(point) > off(most) ? point : most));
  return { type: 'angle', from, corner, to };
}

function sizeOf(suspicion: Suspicion, { unit, cantilever }: Suspected): MarkSize | null {
  if (suspicion.kind === 'bent-cantilever' && cantilever !== null) {
    const { value, expanded } = cantilever.cantilever.bendAngleDeg;
    return { value: Math.max(0, value), expanded, unit: 'deg', source: 'report' };
  }
  if (suspicion.sizeUm <= 0) return null;
  return { value: suspicion.sizeUm, expanded: null, unit, source: 'report' };
}

function draftOf(
  suspicion: Suspicion,
  suspected: Suspected,
  ground: Ground,
  radius: number,
  seen: Pick<MarkDraft, 'seenBy' | 'seenOn'>,
): MarkDraft {
  const { capture } = ground.shown[0];
  const kind = MARK_OF_SUSPICION[suspicion.kind];
  const onOutline = suspicion.kind === 'chip' || suspicion.kind === 'residue';
  let placed: Pick<MarkDraft, 'frame' | 'unit' | 'shape'>;
  if (onOutline) {
    placed = fromStageShape(outlineShape(suspicion, suspected.contour ?? [], radius), ground);
  } else {
    const shape = cantileverShape(kind, suspected.cantilever?.drawing?.axisPx ?? []) ?? {
      type: 'point',
      at: [(capture.widthPx - 1) / 2, (capture.heightPx - 1) / 2],
    };
    placed = { frame: 'picture', unit: 'px', shape };
  }
  const { angleDeg, sizeUm, depthUm } = suspicion;
  const depth = measuredDepth(suspicion, suspected.departures, radius);
  return {
    stylusId: capture.stylusId,
    view: capture.view,
    captureId: capture.id,
    kind,
    state: 'suspected',
    ...placed,
    size: sizeOf(suspicion, suspected),
    note: '',
    ...seen,
    proposed: {
      kind: suspicion.kind,
      angleDeg,
      sizeUm,
      depthUm: depth?.value ?? depthUm,
      ...(depth === null ? {} : { depthExpandedUm: depth.expanded }),
    },
  };
}

/** Does a mark answer a suspicion of this picture, or lie in its place? */
function matches(mark: Mark, suspicion: Suspicion, ground: Ground, radius: number): boolean {
  const { capture } = ground.shown[0];
  if (mark.view !== capture.view || mark.kind !== MARK_OF_SUSPICION[suspicion.kind]) return false;
  const onOutline = suspicion.kind === 'chip' || suspicion.kind === 'residue';
  if (!onOutline) return mark.captureId === capture.id;
  if (mark.captureId === capture.id && mark.proposed?.kind === suspicion.kind)
    return samePlace(suspicion, mark.proposed.angleDeg, radius);
  const shape = onStage(mark, ground);
  if (shape === null) return false;
  const [x, y] = middleOfShape(shape);
  return samePlace(suspicion, polarDeg({ x, y }), Math.hypot(x, y));
}

export type Answered = {
  readonly open: readonly Proposal[];
  /** Marks that the program suspects again in this picture. */
  readonly again: ReadonlySet<string>;
};

export function proposalsFor(
  suspected: Suspected,
  ground: Ground,
  radius: number,
  seen: Pick<MarkDraft, 'seenBy' | 'seenOn'>,
): Answered {
  const open: Proposal[] = [];
  const again = new Set<string>();
  for (const suspicion of suspected.suspicions) {
    const same = ground.page.marks.filter((mark) => matches(mark, suspicion, ground, radius));
    const here = same.filter(
      (mark) => mark.state !== 'rejected' || mark.captureId === ground.shown[0].capture.id,
    );
    for (const mark of here) again.add(mark.id);
    if (here.length > 0) continue;
    const draft = draftOf(suspicion, suspected, ground, radius, seen);
    open.push({ suspicion, draft, rejectedBefore: same.at(-1) ?? null });
  }
  return { open, again };
}
