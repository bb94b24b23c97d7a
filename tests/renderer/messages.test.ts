import { describe, expect, it, vi } from 'vitest';
import { createDaybook } from '../../renderer/state/store.ts';
import { holdUnsaved } from '../../renderer/state/unsaved.ts';
import { fakeHost, stylusRow } from './fake-host.ts';

const around = (hash = '#/') => ({ storage: null, hash, writeHash: vi.fn<(hash: string) => void>() });

describe('messages', () => {
  it('says the same twice in one message, and keeps no more than can be read', async () => {
    const model = createDaybook(fakeHost(), around());
    const said = () => model.store.getState().toasts.map(({ text, times }) => [text, times]);
    model.say('The disk is full.', 'problem');
    model.say('Something else.');
    model.say('The disk is full.', 'problem');
    expect(said()).toEqual([
      ['Something else.', 1],
      ['The disk is full.', 2],
    ]);
    // Two things that can be taken back are two messages, though they read alike.
    const undo = async (): Promise<void> => undefined;
    model.say('An hour saved.', 'plain', undo);
    model.say('An hour saved.', 'plain', undo);
    expect(said().slice(2)).toEqual([
      ['An hour saved.', 1],
      ['An hour saved.', 1],
    ]);
    for (let i = 0; i < 200; i++) model.say(`Trouble ${i}.`);
    expect(said().length).toBeLessThanOrEqual(30);
    expect(said().at(-1)).toEqual(['Trouble 199.', 1]);
  });

  it('closes a dialog when the address changes, and stays where it is while a form is not saved', async () => {
    const stylus = stylusRow();
    const surroundings = around(`#/stylus/${stylus.id}`);
    const model = createDaybook(fakeHost({ styluses: [stylus] }), surroundings);
    await model.start();
    model.open({ kind: 'stylus', stylusId: stylus.id });
    const release = holdUnsaved('form');
    await model.follow('#/');
    expect(model.store.getState()).toMatchObject({ route: { screen: 'stylus' }, dialog: { kind: 'stylus' } });
    expect(surroundings.writeHash).toHaveBeenLastCalledWith(`#/stylus/${stylus.id}`);
    expect(model.store.getState().toasts.at(-1)?.text).toContain('not saved');
    const other = holdUnsaved('another form');
    release();
    expect(model.store.getState().toasts.at(-1)?.text).toContain('not saved');
    model.say('Something else.');
    model.leave({ screen: 'shelf' });
    expect(model.store.getState().route.screen).toBe('stylus');
    other();
    // It asks for nothing any more once the last form is saved or cancelled.
    expect(model.store.getState().toasts.map(({ text }) => text)).toEqual(['Something else.']);
    const half = holdUnsaved('outline', 'An outline is drawn half.');
    await model.follow('#/');
    expect(model.store.getState().toasts.at(-1)?.text).toBe('An outline is drawn half.');
    half();
    expect(model.store.getState().toasts.map(({ text }) => text)).toEqual(['Something else.']);
    await model.follow('#/');
    expect(model.store.getState()).toMatchObject({ route: { screen: 'shelf' }, dialog: null });
  });

  it('leaves a form by a link in it only where nothing typed would be lost, also to the screen that is on show', async () => {
    const stylus = stylusRow();
    const model = createDaybook(fakeHost({ styluses: [stylus] }), around(`#/stylus/${stylus.id}`));
    await model.start();
    const form = { kind: 'entry', stylusId: stylus.id, entryKind: 'listening', entry: null } as const;
    const listening = { screen: 'listening', stylusId: stylus.id } as const;
    model.open(form);
    const release = holdUnsaved('listening-form');
    model.leave(listening);
    expect(model.store.getState()).toMatchObject({ route: { screen: 'stylus' }, dialog: form });
    expect(model.store.getState().toasts.at(-1)?.text).toContain('not saved');
    release();
    model.leave(listening);
    expect(model.store.getState()).toMatchObject({ route: listening, dialog: null });
    model.open(form);
    model.leave(listening);
    expect(model.store.getState()).toMatchObject({ route: listening, dialog: null });
  });
});
