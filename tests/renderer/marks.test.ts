import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { movedPose, NO_MOVE, poseFromPoints } from '../../renderer/bench/hand-pose.ts';
import { pairsOf } from '../../renderer/bench/by-hand.tsx';
import { fromStageShape, onStage, sizeOfShape, sizingFor, type Ground } from '../../renderer/marks/ground.ts';
import { openForm, readForm, reshaped } from '../../renderer/marks/mark-form.ts';
import { alongContour, proposalsFor, type Suspected } from '../../renderer/marks/proposals.ts';
import { shapeOf } from '../../renderer/marks/pick.ts';
import { sizeAfter } from '../../renderer/marks/use-marking.ts';
import {
  imageToTip,
  middleOfShape,
  tipToImage,
  type Capture,
  type Mark,
  type MarkDraft,
  type MarkShape,
  type Pose,
  type Suspicion,
} from '../../shared/index.ts';
import { captureRow, comparisonRow, pageOf, stylusRow } from './fake-host.ts';
import { answered, flatPair, measured } from './reports.ts';

const pose: fc.Arbitrary<Pose> = fc.record({
  xPx: fc.double({ min: -300, max: 900, noNaN: true }),
  yPx: fc.double({ min: -300, max: 900, noNaN: true }),
  rotationDeg: fc.double({ min: -179, max: 179, noNaN: true }),
  umPerPx: fc.double({ min: 0.2, max: 5, noNaN: true }),
});
const point = fc.record({
  x: fc.double({ min: -200, max: 200, noNaN: true }),
  y: fc.double({ min: -200, max: 200, noNaN: true }),
});

describe('moving the later picture by hand', () => {
  it('shows at a shifted place what showed before', () => {
    fc.assert(
      fc.property(pose, point, point, (start, at, by) => {
        const moved = movedPose(start, { ...NO_MOVE, dx: by.x, dy: by.y }, { x: 3, y: -2 });
        const before = tipToImage(start, at);
        const after = tipToImage(moved, { x: at.x + by.x, y: at.y + by.y });
        expect(after.x).toBeCloseTo(before.x, 6);
        expect(after.y).toBeCloseTo(before.y, 6);
      }),
    );
  });

  it('turns anticlockwise on screen and grows about the point that stays', () => {
    const start: Pose = { xPx: 100, yPx: 80, rotationDeg: 0, umPerPx: 1 };
    const about = { x: 10, y: 5 };
    const moved = movedPose(start, { dx: 0, dy: 0, turnDeg: 90, percent: 200 }, about);
    expect(tipToImage(moved, about).x).toBeCloseTo(110, 9);
    expect(tipToImage(moved, about).y).toBeCloseTo(85, 9);
    // The picture's point that lay 4 to the right of it now lies 8 above.
    const right = tipToImage(start, { x: 14, y: 5 });
    const now = imageToTip(moved, right);
    expect(now.x).toBeCloseTo(10, 9);
    expect(now.y).toBeCloseTo(5 - 8, 9);
  });
});

describe('points in common', () => {
  it('give back the pose that they were taken from, whatever it is', () => {
    fc.assert(
      fc.property(pose, fc.array(point, { minLength: 2, maxLength: 4 }), (later, places) => {
        const apart = Math.hypot(places[0].x - places[1].x, places[0].y - places[1].y);
        fc.pre(apart > 5);
        // Set by turns: in the baseline, then where the later picture, laid elsewhere, shows the same.
        const laid: Pose = { xPx: 11, yPx: -7, rotationDeg: 12, umPerPx: 0.8 };
        const points = places.flatMap(({ x, y }) => {
          const seen = imageToTip(laid, tipToImage(later, { x, y }));
          return [[x, y] as [number, number], [seen.x, seen.y] as [number, number]];
        });
        const found = poseFromPoints(pairsOf(points, laid), later.umPerPx, true);
        expect(found?.umPerPx).toBeCloseTo(later.umPerPx, 6);
        const turn = ((found?.rotationDeg ?? 0) - later.rotationDeg + 540) % 360;
        expect(turn).toBeCloseTo(180, 5);
        expect(found?.xPx).toBeCloseTo(later.xPx, 4);
        expect(found?.yPx).toBeCloseTo(later.yPx, 4);
      }),
    );
  });

  it('keep a scale that is known, and are no answer when they are too few or in one place', () => {
    const pairs = pairsOf(
      [
        [0, 0],
        [0, 0],
        [10, 0],
        [30, 0],
      ],
      { xPx: 0, yPx: 0, rotationDeg: 0, umPerPx: 1 },
    );
    expect(poseFromPoints(pairs, 2, false)?.umPerPx).toBe(2);
    expect(poseFromPoints(pairs.slice(0, 1), 1, true)).toBeNull();
    expect(poseFromPoints([pairs[0], pairs[0]], 1, true)).toBeNull();
  });
});

/** A baseline and two later pictures, both registered, each with a pose of its own. */
function registered() {
  const stylus = stylusRow();
  const scale = { umPerPx: 2, standardUmPerPx: 0.02, source: 'typed' as const };
  const baseline = captureRow(stylus.id, { isBaseline: true, scale });
  const later = captureRow(stylus.id, { scale });
  const last = captureRow(stylus.id, { scale });
  const at = (xPx: number, rotationDeg: number): Pose => ({ xPx, yPx: 100, rotationDeg, umPerPx: 2 });
  const report = (xPx: number, turn: number) => ({
    ...answered(flatPair(measured(6, 1)), flatPair(measured(6, 1))),
    drawing: {
      baselinePose: at(300, 0),
      laterPose: at(xPx, turn),
      baselineContour: [],
      laterContour: [],
      profile: [],
    },
  });
  const rows = {
    styluses: [stylus],
    captures: [baseline, later, last],
    comparisons: [
      comparisonRow(stylus.id, baseline.id, later.id, report(200, 30)),
      comparisonRow(stylus.id, baseline.id, last.id, report(400, -90)),
    ],
    entries: [],
    marks: [] as Mark[],
  };
  const page = () => pageOf(rows, stylus.id);
  const ground = (capture: Capture, on: Pose): Ground => ({ page: page(), shown: [{ capture, pose: on }] });
  return { rows, baseline, later, last, at, ground };
}

const markRow = (draft: MarkDraft, id = 'mark00000001'): Mark => ({
  ...draft,
  id,
  createdAt: '',
  binnedAt: null,
});
const draftFor = (capture: Capture, part: Partial<MarkDraft>): MarkDraft => ({
  stylusId: capture.stylusId,
  view: capture.view,
  captureId: capture.id,
  kind: 'chip',
  state: 'confirmed',
  frame: 'tip',
  unit: 'um',
  shape: { type: 'point', at: [3, 17] },
  size: null,
  note: '',
  seenBy: '',
  seenOn: '2024-05-01',
  proposed: null,
  ...part,
});

describe('marks on every registered picture', () => {
  it('drawn on one reappear on the other at the same place of the tip', () => {
    const { later, last, at, ground } = registered();
    // Drawn on the later picture, whose stage lies in the tip frame.
    const shape: MarkShape = { type: 'line', from: [3, 17], to: [6, 15] };
    const kept = fromStageShape(shape, ground(later, at(200, 30)));
    expect(kept.frame).toBe('tip');
    const mark = markRow(draftFor(later, kept));
    const seen = onStage(mark, ground(last, at(400, -90)));
    expect(JSON.stringify(seen, rounded)).toBe(JSON.stringify(shape, rounded));
  });

  it('follow the picture where the stage lies in another frame', () => {
    const { later, at, ground } = registered();
    const elsewhere: Pose = { xPx: 250, yPx: 90, rotationDeg: 30, umPerPx: 2 };
    const mark = markRow(draftFor(later, {}));
    const seen = onStage(mark, ground(later, elsewhere));
    const px = tipToImage(at(200, 30), { x: 3, y: 17 });
    const expected = imageToTip(elsewhere, px);
    expect(seen).toMatchObject({ type: 'point' });
    expect((seen as { at: [number, number] }).at[0]).toBeCloseTo(expected.x, 9);
    expect((seen as { at: [number, number] }).at[1]).toBeCloseTo(expected.y, 9);
  });

  it('stay in the pixels of a picture that has no place, and have none elsewhere', () => {
    const { rows, later, ground, at } = registered();
    const lonely = captureRow(later.stylusId, { scale: null });
    rows.captures.push(lonely);
    const own: Pose = { xPx: 320, yPx: 240, rotationDeg: 0, umPerPx: 1 };
    const kept = fromStageShape({ type: 'point', at: [5, 6] }, ground(lonely, own));
    expect(kept).toEqual({ frame: 'picture', unit: 'px', shape: { type: 'point', at: [325, 246] } });
    const mark = markRow(draftFor(lonely, kept));
    expect(onStage(mark, ground(later, at(200, 30)))).toBeNull();
    expect(onStage(mark, ground(lonely, own))).toEqual({ type: 'point', at: [5, 6] });
  });
});

const rounded = (_key: string, value: unknown): unknown =>
  typeof value === 'number' ? Math.round(value * 1e6) / 1e6 : value;

describe('sizes of drawn shapes', () => {
  const sizing = { unit: 'um', factor: 1, pointing: 0.5, relative: 0.01 } as const;

  it('carry pointing at both ends and the scale: U = 2 sqrt(2 0.5^2 + (0.01 30)^2) = 1.536', () => {
    const size = sizeOfShape('chip', { type: 'line', from: [0, 0], to: [18, 24] }, sizing);
    expect(size).toMatchObject({ value: 30, unit: 'um', source: 'drawn' });
    expect(size?.expanded).toBeCloseTo(1.5362, 3);
  });

  it('state a bend of 4 degrees with 2 sqrt2 0.5 sqrt(1/100^2 + 1/100^2) rad = 1.146 degrees', () => {
    const rise = -100 * Math.tan((4 * Math.PI) / 180);
    const shape: MarkShape = { type: 'angle', from: [0, 0], corner: [100, 0], to: [200, rise] };
    const size = sizeOfShape('bent-cantilever', shape, sizing);
    expect(size?.value).toBeCloseTo(4, 6);
    expect(size?.expanded).toBeCloseTo(1.146, 2);
  });

  it('count in pixels without a scale, in um with one, and use its default uncertainty of 0.3 %', () => {
    const capture = captureRow('stylus0001', {
      scale: { umPerPx: 6, standardUmPerPx: null, source: 'typed' },
    });
    expect(sizingFor({ capture, place: null })).toEqual({
      unit: 'um',
      factor: 6,
      pointing: 1,
      relative: expect.closeTo(0.003, 9) as number,
    });
    const bare = { ...capture, scale: null };
    expect(sizingFor({ capture: bare, place: null }, 3)).toEqual({
      unit: 'px',
      factor: 1,
      pointing: 3,
      relative: 0,
    });
  });
});

describe('the size of a mark that was moved', () => {
  const sizing = { unit: 'um', factor: 1, pointing: 0.5, relative: 0 } as const;
  const report = { value: 4.2, expanded: null, unit: 'um' as const, source: 'report' as const };
  const line = (length: number): MarkShape => ({ type: 'line', from: [1, 1], to: [1 + length, 1] });
  const mark = markRow(draftFor(captureRow('stylus0001'), { shape: line(4), size: report }));

  it('stays the program’s while it is only pushed along, and is the drawn one once its ends are pulled', () => {
    expect(sizeAfter(mark, { type: 'line', from: [9, 9], to: [13, 9] }, sizing)).toEqual(report);
    expect(sizeAfter(mark, line(7), sizing)).toMatchObject({ value: 7, source: 'drawn' });
  });

  it('stays what somebody typed', () => {
    const typed = { ...report, source: 'typed' as const };
    expect(sizeAfter({ ...mark, size: typed }, line(7), sizing)).toEqual(typed);
  });
});

describe('proposals', () => {
  const circle: [number, number][] = Array.from({ length: 181 }, (_, i) => {
    const a = ((180 - i) * Math.PI) / 180;
    return [18 * Math.cos(a), 18 * Math.sin(a)];
  });
  const chip: Suspicion = { kind: 'chip', angleDeg: 70, sizeUm: 4, depthUm: 1.1 };
  const suspected: Suspected = {
    suspicions: [chip],
    contour: circle,
    unit: 'um',
    cantilever: null,
    departures: null,
  };
  const seen = { seenBy: 'the owner', seenOn: '2024-06-01' };

  it('lie on the outline, as long as the program says', () => {
    const [from, to] = alongContour(circle, [0, 18], 4);
    expect(Math.hypot(from[0] - to[0], from[1] - to[1])).toBeGreaterThan(3.5);
    expect(Math.hypot(from[0] - to[0], from[1] - to[1])).toBeLessThan(5);
    const { later, at, ground } = registered();
    const [proposal] = proposalsFor(suspected, ground(later, at(200, 30)), 18, seen).open;
    expect(proposal.draft).toMatchObject({ kind: 'chip', frame: 'tip', proposed: chip, ...seen });
    expect(proposal.draft.size).toEqual({ value: 4, expanded: null, unit: 'um', source: 'report' });
  });

  it('are never lost: not on the left side, where angles jump, and not beyond the outline', () => {
    const { later, at, ground } = registered();
    const left = { ...suspected, suspicions: [{ ...chip, angleDeg: -175 }], contour: circle.slice(20) };
    const beyond = { ...suspected, suspicions: [{ ...chip, angleDeg: -40 }] };
    for (const [given, x] of [
      [left, -18],
      [beyond, 18],
    ] as const) {
      const [proposal] = proposalsFor(given, ground(later, at(200, 30)), 18, seen).open;
      const [px] = middleOfShape(proposal.draft.shape);
      expect(Math.sign(px)).toBe(Math.sign(x));
    }
  });

  it('once rejected do not come back for the same picture, also when measured again', () => {
    const { rows, later, at, ground } = registered();
    const [{ draft }] = proposalsFor(suspected, ground(later, at(200, 30)), 18, seen).open;
    rows.marks.push(markRow({ ...draft, state: 'rejected' }));
    const again = { ...suspected, suspicions: [{ ...chip, angleDeg: 71.5, sizeUm: 4.4 }] };
    expect(proposalsFor(again, ground(later, at(200, 30)), 18, seen).open).toEqual([]);
    const elsewhere = { ...suspected, suspicions: [{ ...chip, angleDeg: 110 }] };
    expect(proposalsFor(elsewhere, ground(later, at(200, 30)), 18, seen).open).toHaveLength(1);
    const residue = { ...suspected, suspicions: [{ ...chip, kind: 'residue' as const }] };
    expect(proposalsFor(residue, ground(later, at(200, 30)), 18, seen).open).toHaveLength(1);
  });

  it('are asked again in another picture, and say that the place was rejected before', () => {
    const { rows, later, last, at, ground } = registered();
    const [{ draft }] = proposalsFor(suspected, ground(later, at(200, 30)), 18, seen).open;
    rows.marks.push(markRow({ ...draft, state: 'rejected' }));
    const [proposal] = proposalsFor(suspected, ground(last, at(400, -90)), 18, seen).open;
    expect(proposal.rejectedBefore?.id).toBe('mark00000001');
  });

  it('become the mark that is there already, where one lies', () => {
    const { rows, later, last, at, ground } = registered();
    const [{ draft }] = proposalsFor(suspected, ground(later, at(200, 30)), 18, seen).open;
    rows.marks.push(markRow({ ...draft, state: 'confirmed' }));
    const answer = proposalsFor(suspected, ground(last, at(400, -90)), 18, seen);
    expect(answer.open).toEqual([]);
    expect([...answer.again]).toEqual(['mark00000001']);
  });
});

describe('the form of a mark', () => {
  const sizing = { unit: 'um', factor: 1, pointing: 0.5, relative: 0 } as const;
  const draft = draftFor(captureRow('stylus0001'), {
    shape: { type: 'line', from: [0, 0], to: [3, 4] },
    size: { value: 5, expanded: 1.4, unit: 'um', source: 'drawn' },
  });

  it('reads typed points with comma or point and measures them', () => {
    const form = openForm(draft, 'um');
    const typed = { ...form, points: [form.points[0], ['6,0', '8.0'] as const] };
    expect(readForm(typed, sizing, 'um').draft).toMatchObject({
      shape: { to: [6, 8] },
      size: { value: 10, source: 'drawn' },
    });
  });

  it('keeps a typed size over the drawn one, in the unit that is shown', () => {
    const form = { ...openForm(draft, 'mil'), size: '0,2', doubt: '0.01' };
    const { size } = readForm(form, sizing, 'mil').draft ?? {};
    expect(size?.value).toBeCloseTo(5.08, 9);
    expect(size?.expanded).toBeCloseTo(0.254, 9);
    expect(size?.source).toBe('typed');
  });

  it('leaves what the program stated as the program’s, until somebody types over it', () => {
    const report = { value: 4.2, expanded: null, unit: 'um' as const, source: 'report' as const };
    const form = openForm({ ...draft, size: report }, 'um');
    expect(readForm(form, sizing, 'um').draft?.size).toEqual(report);
    expect(readForm({ ...form, size: '4.5' }, sizing, 'um').draft?.size?.source).toBe('typed');
  });

  it('says what is wrong and gives no draft then', () => {
    const form = openForm(draft, 'um');
    const wrong = { ...form, points: [['x', '1'] as const, form.points[1]], size: '-1' };
    const read = readForm(wrong, sizing, 'um');
    expect(read.draft).toBeNull();
    expect(Object.keys(read.errors).toSorted()).toEqual(['point0', 'size']);
  });

  it('turns a line into an angle and an outline without losing its points', () => {
    const form = openForm(draft, 'um');
    for (const type of ['angle', 'outline', 'point'] as const) {
      const next = reshaped(form, type, 5);
      expect(next.draft.shape.type).toBe(type);
      expect(next.points[0]).toEqual(form.points[0]);
      expect(readForm(next, sizing, 'um').draft).not.toBeNull();
    }
  });
});

describe('setting points', () => {
  it('makes a shape only once there are enough', () => {
    expect(shapeOf('line', [[0, 0]])).toBeNull();
    expect(
      shapeOf('outline', [
        [0, 0],
        [1, 0],
      ]),
    ).toBeNull();
    expect(
      shapeOf('angle', [
        [0, 0],
        [1, 0],
        [1, 1],
      ]),
    ).toEqual({
      type: 'angle',
      from: [0, 0],
      corner: [1, 0],
      to: [1, 1],
    });
  });
});
