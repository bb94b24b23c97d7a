import { beforeEach, describe, expect, it, vi } from 'vitest';
import { benchStore, FRESH } from '../../renderer/bench/bench-state.ts';
import { toStage, type StagePoint } from '../../renderer/bench/geometry.ts';
import { beginDrag, dragged, dropped, type StageHand } from '../../renderer/bench/stage-input.ts';
import type { MarkShape } from '../../shared/index.ts';
import { pickStore } from '../../renderer/marks/pick.ts';

const SIZE = { width: 640, height: 480 };
const SHAPE: Extract<MarkShape, { type: 'line' }> = { type: 'line', from: [-10, 4], to: [12, 4] };

function handOn(selected: boolean): StageHand {
  const mark = { id: 'one', label: '1', state: 'confirmed', selected } as const;
  return {
    size: SIZE,
    scene: {
      baseline: null,
      later: null,
      contours: null,
      radiusUm: 18,
      single: false,
      marks: [{ ...mark, shape: SHAPE }],
    },
    onPicked: vi.fn<StageHand['onPicked']>(),
    onMoved: vi.fn<StageHand['onMoved']>(),
    onShove: null,
    fit: vi.fn<StageHand['fit']>(),
  };
}

/** Where the mark's first end stands on the stage. */
function firstEnd(): StagePoint {
  const { x, y } = toStage(benchStore.getState().view, { x: SHAPE.from[0], y: SHAPE.from[1] });
  return { x: x + SIZE.width / 2, y: y + SIZE.height / 2 };
}
const by = ({ x, y }: StagePoint, dx: number, dy: number): StagePoint => ({ x: x + dx, y: y + dy });

describe('the handle of a mark', () => {
  beforeEach(() => {
    benchStore.setState({ ...FRESH, view: { at: { x: 0, y: 0 }, zoom: 5, turnDeg: 0 } });
    pickStore.setState({ pick: null, selected: null, moved: null });
  });

  it('moves a mark that is not picked out yet, and leaves the picture where it is', () => {
    const hand = handOn(false);
    const at = firstEnd();
    const { view } = benchStore.getState();
    const held = dragged(dragged(beginDrag(at, hand), by(at, 10, 0), hand), by(at, 50, 25), hand);
    dropped(held, by(at, 50, 25), hand);
    expect(benchStore.getState().view).toEqual(view);
    expect(pickStore.getState().selected).toBe('one');
    expect(hand.onMoved).toHaveBeenCalledExactlyOnceWith(
      'one',
      { type: 'line', from: [expect.closeTo(0, 9), expect.closeTo(9, 9)], to: [12, 4] },
      true,
    );
  });

  it('only picks it out by a click, also by one that trembles', () => {
    const hand = handOn(false);
    const at = firstEnd();
    dropped(dragged(beginDrag(at, hand), by(at, 3, 1), hand), by(at, 3, 1), hand);
    expect(pickStore.getState()).toMatchObject({ selected: 'one', moved: null });
    expect(hand.onMoved).not.toHaveBeenCalled();
  });

  it('follows every pixel once the mark is picked out', () => {
    const hand = handOn(true);
    const at = firstEnd();
    dropped(dragged(beginDrag(at, hand), by(at, 2, 0), hand), by(at, 2, 0), hand);
    expect(hand.onMoved).toHaveBeenCalledOnce();
  });
});
