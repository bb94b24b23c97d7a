import { describe, expect, it } from 'vitest';
import {
  addCapture,
  readCapture,
  storeResult,
  updateCapture,
} from '../../../electron/host/store/captures.ts';
import { listStyluses } from '../../../electron/host/store/cards.ts';
import { destroyBinned } from '../../../electron/host/store/bin.ts';
import { addComparison } from '../../../electron/host/store/comparisons.ts';
import type { Database } from '../../../electron/host/store/database.ts';
import { setBinned } from '../../../electron/host/store/entries.ts';
import { remembered } from '../../../electron/host/store/memo.ts';
import { createStylus, stylusPage } from '../../../electron/host/store/styluses.ts';
import type { ComparisonReport, View } from '../../../shared/index.ts';
import { answered, flatPair, measured } from '../../renderer/reports.ts';
import { DRAFT, FACTS } from '../support.ts';
import { examined, opened, originalOf } from './made.ts';

/** The shelf's cards, and a stylus read for its numbers only; both must stay quick when a collection has grown. */
const POSE = { xPx: 10, yPx: 20, rotationDeg: 3, umPerPx: 1 };
const LINE: [number, number][] = Array.from({ length: 400 }, (_, i) => [i, i]);
const PROFILE: [number, number, number][] = LINE.map(([a, b]) => [a, b, 1]);

const compared = (width: number): ComparisonReport => ({
  ...answered(flatPair(measured(width, 1)), flatPair(measured(width + 1, 1))),
  drawing: {
    baselinePose: POSE,
    laterPose: POSE,
    baselineContour: LINE,
    laterContour: LINE,
    profile: PROFILE,
  },
});

const drawn = (width: number) => examined(width, { pose: POSE, contour: LINE, profile: PROFILE });

let made = 0;
function capture(db: Database, stylusId: string, wall: string | null, view: View = 'front'): string {
  const { parts: _, ...facts } = FACTS;
  return addCapture(db, {
    ...facts,
    stylusId,
    view,
    fileName: 'a.png',
    taken: wall === null ? null : { wall, offset: null, source: 'person' },
    original: originalOf(++made % 256, made >> 8),
  }).id;
}

function compare(db: Database, stylusId: string, laterId: string, baselineId: string, width: number): string {
  const inputs = { view: 'front' as const, baselineScale: FACTS.scale, laterScale: FACTS.scale };
  const report = compared(width);
  return addComparison(db, { stylusId, baselineId, laterId, engineVersion: 'x', inputs, report }).id;
}

describe('the shelf', () => {
  it('shows the newest dated picture, the newest front picture, and the newest widths that were answered', async () => {
    const db = await opened();
    const { id } = createStylus(db, DRAFT);
    const baseline = capture(db, id, '2020-01-01');
    const second = capture(db, id, '2021-01-01T08:00');
    const third = capture(db, id, '2022-01-01');
    capture(db, id, '2023-01-01', 'side');
    compare(db, id, second, baseline, 5);
    const newest = compare(db, id, third, baseline, 7);
    const card = () => listStyluses(db)[0];
    expect(card()).toMatchObject({
      captureCount: 4,
      lastCapture: { wall: '2023-01-01' },
      coverCaptureId: third,
      lastFlats: { leftUm: 7, leftExpandedUm: expect.any(Number) as unknown, rightUm: 8 },
    });
    setBinned(db, 'comparison', newest, true);
    expect(card().lastFlats).toMatchObject({ leftUm: 5 });
    setBinned(db, 'comparison', newest, false);
    setBinned(db, 'capture', third, true);
    expect(card()).toMatchObject({ captureCount: 3, coverCaptureId: second, lastFlats: { leftUm: 5 } });
    setBinned(db, 'capture', baseline, true);
    storeResult(db, second, 'examination', drawn(6));
    expect(card().lastFlats).toMatchObject({ leftUm: 6 });
  });

  it('has a card for a stylus with nothing on it, and takes an undated picture as the latest', async () => {
    const db = await opened();
    const { id } = createStylus(db, DRAFT);
    expect(listStyluses(db)[0]).toMatchObject({
      captureCount: 0,
      lastCapture: null,
      lastFlats: null,
      coverCaptureId: null,
    });
    capture(db, id, '2020-01-01');
    const undated = capture(db, id, null);
    expect(listStyluses(db)[0]).toMatchObject({
      coverCaptureId: undated,
      lastCapture: { wall: '2020-01-01' },
    });
  });
});

describe('a stylus read for its numbers', () => {
  it('leaves outlines and profiles in the database and is otherwise the same', async () => {
    const db = await opened();
    const { id } = createStylus(db, DRAFT);
    const baseline = capture(db, id, '2020-01-01');
    const later = capture(db, id, '2021-01-01');
    storeResult(db, baseline, 'examination', drawn(6));
    compare(db, id, later, baseline, 5);
    const whole = stylusPage(db, id);
    const light = stylusPage(db, id, 'without-lines');
    expect(JSON.stringify(light).length).toBeLessThan(JSON.stringify(whole).length / 4);
    const emptied = JSON.parse(JSON.stringify(whole)) as typeof whole;
    const { report } = emptied.comparisons[0];
    const { examination } = emptied.captures[0];
    if (!report.ok || !report.drawing || !examination?.ok || !examination.drawing)
      throw new Error('the pair has nothing to draw');
    Object.assign(report.drawing, { baselineContour: [], laterContour: [], profile: [] });
    Object.assign(examination.drawing, { contour: [], profile: [] });
    expect(light).toEqual(emptied);
  });

  it('follows every change of a report, has nothing left of one that was destroyed, and does without', async () => {
    const db = await opened();
    const { id } = createStylus(db, DRAFT);
    const baseline = capture(db, id, '2020-01-01');
    const later = capture(db, id, '2021-01-01');
    const budget = [{ source: 'noise', standard: 1, type: 'A' as const, degreesOfFreedom: null, note: '' }];
    const first = drawn(6);
    if (!first.ok || !first.flats) throw new Error('no flats');
    first.flats.left.budget = budget;
    storeResult(db, baseline, 'examination', first);
    const compared = compare(db, id, later, baseline, 5);
    const light = () => stylusPage(db, id, 'without-lines').captures[0].examination;
    const widthOf = (report: ReturnType<typeof light>) =>
      report?.ok ? report.flats?.left.widthUm.value : undefined;
    const whole = stylusPage(db, id).captures[0].examination;
    expect(whole?.ok && whole.flats?.left.budget).toEqual(budget);
    const brief = light();
    expect(brief?.ok && brief.flats?.left.budget).toBe(undefined);
    storeResult(db, baseline, 'examination', drawn(9));
    expect(widthOf(light())).toBe(9);
    const facts = { ...readCapture(db, baseline), view: 'side' as const };
    updateCapture(db, baseline, facts);
    expect(light()).toBe(null);
    storeResult(db, baseline, 'examination', drawn(7));
    const count = (table: string) => Number(db.get(`SELECT count(*) AS n FROM ${table}`)?.['n']);
    expect([count('capture_brief'), count('comparison_brief')]).toEqual([1, 1]);
    const page = stylusPage(db, id, 'without-lines');
    db.run('DELETE FROM capture_brief');
    db.run('DELETE FROM comparison_brief');
    expect(stylusPage(db, id, 'without-lines')).toEqual(page);
    storeResult(db, baseline, 'examination', drawn(8));
    setBinned(db, 'comparison', compared, true);
    setBinned(db, 'capture', baseline, true);
    expect([count('capture_brief'), count('comparison_brief')]).toEqual([1, 1]);
    destroyBinned(db, '9999');
    expect([count('capture_brief'), count('comparison_brief')]).toEqual([0, 0]);
  });

  it('costs no reading of reports that stand in the rows, however many there are', async () => {
    const db = await opened();
    const { id } = createStylus(db, DRAFT);
    const baseline = capture(db, id, '2020-01-01');
    compare(db, id, capture(db, id, '2021-01-01'), baseline, 5);
    const plan = (sql: string) =>
      db
        .all(`EXPLAIN QUERY PLAN ${sql}`, id)
        .map((row) => String(row['detail']))
        .join('\n');
    for (const sql of [
      'SELECT count(*) FROM capture WHERE stylus_id = ? AND binned_at IS NULL',
      'SELECT taken_wall, taken_offset, taken_source FROM capture WHERE stylus_id = ? AND binned_at IS NULL',
      'SELECT id FROM comparison WHERE stylus_id = ? AND binned_at IS NULL',
    ])
      expect(plan(sql)).toContain('COVERING INDEX');
    const columns = db.all('PRAGMA table_info(capture)').map((row) => String(row['name']));
    expect(columns.slice(-2)).toEqual(['cantilever', 'examination']);
  });
});

describe('what is remembered', () => {
  it('is asked again after a change of what it read, and after one that failed', async () => {
    const db = await opened();
    let asked = 0;
    const ask = () =>
      remembered(db, 'question', () => {
        db.get('SELECT count(*) FROM stylus');
        return { asked: ++asked };
      });
    expect([ask(), ask()]).toEqual([{ asked: 1 }, { asked: 1 }]);
    createStylus(db, DRAFT);
    expect(ask()).toEqual({ asked: 2 });
    expect(() =>
      db.transaction(() => {
        db.run('DELETE FROM stylus');
        expect(ask()).toEqual({ asked: 3 });
        throw new Error('no');
      }),
    ).toThrow('no');
    expect([ask(), ask()]).toEqual([{ asked: 4 }, { asked: 4 }]);
    expect(remembered(db, 'another', () => 7)).toBe(7);
  });
});
