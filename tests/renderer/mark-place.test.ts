import { describe, expect, it } from 'vitest';
import { openForm, readForm } from '../../renderer/marks/mark-form.ts';
import { placeProblem, type PlaceGround } from '../../renderer/marks/place.ts';
import type { MarkDraft, MarkPoint, MarkShape } from '../../shared/index.ts';

/** A cone of half 30 degrees that ends in a ball of 18, pointing down, as long as outlines are drawn. */
function outline(): MarkPoint[] {
  const [sin, cos] = [0.5, Math.sqrt(3) / 2];
  const ball = Array.from({ length: 61 }, (_, i): MarkPoint => {
    const a = ((-30 + 4 * i) * Math.PI) / 180;
    return [18 * Math.cos(a), 18 * Math.sin(a)];
  });
  const flank = (side: 1 | -1, along: number): MarkPoint => [
    side * (18 * cos + along * sin),
    -18 * sin - along * cos,
  ];
  return [flank(1, 60), flank(1, 30), ...ball, flank(-1, 30), flank(-1, 60)];
}
const ground: PlaceGround = {
  picture: [
    [-300, -300],
    [300, -300],
    [300, 200],
    [-300, 200],
  ],
  part: { outline: outline(), far: 18 },
};
const point = (x: number, y: number): MarkShape => ({ type: 'point', at: [x, y] });

describe('the place of a mark', () => {
  it.each([
    ['in the tip', 0, 0],
    ['on the apex', 0, 18],
    ['a little outside of it, as a grain sits', 0, 30],
    ['on the shank above the outline', 40, -250],
  ])('is taken %s', (_name, x, y) => expect(placeProblem('residue', point(x, y), ground)).toBeNull());

  it('is asked about on the background, with its distance', () => {
    expect(placeProblem('chip', point(0, 118), ground)).toEqual({
      kind: 'background',
      away: expect.closeTo(100, 1),
    });
    expect(placeProblem('chip', point(150, 0), ground)?.kind).toBe('background');
    // A bend or a lean may be told at any place of the part, whose outline is the tip's alone.
    expect(placeProblem('bent-cantilever', point(150, 0), ground)).toBeNull();
    expect(placeProblem('chip', point(150, 0), { ...ground, part: null })).toBeNull();
  });

  it('is asked about only when all of it lies there', () => {
    const line: MarkShape = { type: 'line', from: [0, 17], to: [0, 160] };
    expect(placeProblem('crack', line, ground)).toBeNull();
  });

  it('is refused outside of the picture, point by point, whatever the kind', () => {
    const line: MarkShape = { type: 'line', from: [0, 10], to: [0, 260] };
    expect(placeProblem('other', line, ground)).toEqual({ kind: 'outside', points: [1] });
    const draft: MarkDraft = {
      stylusId: 'stylus0001',
      view: 'front',
      captureId: 'capture001',
      kind: 'other',
      state: 'suspected',
      frame: 'tip',
      unit: 'um',
      shape: line,
      size: null,
      note: '',
      seenBy: '',
      seenOn: '2024-06-01',
      proposed: null,
    };
    const sizing = { unit: 'um', factor: 1, pointing: 0.5, relative: 0 } as const;
    const read = (shape: MarkShape, kind: MarkDraft['kind'] = 'other') =>
      readForm(openForm({ ...draft, kind, shape }, 'um'), sizing, 'um', ground);
    expect(read(line)).toEqual({ draft: null, errors: { point1: 'Outside the picture.' } });
    expect(read(point(0, 118), 'chip').away).toBeCloseTo(100, 1);
    expect(read(point(0, 10), 'chip')).not.toHaveProperty('away');
  });
});
