import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import type { InputOf, MarkDraft, StylusPage } from '../../shared/index.ts';
import {
  DRAFT,
  FACTS,
  addPicture,
  buildHost,
  picture,
  temporaryFolder,
  testHost,
  type TestHost,
} from './support.ts';

beforeAll(buildHost);

const note = (stylusId: string, text: string): InputOf<'entry.add'> => ({
  stylusId,
  kind: 'note',
  date: '2024-05-01',
  played: null,
  text,
});

async function start(): Promise<{ host: TestHost; stylusId: string; folder: string }> {
  const folder = temporaryFolder();
  const host = await testHost(folder);
  const { id: stylusId } = await host.ask('stylus.create', DRAFT);
  return { host, stylusId, folder };
}

const undo = (host: TestHost) => host.ask('history.undo', { number: null });
const redo = (host: TestHost) => host.ask('history.redo', { number: null });
const page = (host: TestHost, id: string): Promise<StylusPage> => host.ask('stylus.page', { id });

describe('undo and redo', () => {
  it('take back one step after the other and do them again, newest first', async () => {
    const { host, stylusId } = await start();
    await host.ask('entry.add', note(stylusId, 'one'));
    const { id } = await host.ask('entry.add', note(stylusId, 'two'));
    await host.ask('entry.update', { id, draft: note(stylusId, 'three') });
    const texts = async () => (await page(host, stylusId)).entries.map(({ text }) => text);
    expect((await undo(host)).title).toBe('edit of an entry');
    expect(await texts()).toEqual(['one', 'two']);
    expect((await undo(host)).title).toBe('new entry');
    expect(await texts()).toEqual(['one']);
    await redo(host);
    expect(await texts()).toEqual(['one', 'two']);
    await redo(host);
    expect(await texts()).toEqual(['one', 'three']);
    await expect(redo(host)).rejects.toThrow('nothing to do again');
  });

  it('say whose step it was and of which kind of entry, for whoever looks at something else by then', async () => {
    const { host, stylusId } = await start();
    await host.ask('entry.add', note(stylusId, 'one'));
    const about = { styluses: [{ id: stylusId, name: DRAFT.name }], entryKind: 'note' };
    expect(await undo(host)).toMatchObject(about);
    expect(await redo(host)).toMatchObject(about);
    await undo(host);
    expect(await undo(host)).toMatchObject({
      title: 'new stylus',
      styluses: about.styluses,
      entryKind: null,
    });
  });

  it('go on where they were after the program was started again', async () => {
    const { host, stylusId, folder } = await start();
    await host.ask('entry.add', note(stylusId, 'one'));
    await host.ask('entry.add', note(stylusId, 'two'));
    await undo(host);
    const before = await host.ask('history.state', {});
    await host.close();
    const again = await testHost(folder);
    expect(await again.ask('history.state', {})).toEqual(before);
    await redo(again);
    expect((await page(again, stylusId)).entries).toHaveLength(2);
    await undo(again);
    await undo(again);
    expect((await page(again, stylusId)).entries).toHaveLength(0);
  });

  it('forget what could be done again as soon as something new is done', async () => {
    const { host, stylusId } = await start();
    await host.ask('entry.add', note(stylusId, 'one'));
    await undo(host);
    await host.ask('entry.add', note(stylusId, 'other'));
    expect((await host.ask('history.state', {})).redo).toBeNull();
    await undo(host);
    expect((await page(host, stylusId)).entries).toEqual([]);
    expect((await host.ask('history.state', {})).undo?.title).toBe('new stylus');
  });

  it('keep looking, and saving without a change, out of it', async () => {
    const { host, stylusId } = await start();
    await host.ask('entry.add', note(stylusId, 'one'));
    await undo(host);
    const before = await host.ask('history.state', {});
    await page(host, stylusId);
    await host.ask('stylus.update', { id: stylusId, draft: DRAFT });
    expect(before.redo?.title).toBe('new entry');
    expect(await host.ask('history.state', {})).toEqual(before);
  });

  it('take back the bin and a stylus with all that is on it', async () => {
    const { host, stylusId } = await start();
    await host.ask('bin.put', { kind: 'stylus', id: stylusId });
    expect(await host.ask('stylus.list', {})).toHaveLength(0);
    await undo(host);
    expect(await host.ask('stylus.list', {})).toHaveLength(1);
    await undo(host);
    expect(await host.ask('stylus.list', {})).toHaveLength(0);
    await redo(host);
    expect(await host.ask('stylus.list', {})).toHaveLength(1);
  });

  it('count a batch of pictures as one step, with the baseline that it displaced', async () => {
    const { host, stylusId } = await start();
    await addPicture(host, stylusId, await picture(10), { isBaseline: true });
    const gesture = 'import-1';
    await addPicture(host, stylusId, await picture(20), { gesture, isBaseline: true });
    await addPicture(host, stylusId, await picture(30), { gesture });
    await undo(host);
    const { captures } = await page(host, stylusId);
    expect(captures.map(({ isBaseline }) => isBaseline)).toEqual([true]);
    await redo(host);
    expect((await page(host, stylusId)).captures).toHaveLength(3);
  });

  it('count nudging a mark along as one step, and two nudgings as two', async () => {
    const { host, stylusId } = await start();
    const capture = await addPicture(host, stylusId, await picture(10));
    const at = (x: number): MarkDraft => ({
      stylusId,
      view: FACTS.view,
      captureId: capture.id,
      kind: 'chip',
      state: 'suspected',
      frame: 'tip',
      unit: 'um',
      shape: { type: 'point', at: [x, 0] },
      size: null,
      note: '',
      seenBy: '',
      seenOn: '2024-05-01',
      proposed: null,
    });
    const { id } = await host.ask('mark.add', { draft: at(0) });
    for (const x of [1, 2, 3]) await host.ask('mark.update', { id, draft: at(x), gesture: 'first' });
    for (const x of [4, 5]) await host.ask('mark.update', { id, draft: at(x), gesture: 'second' });
    const places = async () => (await page(host, stylusId)).marks.map(({ shape }) => shape);
    await undo(host);
    expect(await places()).toEqual([{ type: 'point', at: [3, 0] }]);
    await undo(host);
    expect(await places()).toEqual([{ type: 'point', at: [0, 0] }]);
    await undo(host);
    expect(await places()).toEqual([]);
  });

  it('put back only what the step changed, and refuse to overwrite what was changed since', async () => {
    const { host, stylusId } = await start();
    await host.ask('stylus.update', { id: stylusId, draft: { ...DRAFT, deck: 'a' } });
    const step = (await host.ask('history.state', {})).undo;
    await host.ask('stylus.update', { id: stylusId, draft: { ...DRAFT, deck: 'a', notes: 'kept' } });
    await host.ask('history.undo', { number: step?.number ?? -1 });
    expect((await page(host, stylusId)).stylus).toMatchObject({ deck: DRAFT.deck, notes: 'kept' });
    await host.ask('history.redo', { number: step?.number ?? -1 });
    await host.ask('stylus.update', { id: stylusId, draft: { ...DRAFT, deck: 'b', notes: 'kept' } });
    await expect(host.ask('history.undo', { number: step?.number ?? -1 })).rejects.toThrow(/changed again/);
    expect((await page(host, stylusId)).stylus.deck).toBe('b');
  });

  it('tell the window where something changed', async () => {
    const { host, stylusId } = await start();
    await host.ask('entry.add', note(stylusId, 'one'));
    const events: unknown[] = [];
    host.listen((name, event) => events.push([name, event]));
    await undo(host);
    expect(events).toEqual([['changed', { stylusId }]]);
  });

  it('have nothing to say about an empty history', async () => {
    const host = await testHost(temporaryFolder());
    expect(await host.ask('history.state', {})).toEqual({ undo: null, redo: null });
    await expect(undo(host)).rejects.toThrow('nothing to take back');
  });

  it('bring back exactly what was there, whatever was done: all the way back and all the way forth', async () => {
    const act = fc.oneof(
      fc.record({ what: fc.constant('note' as const), text: fc.string({ minLength: 1, maxLength: 8 }) }),
      fc.record({ what: fc.constant('edit' as const), text: fc.string({ minLength: 1, maxLength: 8 }) }),
      fc.record({ what: fc.constant('bin' as const), text: fc.constant('') }),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(act, { minLength: 1, maxLength: 8 }), async (acts) => {
        const { host, stylusId } = await start();
        const seen = async () => {
          const { stylus, entries } = await page(host, stylusId);
          return { stylus, entries };
        };
        const states = [await seen()];
        for (const { what, text } of acts) {
          const before = (await host.ask('history.state', {})).undo?.number;
          if (what === 'note') await host.ask('entry.add', note(stylusId, text));
          else if (what === 'edit')
            await host.ask('stylus.update', { id: stylusId, draft: { ...DRAFT, notes: text } });
          else {
            const [entry] = (await page(host, stylusId)).entries;
            if (entry !== undefined) await host.ask('bin.put', { kind: 'entry', id: entry.id });
          }
          // An act that changed nothing is no step.
          if ((await host.ask('history.state', {})).undo?.number !== before) states.push(await seen());
        }
        for (const state of states.slice(0, -1).toReversed()) {
          await undo(host);
          expect(await seen()).toEqual(state);
        }
        for (const state of states.slice(1)) {
          await redo(host);
          expect(await seen()).toEqual(state);
        }
        await host.close();
      }),
      { numRuns: 15 },
    );
  }, 120_000);
});
