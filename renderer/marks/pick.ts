import { createStore, type StoreApi } from 'zustand/vanilla';
import type { MarkKind, MarkPoint, MarkShape } from '../../shared/index.ts';

/**
 * Setting points on the stage, by pointer or with a crosshair moved by keys: for a new mark, for points that two
 * pictures have in common, and for the line that a skew is told against. Nothing of it is saved; leaving it leaves no trace.
 */
export type PickedShape = MarkShape['type'];
export type Picking = {
  readonly purpose: 'mark' | 'match' | 'skew';
  readonly shape: PickedShape;
  readonly kind: MarkKind;
  /** Set so far, in the stage's frame. */
  readonly points: readonly MarkPoint[];
  /** Where the crosshair stands, in the stage's frame. */
  readonly cursor: MarkPoint;
};

export type PickState = {
  readonly pick: Picking | null;
  /** The mark that is picked out in the list and on the stage. */
  readonly selected: string | null;
  /** A shape on its way while one of its handles is dragged. */
  readonly moved: { readonly id: string; readonly shape: MarkShape } | null;
  /** Kind of the next mark. */
  readonly kind: MarkKind;
  readonly shown: boolean;
};

export const pickStore: StoreApi<PickState> = createStore<PickState>()(() => ({
  pick: null,
  selected: null,
  moved: null,
  kind: 'chip',
  shown: true,
}));

/** How many points make the shape; an outline has as many as somebody sets. */
export const NEEDED: Readonly<Record<PickedShape, number>> = {
  point: 1,
  line: 2,
  angle: 3,
  outline: Infinity,
};
export const LEAST: Readonly<Record<PickedShape, number>> = { point: 1, line: 2, angle: 3, outline: 3 };

export function startPick(purpose: Picking['purpose'], shape: PickedShape, cursor: MarkPoint): void {
  const { kind } = pickStore.getState();
  pickStore.setState({ pick: { purpose, shape, kind, points: [], cursor }, selected: null, moved: null });
  // The keys that set points work on the stage.
  document.querySelector<HTMLElement>('.stage-focus')?.focus();
}

export const stopPick = (): void => pickStore.setState({ pick: null });

export function moveCursor(cursor: MarkPoint): void {
  pickStore.setState(({ pick }) => (pick === null ? {} : { pick: { ...pick, cursor } }));
}

/** Sets a point; answers with all points once the shape has what it needs. */
export function setPoint(point: MarkPoint): readonly MarkPoint[] | null {
  const { pick } = pickStore.getState();
  if (pick === null) return null;
  const points = [...pick.points, point];
  pickStore.setState({ pick: { ...pick, points, cursor: point } });
  return points.length >= NEEDED[pick.shape] ? points : null;
}

export function dropPoint(): void {
  pickStore.setState(({ pick }) =>
    pick === null ? {} : { pick: { ...pick, points: pick.points.slice(0, -1) } },
  );
}

/** The shape of so many points; null when they are too few. */
export function shapeOf(type: PickedShape, points: readonly MarkPoint[]): MarkShape | null {
  if (points.length < LEAST[type]) return null;
  const [first, second, third] = points;
  switch (type) {
    case 'point':
      return { type, at: first };
    case 'line':
      return { type, from: first, to: second };
    case 'angle':
      return { type, from: first, corner: second, to: third };
    case 'outline':
      break;
  }
  return { type, points: [...points] };
}

const SAID: Readonly<Record<PickedShape, readonly string[]>> = {
  point: ['Set the point.'],
  line: ['Set the first end.', 'Set the other end.'],
  angle: ['Set the end of the first arm.', 'Set the corner.', 'Set the end of the second arm.'],
  outline: ['Set points around it; Enter twice in one place, or a click on the first point, closes it.'],
};
const BEND: readonly string[] = [
  'Set a point of the axis near the root.',
  'Set the point where it bends.',
  'Set a point of the axis near the tip.',
];

const SKEW: readonly string[] = [
  'Set one end of the line that the cantilever should run along, such as an edge of the cartridge.',
  'Set the other end of it, as far away as the picture allows.',
];

/** What to do next, in a sentence. */
export function nextSentence({ purpose, shape, kind, points }: Picking): string {
  if (purpose === 'match') {
    const number = Math.floor(points.length / 2) + 1;
    return points.length % 2 === 0
      ? `Point ${number}: set it in the baseline, on the left.`
      : `Point ${number}: set the same place in the later picture, on the right.`;
  }
  if (purpose === 'skew') return SKEW[Math.min(points.length, SKEW.length - 1)];
  const said = shape === 'angle' && kind === 'bent-cantilever' ? BEND : SAID[shape];
  return said[Math.min(points.length, said.length - 1)];
}
