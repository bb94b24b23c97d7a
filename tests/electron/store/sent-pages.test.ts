import { expect, it, onTestFinished } from 'vitest';
import { openCollection } from '../../../electron/host/store/collection.ts';
import { addEntry, setBinned, updateEntry } from '../../../electron/host/store/entries.ts';
import { asGesture } from '../../../electron/host/store/gestures.ts';
import { stepHistory } from '../../../electron/host/store/history.ts';
import { createSentPages } from '../../../electron/host/store/sent-pages.ts';
import { createStylus, stylusPage, updateStylus } from '../../../electron/host/store/styluses.ts';
import { joined, type StylusPage } from '../../../shared/index.ts';
import { DRAFT, temporaryFolder } from '../support.ts';

it('tells a page by what became different, for as long as the state is known', async () => {
  const collection = await openCollection({ folder: temporaryFolder(), who: 'a test' });
  onTestFinished(() => collection.close());
  const { db } = collection;
  const [id, other] = [1, 2].map(() => createStylus(db, DRAFT).id);
  const note = (stylusId: string, date: string) =>
    asGesture('a note', null, () =>
      addEntry(db, { stylusId, kind: 'note', date, played: null, text: `of ${date}` }),
    );
  const first = note(id, '2020-01-01');
  const second = note(id, '2022-01-01');
  const pages = createSentPages(db);
  let held: StylusPage = pages.open(id);
  const steps: [told: number, work: () => unknown][] = [
    [0, () => note(other, '2021-01-01')],
    [1, () => note(id, '2021-01-01')],
    [1, () => updateEntry(db, first.id, { ...first, text: 'Another.' })],
    // Moved to its new place; what it passed on the way stands between.
    [2, () => updateEntry(db, first.id, { ...first, date: '2021-06-01' })],
    [0, () => setBinned(db, 'entry', second.id, true)],
    [1, () => setBinned(db, 'entry', second.id, false)],
    [0, () => stepHistory(db, 'undo', null)],
    [1, () => stepHistory(db, 'redo', null)],
    [0, () => updateStylus(db, id, { ...DRAFT, name: 'Renamed' })],
  ];
  for (const [told, work] of steps) {
    work();
    const change = pages.change(id, held.state ?? '')!;
    expect(change.entries.between).toHaveLength(told);
    held = {
      ...change,
      captures: joined(held.captures, change.captures),
      comparisons: joined(held.comparisons, change.comparisons),
      entries: joined(held.entries, change.entries),
    };
    const { state: _, ...shown } = held;
    expect(shown).toEqual(stylusPage(db, id, 'without-lines'));
  }
  expect(pages.change(other, held.state ?? '')).toBeNull();
  for (let n = 0; n < 5; n++) pages.open(other);
  expect(pages.change(id, held.state ?? '')).toBeNull();
  expect(pages.piece(id, held.state ?? '', 0)).toBeNull();
});

it('sends a long page in pieces, none of them large, and tells a great change in pieces, too', async () => {
  const collection = await openCollection({ folder: temporaryFolder(), who: 'a test' });
  onTestFinished(() => collection.close());
  const { db } = collection;
  const { id } = createStylus(db, DRAFT);
  const add = (count: number): void =>
    db.transaction(() => {
      for (let n = 0; n < count; n++)
        addEntry(db, { stylusId: id, kind: 'note', date: '2020-01-01', played: null, text: `${n}` });
    });
  add(4001);
  const pages = createSentPages(db);
  const { pieces, ...page } = pages.open(id);
  const rest = Array.from({ length: pieces }, (_, number) => pages.piece(id, page.state, number)!);
  const { entries } = stylusPage(db, id, 'without-lines');
  expect([page, ...rest].flatMap((piece) => piece.entries)).toEqual(entries);
  expect([page, ...rest].map((piece) => piece.entries.length)).toEqual([2000, 2000, 1]);
  expect(pages.piece(id, page.state, pieces)).toBeNull();
  add(100);
  expect(pages.change(id, page.state)?.entries.between).toHaveLength(100);
  add(2000);
  expect(pages.change(id, page.state)).toBeNull();
});
