import { expect, it } from 'vitest';
import { addCapture, updateCapture } from '../../../electron/host/store/captures.ts';
import { setBinned } from '../../../electron/host/store/entries.ts';
import { knownPictures } from '../../../electron/host/store/known-pictures.ts';
import { createStylus, stylusPage } from '../../../electron/host/store/styluses.ts';
import { pictureFactsSchema, type Scale } from '../../../shared/index.ts';
import { DRAFT, FACTS } from '../support.ts';
import { opened, originalOf } from './made.ts';

it('tells of every stylus the last picture, the baselines and one picture for each scale, and no reports', async () => {
  const db = await opened();
  const [one, other] = ['One', 'Other'].map((name) => createStylus(db, { ...DRAFT, name }).id);
  const { parts: _, ...facts } = FACTS;
  const fine: Scale = { umPerPx: 0.5, standardUmPerPx: null, source: 'typed' };
  const coarse: Scale = { ...fine, umPerPx: 2 };
  let made = 0;
  const add = (stylusId: string, wall: string, scale: Scale | null, isBaseline = false): string =>
    addCapture(db, {
      ...facts,
      stylusId,
      scale,
      isBaseline,
      microscope: 'Hand-held',
      taken: { wall, offset: null, source: 'person' },
      fileName: 'a.png',
      original: originalOf(++made),
    }).id;
  const baseline = add(one, '2020-01-01', fine, true);
  add(one, '2021-01-01', fine);
  const coarseOne = add(one, '2022-01-01', coarse);
  // The newest of its kind by its day; the next one came in later.
  const newest = add(one, '2024-01-01', fine);
  // Later by the clock of the rows, which counts milliseconds.
  await new Promise((resolve) => setTimeout(resolve, 5));
  const lastIn = add(one, '2023-01-01', fine);
  const last = add(one, '2025-01-01', null);
  const told = () => knownPictures(db).map(({ captures }) => captures.map(({ id }) => id));
  expect(told()).toEqual([[baseline, coarseOne, lastIn, newest, last], []]);
  const page = stylusPage(db, one, 'without-lines').captures;
  for (const picture of knownPictures(db)[0].captures)
    expect(picture).toEqual(pictureFactsSchema.parse(page.find(({ id }) => id === picture.id)));
  setBinned(db, 'capture', last, true);
  expect(told()[0].at(-1)).toBe(newest);
  const taken = { wall: '2022-01-01', offset: null, source: 'person' as const };
  updateCapture(db, coarseOne, {
    ...facts,
    taken,
    microscope: 'Hand-held',
    scale: fine,
    isBaseline: false,
  });
  expect(told()[0]).not.toContain(coarseOne);
  const away = add(other, '2024-01-01', coarse);
  expect(told()[1]).toEqual([away]);
  setBinned(db, 'stylus', other, true);
  expect(told()).toHaveLength(1);
});
