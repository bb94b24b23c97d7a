import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  angleBetween,
  angleOfMark,
  lengthOfShape,
  markDraftSchema,
  markSizeWords,
  movedShape,
  pointsOf,
  shapeFromPicture,
  shapeInTipFrame,
  shapeToPicture,
  tipPlaceOf,
  withPoints,
  type MarkDraft,
  type MarkShape,
  type Placed,
  type Pose,
} from '../../shared/index.ts';

const number = fc.double({ min: -500, max: 500, noNaN: true });
const point = fc.tuple(number, number);
const shape: fc.Arbitrary<MarkShape> = fc.oneof(
  point.map((at) => ({ type: 'point' as const, at })),
  fc.array(point, { minLength: 3, maxLength: 8 }).map((points) => ({ type: 'outline' as const, points })),
  fc.tuple(point, point).map(([from, to]) => ({ type: 'line' as const, from, to })),
  fc.tuple(point, point, point).map(([from, corner, to]) => ({ type: 'angle' as const, from, corner, to })),
);
const pose: fc.Arbitrary<Pose> = fc.record({
  xPx: number,
  yPx: number,
  rotationDeg: fc.double({ min: -180, max: 180, noNaN: true }),
  umPerPx: fc.double({ min: 0.1, max: 10, noNaN: true }),
});

const DRAFT: MarkDraft = {
  stylusId: 'stylus0001',
  view: 'front',
  captureId: 'capture001',
  kind: 'chip',
  state: 'suspected',
  frame: 'tip',
  unit: 'um',
  shape: { type: 'point', at: [0, 18] },
  size: null,
  note: '',
  seenBy: '',
  seenOn: '2024-05-01',
  proposed: null,
};

describe('shapes of marks', () => {
  it('come back from a picture as they went, whatever its pose', () => {
    fc.assert(
      fc.property(shape, pose, (one, at) => {
        const back = pointsOf(shapeFromPicture(shapeToPicture(one, at), at)).flat();
        pointsOf(one)
          .flat()
          .forEach((value, i) => expect(back[i]).toBeCloseTo(value, 6));
      }),
    );
  });

  it('keep their kind and the order of their points', () => {
    fc.assert(
      fc.property(shape, (one) => {
        expect(withPoints(one, pointsOf(one))).toEqual(one);
        expect(movedShape(one, (p) => p)).toEqual(one);
      }),
    );
  });

  it('measure a line by its length and an outline by its largest extent', () => {
    expect(lengthOfShape({ type: 'line', from: [0, 0], to: [3, 4] })).toBe(5);
    const points: [number, number][] = [
      [0, 0],
      [6, 0],
      [6, 8],
    ];
    expect(lengthOfShape({ type: 'outline', points })).toBe(10);
    expect(lengthOfShape({ type: 'point', at: [1, 1] })).toBeNull();
  });

  it.each([
    { to: [10, 0], between: 0 },
    { to: [0, 10], between: 90 },
    { to: [0, -10], between: 90 },
    { to: [-10, 0], between: 180 },
    { to: [-10, 10], between: 135 },
  ] as const)('see $between degrees between the arms, whichever way they open', ({ to, between }) => {
    const angle = { type: 'angle', from: [10, 0], corner: [0, 0], to: [...to] } as const;
    const own: Extract<MarkShape, { type: 'angle' }> = {
      ...angle,
      from: [10, 0],
      corner: [0, 0],
      to: [...to],
    };
    expect(angleBetween(own)).toBeCloseTo(between, 10);
  });

  it('state a bend as the departure from straight, and an arm without length as no angle', () => {
    // 10 to the right, then 10 more that rise by tan 5 degrees.
    const rise = -10 * Math.tan((5 * Math.PI) / 180);
    const bent: MarkShape = { type: 'angle', from: [0, 0], corner: [10, 0], to: [20, rise] };
    expect(angleOfMark('bent-cantilever', bent)).toBeCloseTo(5, 10);
    expect(angleOfMark('turned-diamond', bent)).toBeCloseTo(175, 10);
    expect(angleOfMark('bent-cantilever', { ...bent, to: [10, 0] })).toBeNull();
    expect(angleOfMark('chip', { type: 'point', at: [0, 0] })).toBeNull();
  });
});

describe('the place of a capture in the tip frame', () => {
  const at = (xPx: number): Pose => ({ xPx, yPx: 0, rotationDeg: 0, umPerPx: 2 });
  const page: Placed = {
    captures: [
      { id: 'a', isBaseline: true, examination: null },
      { id: 'b', isBaseline: false, examination: { ok: true, drawing: { pose: at(9) } } },
      { id: 'c', isBaseline: false, examination: { ok: true, drawing: { pose: at(7) } } },
      { id: 'd', isBaseline: false, examination: { ok: false } },
    ],
    comparisons: [
      {
        baselineId: 'a',
        laterId: 'b',
        report: { ok: true, drawing: { baselinePose: at(1), laterPose: at(2) } },
      },
      { baselineId: 'a', laterId: 'c', report: { ok: false } },
    ],
  };

  it('is the registered one before the one found in the picture alone', () => {
    expect(tipPlaceOf(page, 'a')?.pose.xPx).toBe(1);
    expect(tipPlaceOf(page, 'b')?.pose.xPx).toBe(2);
    expect(tipPlaceOf(page, 'c')?.pose.xPx).toBe(7);
    expect(tipPlaceOf(page, 'd')).toBeNull();
  });

  it('carries a mark made in the pixels of a picture into the tip frame once that picture is placed', () => {
    const mark = {
      frame: 'picture',
      unit: 'px',
      shape: { type: 'point', at: [5, 3] },
      captureId: 'b',
    } as const;
    const own = { ...mark, shape: { type: 'point', at: [5, 3] } as MarkShape };
    expect(shapeInTipFrame(own, page, 'um')).toEqual({ type: 'point', at: [6, 6] });
    expect(shapeInTipFrame({ ...own, captureId: 'd' }, page, 'um')).toBeNull();
  });

  it('never mixes micrometres and per cent of the shank', () => {
    const own = { frame: 'tip' as const, unit: 'percent-of-shank' as const, captureId: 'a' };
    expect(shapeInTipFrame({ ...own, shape: DRAFT.shape }, page, 'um')).toBeNull();
  });
});

describe('the contract of a mark', () => {
  it('takes a mark in the tip frame in um and one in a picture in px, and nothing mixed', () => {
    expect(markDraftSchema.safeParse(DRAFT).success).toBe(true);
    expect(markDraftSchema.safeParse({ ...DRAFT, frame: 'picture', unit: 'px' }).success).toBe(true);
    expect(markDraftSchema.safeParse({ ...DRAFT, frame: 'picture' }).success).toBe(false);
    expect(markDraftSchema.safeParse({ ...DRAFT, unit: 'px' }).success).toBe(false);
  });

  it('refuses numbers that are none', () => {
    const shaped = (x: number) => ({ ...DRAFT, shape: { type: 'point', at: [x, 0] } });
    for (const x of [Number.NaN, Number.POSITIVE_INFINITY])
      expect(markDraftSchema.safeParse(shaped(x)).success).toBe(false);
  });
});

describe('the size of a mark in words', () => {
  const said = (mark: Partial<MarkDraft>): string =>
    markSizeWords(
      { kind: 'chip', proposed: null, size: null, unit: 'um', ...mark },
      ({ value, expanded }, unit) => `${value} ± ${expanded} ${unit}`,
      (value, unit) => `${value} ${unit}`,
    );
  const proposed = { kind: 'chip', angleDeg: 84, sizeUm: 7.9, depthUm: 2.3 };
  const read = { value: 7.9, expanded: null, unit: 'um', source: 'report' } as const;

  it('has the depth that was read off the outline, with its uncertainty or saying that there is none', () => {
    expect(said({ proposed, size: read })).toBe(
      '7.9 um long, 2.3 um deep; no uncertainty worked out for the length and depth',
    );
    const pair = { ...proposed, depthExpandedUm: 0.3 };
    expect(said({ proposed: pair, size: read })).toBe(
      '7.9 um long, 2.3 ± 0.3 um deep; no uncertainty worked out for the length',
    );
    expect(said({ kind: 'residue', proposed: { ...proposed, kind: 'residue' }, size: read })).toContain(
      '2.3 um high',
    );
    // Somebody pulled at its ends since: the length is theirs, the depth still the program's.
    expect(said({ proposed, size: { value: 6, expanded: 1.4, unit: 'um', source: 'drawn' } })).toBe(
      '6 ± 1.4 um long, 2.3 um deep; no uncertainty worked out for the depth',
    );
  });

  it('says of what was marked by hand whether it was measured', () => {
    expect(said({})).toBe('marked, not measured');
    expect(said({ kind: 'missing-diamond' })).toBe('');
    expect(said({ size: { value: 6, expanded: 1.4, unit: 'um', source: 'drawn' } })).toBe('6 ± 1.4 um');
    expect(said({ size: { value: 12.5, expanded: null, unit: 'um', source: 'typed' } })).toBe(
      '12.5 um, uncertainty not stated',
    );
  });

  it('leaves out a depth whose unit the mark does not have', () => {
    const pixels = { value: 9, expanded: 2, unit: 'px', source: 'drawn' } as const;
    expect(said({ proposed, unit: 'px', size: pixels })).toBe('9 ± 2 px');
  });
});
