import { useEffect, useMemo, useRef } from 'react';
import { useStore } from 'zustand';
import {
  MARK_WORDS,
  movedShape,
  tipPlaceOf,
  type Mark,
  type MarkDraft,
  type MarkPoint,
  type MarkShape,
  type MarkSize,
  type MarkState,
} from '../../shared/index.ts';
import { benchStore } from '../bench/bench-state.ts';
import type { DrawnMark } from '../bench/draw-marks.ts';
import { today } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { useUnsaved } from '../state/use-unsaved.ts';
import { saveSoon, saveWaiting } from '../state/waiting.ts';
import { fromStageShape, onStage, sizeOfShape, sizingFor, type Ground, type Sizing } from './ground.ts';
import { movedText } from './mark-text.ts';
import { pickStore, shapeOf, stopPick } from './pick.ts';
import { placeGround, placeProblem, withPart, type PlaceGround } from './place.ts';
import { proposalsFor, type Answered, type Suspected } from './proposals.ts';

export type ListedMark = { readonly mark: Mark; readonly label: string; readonly onStage: MarkShape | null };

/** Everything that a screen with a stage does about marks. */
export type Marking = {
  readonly ground: Ground;
  readonly listed: readonly ListedMark[];
  readonly drawn: readonly DrawnMark[];
  readonly answered: Answered;
  readonly onPicked: (points: readonly MarkPoint[]) => void;
  /** A shape on the stage that was dragged or nudged: shown at once, saved when the hand rests. */
  readonly onMoved: (id: string, shape: MarkShape, rests: boolean) => void;
  readonly typeIn: () => void;
  readonly edit: (mark: Mark) => Promise<void>;
  readonly change: (draft: MarkDraft) => void;
  readonly answer: (draft: MarkDraft, state: MarkState) => Promise<void>;
  readonly setState: (mark: Mark, state: MarkState) => Promise<void>;
  readonly bin: (mark: Mark) => Promise<void>;
};

/** Said by the names of the buttons that end it. */
export const HALF_DRAWN = 'A mark is half drawn. Finish it or choose “Leave it” first.';

/** Saved when the keys rest; a longer rest ends what one undo takes back. */
const NUDGE_REST_MS = 450;
const RUN_MS = 3000;

/** `ground` must keep its identity while nothing changes. */
export function useMarking(ground: Ground, suspected: Suspected, radius: number): Marking {
  const { store, host, attempt, refresh, open, bin, say, done } = useModel();
  const seenBy = useDaybook((state) => state.settings.seenBy);
  // One by one: the crosshair's way over the stage must not draw the whole bench again.
  const selected = useStore(pickStore, (state) => state.selected);
  const moved = useStore(pickStore, (state) => state.moved);
  const shown = useStore(pickStore, (state) => state.shown);
  useUnsaved(
    useStore(pickStore, ({ pick }) => pick?.purpose === 'mark' && pick.points.length > 0),
    HALF_DRAWN,
  );
  const [{ capture, pose }] = ground.shown;
  const listed = useMemo<ListedMark[]>(
    () =>
      ground.page.marks
        .filter((mark) => mark.view === capture.view)
        .map((mark, index) => ({ mark, label: String(index + 1), onStage: onStage(mark, ground) })),
    [ground, capture.view],
  );
  const drawn = useMemo<DrawnMark[]>(
    () =>
      !shown
        ? []
        : listed.flatMap(({ mark, label, onStage: place }) => {
            const shape = moved?.id === mark.id ? moved.shape : place;
            if (shape === null || (mark.state === 'rejected' && mark.id !== selected)) return [];
            return [{ id: mark.id, label, shape, state: mark.state, selected: mark.id === selected }];
          }),
    [listed, moved, selected, shown],
  );
  const answered = useMemo(
    () => proposalsFor(suspected, ground, radius, { seenBy, seenOn: today() }),
    [suspected, ground, radius, seenBy],
  );
  const sizing = (): Sizing => {
    const { zoom } = benchStore.getState().view;
    return sizingFor({ capture, place: tipPlaceOf(ground.page, capture.id) }, 1 / (zoom * pose.umPerPx));
  };
  const groundOf = (draft: MarkDraft): PlaceGround | null => {
    const own = ground.page.captures.find((one) => one.id === draft.captureId) ?? capture;
    return withPart(placeGround(draft, own, ground.page), draft, ground, suspected.contour, radius);
  };
  const openForm = (draft: MarkDraft, id: string | null, how: Sizing): void =>
    open({ kind: 'mark', draft, id, sizing: how, ground: groundOf(draft) });
  const begin = (shape: MarkShape): void => {
    const { kind } = pickStore.getState();
    const placed = fromStageShape(shape, ground);
    const how = sizing();
    const draft: MarkDraft = {
      stylusId: capture.stylusId,
      view: capture.view,
      captureId: capture.id,
      kind,
      state: 'suspected',
      ...placed,
      size: sizeOfShape(kind, placed.shape, how),
      note: '',
      seenBy,
      seenOn: today(),
      proposed: null,
    };
    openForm(draft, null, how);
  };
  useEffect(
    () => () => {
      // Leaving the screen a moment after the last push must not lose it.
      void saveWaiting();
      pickStore.setState({ pick: null, selected: null, moved: null });
    },
    [],
  );
  /** As it is now, not as it was when this was drawn. */
  const newest = (id: string): Mark | undefined =>
    store.getState().page?.marks.find((one) => one.id === id) ??
    ground.page.marks.find((one) => one.id === id);
  const run = useRef<Run | null>(null);
  const saveMoved = async (id: string, shape: MarkShape, gesture: string, rests: boolean): Promise<void> => {
    const mark = newest(id);
    if (mark === undefined) return;
    const own = ground.shown.find((one) => one.capture.id === mark.captureId) ?? ground.shown[0];
    const placed = fromStageShape(shape, { ...ground, shown: [own] });
    // A mark keeps the frame that it was made in, where the picture still has it.
    const next = mark.frame === placed.frame && mark.unit === placed.unit ? placed : null;
    const size = sizeAfter(mark, placed.shape, sizing());
    const held = groundOf(draftOf(mark));
    const problem = next === null || held === null ? null : placeProblem(mark.kind, next.shape, held);
    if (problem?.kind === 'outside') say('A mark stays inside its picture. It is back where it was.');
    else if (next !== null) {
      const saved = await attempt(() =>
        host.call('mark.update', { id, draft: { ...draftOf(mark), ...next, size }, gesture }),
      );
      // A handle put down where it was is no step, and there would be another one to take back. Pushes by keys are seen.
      const text = saved === null ? null : movedText(mark, saved, problem !== null);
      if (text !== null && (rests || problem !== null)) await done(text);
    }
    await refresh();
    // It may have been pushed further meanwhile.
    pickStore.setState((state) => (state.moved?.shape === shape ? { moved: null } : {}));
  };
  return {
    ground,
    listed,
    drawn,
    answered,
    onPicked: (points) => {
      const { pick } = pickStore.getState();
      const shape = pick === null ? null : shapeOf(pick.shape, points);
      stopPick();
      if (shape !== null) begin(shape);
    },
    onMoved: (id, shape, rests) => {
      pickStore.setState({ moved: { id, shape } });
      const gesture = runKey(run, id, rests);
      saveSoon(`mark ${id}`, rests ? 0 : NUDGE_REST_MS, () => saveMoved(id, shape, gesture, rests));
    },
    typeIn: () => {
      const { at } = benchStore.getState().view;
      begin({ type: 'point', at: [at.x, at.y] });
    },
    edit: async ({ id }) => {
      await saveWaiting();
      const mark = newest(id);
      if (mark === undefined) return;
      const own = ground.page.captures.find((one) => one.id === mark.captureId) ?? capture;
      const place = mark.frame === 'tip' ? tipPlaceOf(ground.page, own.id) : null;
      openForm(draftOf(mark), id, sizingFor({ capture: own, place }));
    },
    change: (draft) => openForm(draft, null, sizing()),
    answer: async (draft, state) => {
      await saveWaiting();
      await attempt(() => host.call('mark.add', { draft: { ...draft, state } }));
      await refresh();
    },
    setState: async ({ id }, state) => {
      await saveWaiting();
      const mark = newest(id);
      if (mark === undefined) return;
      await attempt(() => host.call('mark.update', { id, draft: { ...draftOf(mark), state } }));
      await refresh();
    },
    bin: async ({ id, kind }) => {
      await saveWaiting();
      await bin('mark', id, MARK_WORDS[kind]);
    },
  };
}

type Run = { readonly id: string; readonly key: string; readonly at: number };

/** Pushes of one mark that follow each other are one step of undo, however slow keys and machine are. */
function runKey(run: { current: Run | null }, id: string, rests: boolean): string {
  const now = Date.now();
  const { current } = run;
  const goes = current !== null && !rests && current.id === id && now - current.at < RUN_MS;
  const key = goes ? current.key : `push-${id.slice(0, 12)}-${now.toString(36)}`;
  run.current = rests ? null : { id, key, at: now };
  return key;
}

/**
 * The size of a mark whose shape was moved. A typed size stands; what the program stated stands as long as the mark was
 * only pushed along, and gives way to what is drawn once a hand pulls at its ends.
 */
export function sizeAfter(mark: Mark, shape: MarkShape, sizing: Sizing): MarkSize | null {
  if (mark.size?.source === 'typed') return mark.size;
  const before = sizeOfShape(mark.kind, mark.shape, sizing);
  const after = sizeOfShape(mark.kind, shape, sizing);
  const same =
    before !== null && after !== null && Math.abs(before.value - after.value) <= 1e-6 * (1 + after.value);
  return mark.size?.source === 'report' && (same || after === null) ? mark.size : after;
}

/** A stored mark without what the collection added to it. */
export function draftOf(mark: Mark): MarkDraft {
  const { id: _id, createdAt: _createdAt, binnedAt: _binnedAt, ...draft } = mark;
  return draft;
}

export const shiftedShape = (shape: MarkShape, dx: number, dy: number): MarkShape =>
  movedShape(shape, ([x, y]) => [x + dx, y + dy]);
