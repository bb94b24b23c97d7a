import { describe, expect, it } from 'vitest';
import { flatPoints } from '../../../core/wear/index.ts';
import { adviceOn } from '../../../electron/host/advice.ts';
import { destroyBinned } from '../../../electron/host/store/bin.ts';
import { outdatedExaminations } from '../../../electron/host/store/captures-outdated.ts';
import { addCapture, storeResult, updateCapture } from '../../../electron/host/store/captures.ts';
import { listStyluses } from '../../../electron/host/store/cards.ts';
import { addComparison, outdatedComparisons } from '../../../electron/host/store/comparisons.ts';
import type { Database } from '../../../electron/host/store/database.ts';
import { addEntry, setBinned, updateEntry } from '../../../electron/host/store/entries.ts';
import { asGesture } from '../../../electron/host/store/gestures.ts';
import { stepHistory } from '../../../electron/host/store/history.ts';
import { ledgerOf } from '../../../electron/host/store/hours.ts';
import { chooseStudies, createStudy, listStudies } from '../../../electron/host/store/studies.ts';
import {
  createStylus,
  retireStylus,
  stylusPage,
  updateStylus,
} from '../../../electron/host/store/styluses.ts';
import { createWatch, readsOf, writesTo } from '../../../electron/host/store/watch.ts';
import { courseOf } from '../../../electron/host/wear/course.ts';
import { measuredFlats } from '../../../electron/host/wear/flats.ts';
import { Refusal, type EntryDraft } from '../../../shared/index.ts';
import { answered, flatPair, measured } from '../../renderer/reports.ts';
import { DRAFT, FACTS } from '../support.ts';
import { examined, opened, originalOf } from './made.ts';

describe('places that a question reads', () => {
  it('are tables, or of the first one the rows of a stylus', () => {
    expect(readsOf('SELECT * FROM entry WHERE stylus_id = ? AND binned_at IS NULL')).toEqual({
      tables: ['entry'],
      scoped: 'entry',
    });
    expect(readsOf('SELECT id FROM stylus WHERE id = ?').scoped).toBe('stylus');
    expect(
      readsOf('SELECT * FROM capture LEFT JOIN capture_brief ON 1 WHERE capture.stylus_id = ? AND x = ?'),
    ).toEqual({ tables: ['capture'], scoped: 'capture' });
  });

  it.each([
    'SELECT * FROM entry',
    'SELECT * FROM entry WHERE id = ?',
    'SELECT * FROM entry WHERE date = ? AND stylus_id = ?',
    'SELECT * FROM entry WHERE stylus_id = ? OR kind = ?',
    'SELECT * FROM entry WHERE stylus_id = ? UNION SELECT * FROM entry',
    'SELECT ? FROM entry WHERE stylus_id = ?',
    'SELECT * FROM entry WHERE stylus_id = ?1',
    'SELECT * FROM capture JOIN capture AS other ON 1 WHERE capture.stylus_id = ?',
    'SELECT * FROM stylus WHERE id <> ?',
  ])('are whole tables for %s', (sql) => {
    expect(readsOf(sql).scoped).toBeNull();
  });

  it('are written by name, and anything that is no plain writing touches all', () => {
    expect(['INSERT INTO a VALUES (1)', 'UPDATE b SET x = 1', 'DELETE FROM c_brief'].map(writesTo)).toEqual([
      'a',
      'b',
      'c',
    ]);
    expect(writesTo('PRAGMA query_only = ON')).toBeNull();
    const watch = createWatch();
    const now = watch.clock();
    watch.wrote('PRAGMA query_only = ON');
    expect(watch.changedSince(new Set(['entry/abc']), now)).toBe(true);
  });

  it('are known row by row for a while, then not', () => {
    const watch = createWatch();
    const change = (id: string, owner: string) => watch.rowsOf('entry', () => [{ id, owner }]);
    change('first', 'abc');
    const since = watch.clock();
    change('second', 'abc');
    change('third', 'other');
    expect(watch.rowsSince('entry/abc', since)).toEqual(new Set(['second']));
    expect(watch.changedSince(new Set(['entry/def']), since)).toBe(false);
    expect(watch.changedSince(new Set(['entry']), since)).toBe(true);
    for (let n = 0; n < 500; n++) change(`row ${n}`, 'abc');
    expect(watch.rowsSince('entry/abc', since)).toBeNull();
    expect(watch.rowsSince('entry/other', since)).toEqual(new Set(['third']));
  });
});

/** Everything that is remembered somewhere, asked of one copy of the database's wrapper. */
function everything(db: Database, ids: readonly string[]): unknown {
  const today = '2031-06-01';
  return {
    cards: listStyluses(db),
    studies: listStudies(db),
    outdated: [outdatedComparisons(db), outdatedExaminations(db)],
    each: ids.map((id) => [
      stylusPage(db, id, 'without-lines'),
      courseOf(db, id, { today, practiceHours: [400, 1000] }),
      adviceOn(db, id),
    ]),
  };
}

/** Even numbers from 0 to `below`, always the same ones. */
function numbers(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return Math.floor((state / 2 ** 32) * below);
  };
}

describe('what is remembered', () => {
  it('is what would be read anew, whatever was done before', async () => {
    const db = await opened();
    const any = numbers(7);
    const of = <T>(list: readonly T[]): T => list[any(list.length)];
    const day = (): string => `20${10 + any(20)}-0${1 + any(9)}-1${any(10)}`;
    const entries: string[] = [];
    const captures: [id: string, stylusId: string][] = [];
    const comparisons: string[] = [];
    const ids = [1, 2, 3].map((n) => createStylus(db, { ...DRAFT, name: `Number ${n}`, limitUm: 9 }).id);
    const entry = (): EntryDraft =>
      of([
        {
          stylusId: of(ids),
          kind: 'playing',
          date: day(),
          played: { amount: 1, unit: 'hours', minutesPerSide: 20, hours: 1 + any(90), estimated: false },
          text: '',
        },
        { stylusId: of(ids), kind: 'cleaning', date: day(), played: null, text: 'With a brush.' },
      ]);
    const addPicture = (studyId?: string, on = of(ids)): void => {
      const original = originalOf(any(256), any(256), any(256), any(256));
      const { view, light, mirrored, scale, notes } = FACTS;
      const facts = {
        view,
        light,
        mirrored,
        scale,
        notes,
        taken: { wall: day(), offset: null, source: 'person' as const },
        microscope: 'Hand-held',
        isBaseline: studyId === undefined && any(4) === 0,
      };
      captures.push([
        addCapture(db, { ...facts, stylusId: on, fileName: 'a.png', original, studyId }).id,
        on,
      ]);
    };
    const report = (width: number) =>
      answered(flatPair(measured(width, 0.6)), flatPair(measured(width + 1, 0.6)));
    const doings: Record<string, () => void> = {
      add: () => void entries.push(addEntry(db, entry()).id),
      change: () => void updateEntry(db, of(entries), entry()),
      picture: () => addPicture(),
      describe: () =>
        void updateCapture(db, of(captures)[0], {
          ...FACTS,
          isBaseline: any(2) === 0,
          microscope: 'Another',
        }),
      compare: () => {
        const [laterId, stylusId] = of(captures);
        const [baselineId] = of(captures);
        const inputs = { view: 'front' as const, baselineScale: null, laterScale: null };
        comparisons.push(
          addComparison(db, {
            stylusId,
            baselineId,
            laterId,
            engineVersion: 'invented',
            inputs,
            report: report(1 + any(8)),
          }).id,
        );
      },
      examine: () => storeResult(db, of(captures)[0], 'examination', examined(1 + any(6))),
      binEntry: () => void setBinned(db, 'entry', of(entries), any(3) > 0),
      binPicture: () => void setBinned(db, 'capture', of(captures)[0], any(3) === 0),
      binComparison: () => void setBinned(db, 'comparison', of(comparisons), any(2) === 0),
      binStylus: () => void setBinned(db, 'stylus', of(ids), any(4) === 0),
      rename: () =>
        void updateStylus(db, of(ids), { ...DRAFT, limitUm: any(2) === 0 ? null : 8, startHours: any(5) }),
      retire: () =>
        void retireStylus(db, of(ids), { date: day(), reason: 'worn', successorId: of([...ids, null]) }),
      study: () => {
        const stylusId = of(ids);
        const study = createStudy(db, {
          stylusId,
          day: day(),
          who: 'Somebody',
          microscope: 'Hand-held',
          notes: '',
        });
        addPicture(study.id, stylusId);
      },
      choose: () =>
        chooseStudies(
          db,
          'Hand-held',
          listStudies(db)
            .slice(0, any(2))
            .map(({ study }) => study.id),
        ),
      undo: () => void stepHistory(db, 'undo', null),
      redo: () => void stepHistory(db, 'redo', null),
      failed: () =>
        db.transaction(() => {
          addEntry(db, entry());
          everything(db, ids);
          throw new Refusal('bad-input', 'Taken back.');
        }),
    };
    doings['add']();
    for (let n = 0; n < 6; n++) addPicture();
    doings['compare']();
    const done: string[] = [];
    for (let step = 0; step < 100; step++) {
      const name = of(Object.keys(doings));
      try {
        asGesture(name, null, doings[name]);
        done.push(name);
      } catch (error) {
        // Nothing to undo, a stylus that would follow itself: refused, and nothing changed.
        if (!(error instanceof Refusal)) throw error;
      }
      // A wrapper that nobody asked before remembers nothing.
      expect(everything(db, ids), `after ${done.slice(-3).join(', ')}`).toEqual(everything({ ...db }, ids));
      // The wear law reads the flats alone, the window its whole page: the same points.
      for (const id of ids) {
        const { ledger } = ledgerOf(db, id);
        expect(flatPoints(measuredFlats(db, id), ledger)).toEqual(flatPoints(stylusPage(db, id), ledger));
      }
    }
    destroyBinned(db, '9999-01-01');
    const left = db.all('SELECT id FROM stylus').map(({ id }) => String(id));
    expect(everything(db, left)).toEqual(everything({ ...db }, left));
    expect(new Set(done).size).toBeGreaterThan(12);
  }, 120_000);

  it('stands while another stylus is written to, and is built on where rows are known', async () => {
    const db = await opened();
    const [own, other] = [1, 2].map(() => createStylus(db, DRAFT).id);
    const note = (stylusId: string, date: string) =>
      addEntry(db, { stylusId, kind: 'note', date, played: null, text: date });
    note(own, '2020-01-01');
    note(own, '2022-01-01');
    const before = stylusPage(db, own, 'without-lines').entries;
    note(other, '2021-01-01');
    expect(stylusPage(db, own, 'without-lines').entries).toBe(before);
    note(own, '2021-01-01');
    const after = stylusPage(db, own, 'without-lines').entries;
    expect(after.map(({ date }) => date)).toEqual(['2020-01-01', '2021-01-01', '2022-01-01']);
    expect([after[0], after[2]]).toEqual(before);
    expect(after[0]).toBe(before[0]);
  });
});
