import { describe, expect, it } from 'vitest';
import { addCapture } from '../../../electron/host/store/captures.ts';
import { openCollection } from '../../../electron/host/store/collection.ts';
import { addComparison } from '../../../electron/host/store/comparisons.ts';
import { addMark, readMark } from '../../../electron/host/store/marks.ts';
import { createStylus, stylusPage } from '../../../electron/host/store/styluses.ts';
import { shapeInTipFrame, type ComparisonReport, type MarkDraft } from '../../../shared/index.ts';
import { answered, flatPair, measured } from '../../renderer/reports.ts';
import { DRAFT, sha256, temporaryFolder } from '../support.ts';

/** A shank of 250 um at 1 um per pixel: per cent of it per pixel are 0.4. */
const UM_PER_PERCENT = 2.5;

const report = (unit: 'um' | 'percent-of-shank', umPerPx: number): ComparisonReport => {
  const f = unit === 'um' ? 1 : 1 / UM_PER_PERCENT;
  const pose = { xPx: 400, yPx: 300, rotationDeg: 10, umPerPx: umPerPx * f };
  return answered(flatPair(measured(8 * f, 0.6 * f)), flatPair(measured(7 * f, 0.6 * f)), {
    unit,
    drawing: { baselinePose: pose, laterPose: pose, baselineContour: [], laterContour: [], profile: [] },
  });
};

async function withPair() {
  const collection = await openCollection({ folder: temporaryFolder(), who: 'the tests' });
  const { db } = collection;
  const { id: stylusId } = createStylus(db, DRAFT);
  const [baseline, later] = ['first', 'second'].map((name, n) =>
    addCapture(db, {
      stylusId,
      fileName: `${name}.png`,
      original: {
        sha256: sha256(new TextEncoder().encode(name)),
        mediaType: 'image/png',
        byteLength: 10,
        widthPx: 800,
        heightPx: 600,
      },
      view: 'front',
      light: 'backlit',
      mirrored: null,
      taken: null,
      scale: null,
      microscope: '',
      isBaseline: n === 0,
      notes: '',
    }),
  );
  const compare = (unit: 'um' | 'percent-of-shank', umPerPx = 1) =>
    addComparison(db, {
      stylusId,
      baselineId: baseline.id,
      laterId: later.id,
      engineVersion: 'test',
      inputs: { view: 'front', baselineScale: null, laterScale: null },
      report: report(unit, umPerPx),
    });
  const draft: MarkDraft = {
    stylusId,
    view: 'front',
    captureId: later.id,
    kind: 'chip',
    state: 'confirmed',
    frame: 'tip',
    unit: 'percent-of-shank',
    shape: { type: 'line', from: [-2, 7], to: [2, 6] },
    size: { value: 4.8, expanded: null, unit: 'percent-of-shank', source: 'report' },
    note: '',
    seenBy: '',
    seenOn: '2024-06-01',
    proposed: { kind: 'chip', angleDeg: 98, sizeUm: 4.8, depthUm: 1.2 },
  };
  return { db, stylusId, compare, draft };
}

describe('a mark of a pair that is compared again', () => {
  it('keeps its place and its size when the scale became known, and gets them back when it goes', async () => {
    const { db, stylusId, compare, draft } = await withPair();
    compare('percent-of-shank');
    const { id } = addMark(db, draft);
    compare('um');
    const carried = readMark(db, id);
    expect(carried).toMatchObject({ id, state: 'confirmed', unit: 'um', seenOn: '2024-06-01' });
    expect(carried.shape).toEqual({ type: 'line', from: [-5, 17.5], to: [5, 15] });
    expect(carried.size).toMatchObject({ value: 12, unit: 'um', source: 'report' });
    expect(carried.proposed).toMatchObject({ angleDeg: 98, sizeUm: 12, depthUm: 3 });
    expect(shapeInTipFrame(carried, stylusPage(db, stylusId), 'um')).toEqual(carried.shape);
    compare('percent-of-shank');
    expect(readMark(db, id).shape).toEqual(draft.shape);
    expect(readMark(db, id).size?.value).toBeCloseTo(4.8, 12);
  });

  it('is left alone when the unit stays, and so is one that lives in the pixels of its picture', async () => {
    const { db, compare, draft } = await withPair();
    compare('percent-of-shank');
    const tip = addMark(db, draft);
    const pixels = addMark(db, { ...draft, frame: 'picture', unit: 'px', size: null });
    compare('percent-of-shank');
    expect(readMark(db, tip.id)).toEqual(tip);
    compare('um', 1.02);
    compare('um', 1);
    expect(readMark(db, pixels.id)).toEqual(pixels);
    expect(readMark(db, tip.id).size?.value).toBeCloseTo(4.8 * 2.5 * 1.02, 10);
  });
});
