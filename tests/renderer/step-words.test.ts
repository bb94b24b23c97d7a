import { describe, expect, it, vi } from 'vitest';
import { steppedText } from '../../renderer/state/history.ts';
import { createDaybook } from '../../renderer/state/store.ts';
import { fakeHost, stylusRow } from './fake-host.ts';

const around = (hash: string) => ({ storage: null, hash, writeHash: vi.fn<(hash: string) => void>() });

describe('the message of a step', () => {
  it.each([
    ['on its page', '#/stylus/stylus0001', 'Taken back: new entry (playing time).'],
    ['on the shelf', '#/', 'Taken back for “Second”: new entry (playing time).'],
    ['on another page', '#/stylus/stylus0002', 'Taken back for “Second”: new entry (playing time).'],
  ])('names the stylus of a step where it is not the one on show: %s', async (_name, hash, text) => {
    const styluses = [
      { ...stylusRow(), id: 'stylus0001', name: 'Second' },
      { ...stylusRow(), id: 'stylus0002', name: 'Other' },
    ];
    const step = { number: 1, title: 'new entry', at: '2024-01-01T00:00:00Z', entryKind: 'playing' as const };
    const about = { ...step, styluses: [{ id: 'stylus0001', name: 'Second' }] };
    const model = createDaybook(fakeHost({ styluses }, { 'history.undo': async () => about }), around(hash));
    await model.start();
    await model.undo();
    expect(model.store.getState().toasts.at(-1)?.text).toBe(text);
  });

  it('names up to three styluses, and counts more', () => {
    const names = ['A', 'B', 'C', 'D'];
    const of = (count: number): string =>
      steppedText(
        'redo',
        {
          number: 1,
          title: 'adding pictures',
          at: '',
          entryKind: null,
          styluses: names.slice(0, count).map((name) => ({ id: name, name })),
        },
        'A',
      );
    expect([1, 2, 3, 4, 0].map(of)).toEqual([
      'Done again: adding pictures.',
      'Done again for “A” and “B”: adding pictures.',
      'Done again for “A”, “B” and “C”: adding pictures.',
      'Done again for 4 styluses: adding pictures.',
      'Done again: adding pictures.',
    ]);
  });
});
