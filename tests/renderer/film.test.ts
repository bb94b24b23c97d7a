import { describe, expect, it } from 'vitest';
import { films } from '../../renderer/stylus/film-data.ts';
import { captureRow, comparisonRow, pageOf, stylusRow } from './fake-host.ts';
import { answered, flatPair, measured } from './reports.ts';

const pose = (xPx: number) => ({ xPx, yPx: 300, rotationDeg: 3, umPerPx: 1 });
const drawing = (later: number) => ({
  baselinePose: pose(320),
  laterPose: pose(later),
  baselineContour: [],
  laterContour: [],
  profile: [],
});

describe('the film', () => {
  const stylus = stylusRow();
  const on = (wall: string, part = {}) =>
    captureRow(stylus.id, { taken: { wall, offset: null, source: 'person' }, ...part });
  const baseline = on('2024-01-06', { isBaseline: true });
  const [later, last, loose] = [on('2024-07-01'), on('2025-01-01'), on('2025-02-01')];
  const side = on('2025-02-01', { view: 'side' });
  const flat = flatPair(measured(6, 0.7));
  const page = pageOf(
    {
      styluses: [stylus],
      captures: [last, baseline, loose, later, side],
      comparisons: [
        comparisonRow(stylus.id, baseline.id, last.id, answered(flat, flat, { drawing: drawing(340) })),
        comparisonRow(stylus.id, baseline.id, later.id, answered(flat, flat, { drawing: drawing(330) })),
        // Another baseline has another tip frame: not in this film.
        comparisonRow(stylus.id, later.id, loose.id, answered(flat, flat, { drawing: drawing(900) })),
      ],
      entries: [],
    },
    stylus.id,
  );

  it('takes the pictures of one baseline, oldest first, each with its own pose, and says which are not in it', () => {
    const [film, ...more] = films(page);
    expect(more).toEqual([]);
    expect(film.frames.map(({ capture, pose: at }) => [capture.id, at.xPx])).toEqual([
      [baseline.id, 320],
      [later.id, 330],
      [last.id, 340],
    ]);
    expect(film.left.map(({ id }) => id)).toEqual([loose.id]);
  });

  it('is none without a registered pair', () => {
    expect(films({ ...page, comparisons: [] })).toEqual([]);
  });
});
