import { describe, expect, it, vi } from 'vitest';
import { COMMANDS, commandFor, findCommands } from '../../renderer/state/commands.ts';
import { whatEnded, whatIsDue } from '../../renderer/state/due.ts';
import { hoursAt, toHours } from '../../renderer/state/hours.ts';
import { parseRoute, writeRoute, type Route } from '../../renderer/state/route.ts';
import { readSettings, USUAL } from '../../renderer/state/settings.ts';
import { createDaybook } from '../../renderer/state/store.ts';
import { Refusal } from '../../shared/index.ts';
import { captureRow, DRAFT, entryRow, fakeHost, pageOf, stylusRow } from './fake-host.ts';

const around = (hash = '#/') => ({ storage: null, hash, writeHash: vi.fn<(hash: string) => void>() });

describe('addresses', () => {
  const routes: Route[] = [
    { screen: 'shelf' },
    { screen: 'stylus', stylusId: 'aaaaaaaa1' },
    { screen: 'bench', stylusId: 'aaaaaaaa1', baselineId: 'bbbbbbbb1', laterId: 'cccccccc1' },
    { screen: 'look', stylusId: 'aaaaaaaa1', captureId: 'bbbbbbbb1' },
    { screen: 'sheet', stylusId: 'aaaaaaaa1', comparisonId: null },
    { screen: 'sheet', stylusId: 'aaaaaaaa1', comparisonId: 'bbbbbbbb1' },
  ];
  it.each(routes)('survives its way through the address bar: $screen', (route) =>
    expect(parseRoute(writeRoute(route))).toEqual(route),
  );
  it.each(['', '#/nowhere', '#/stylus', '#/stylus/../../etc', '#/bench/aaaaaaaa1', '#token=x'])(
    'falls back to the shelf for %j',
    (hash) => expect(parseRoute(hash)).toEqual({ screen: 'shelf' }),
  );
});

describe('the store', () => {
  it('loads the shelf, then a page, and renews it when the host says so', async () => {
    const stylus = stylusRow();
    const host = fakeHost({ styluses: [stylus] });
    const model = createDaybook(host, around(`#/stylus/${stylus.id}`));
    await model.start();
    expect(model.store.getState().cards).toHaveLength(1);
    expect(model.store.getState().page?.hoursNow).toBe(0);
    await host.call('entry.add', {
      stylusId: stylus.id,
      kind: 'playing',
      date: '2024-02-01',
      played: { amount: 3, unit: 'hours', minutesPerSide: 22, hours: 3, estimated: false },
      text: '',
    });
    await vi.waitFor(() => expect(model.store.getState().page?.hoursNow).toBe(3));
  });

  it('asks only for what became different of the page that it holds, and for all of it where that is not known', async () => {
    const stylus = stylusRow();
    const kept = entryRow(stylus.id, '2024-02-01', null);
    const rows = { styluses: [stylus], captures: [], comparisons: [], entries: [kept] };
    const states: string[] = [];
    const host = fakeHost(rows, {
      'stylus.open': async ({ id }) => ({ ...pageOf(rows, id), state: 'first', pieces: 0 }),
      'stylus.renew': async ({ id, state }) => {
        states.push(state);
        if (states.length > 1) return null;
        const none = { first: 0, last: 0, between: [] };
        const entries = { first: 1, last: 0, between: rows.entries.slice(1) };
        return { ...pageOf(rows, id), captures: none, comparisons: none, entries, state: 'second' };
      },
    });
    const model = createDaybook(host, around(`#/stylus/${stylus.id}`));
    await model.start();
    const before = model.store.getState().page?.entries[0];
    const added = entryRow(stylus.id, '2024-02-01', null);
    rows.entries.push(added);
    await model.refresh();
    const { entries = [] } = model.store.getState().page ?? {};
    expect(entries.map(({ id }) => id)).toEqual([kept.id, added.id]);
    expect(entries[0]).toBe(before);
    const asked = (): number => host.calls.filter(({ name }) => name === 'stylus.open').length;
    expect(asked()).toBe(1);
    rows.entries.push(entryRow(stylus.id, '2024-02-01', null));
    await model.refresh();
    expect(states).toEqual(['first', 'second']);
    expect(asked()).toBe(2);
    expect(model.store.getState().page?.entries).toHaveLength(3);
  });

  it('puts a page together from its pieces, and asks for it whole where they are forgotten', async () => {
    const stylus = stylusRow();
    const entries = [1, 2, 3].map((day) => entryRow(stylus.id, `2024-02-0${day}`, null));
    const rows = { styluses: [stylus], captures: [], comparisons: [], entries };
    let forgotten = false;
    const host = fakeHost(rows, {
      'stylus.open': async ({ id }) => ({
        ...pageOf(rows, id),
        entries: entries.slice(0, 1),
        state: 'first',
        pieces: 2,
      }),
      'stylus.piece': async ({ number }) => {
        // The last one comes first.
        if (number === 0) await new Promise((resolve) => void setTimeout(resolve, 5));
        if (forgotten) return null;
        return { captures: [], comparisons: [], entries: [entries[number + 1]] };
      },
    });
    for (forgotten of [false, true]) {
      const model = createDaybook(host, around(`#/stylus/${stylus.id}`));
      await model.start();
      expect(model.store.getState().page?.entries).toEqual(entries);
    }
    expect(host.calls.filter(({ name }) => name === 'stylus.page')).toHaveLength(1);
  });

  it('does not show a slow answer for a stylus that was left', async () => {
    const [slow, quick] = [stylusRow({ name: 'slow' }), stylusRow({ name: 'quick' })];
    const rows = { styluses: [slow, quick], captures: [], comparisons: [], entries: [] };
    let release = (): void => undefined;
    const held = new Promise<void>((resolve) => {
      release = resolve;
    });
    const host = fakeHost(rows, {
      'stylus.open': async ({ id }) => {
        if (id === slow.id) await held;
        return { ...pageOf(rows, id), state: 'none', pieces: 0 };
      },
    });
    const model = createDaybook(host, around());
    await model.start();
    model.go({ screen: 'stylus', stylusId: slow.id });
    model.go({ screen: 'stylus', stylusId: quick.id });
    await vi.waitFor(() => expect(model.store.getState().page?.stylus.name).toBe('quick'));
    release();
    await new Promise((resolve) => {
      setTimeout(resolve, 20);
    });
    expect(model.store.getState().page?.stylus.name).toBe('quick');
  });

  it('turns a refusal into its sentence and a programming error into a calm one', async () => {
    const host = fakeHost();
    const model = createDaybook(host, around());
    host.failNext('stylus.create', new Refusal('disk-full', 'The disk is full. Make room and try again.'));
    expect(await model.attempt(() => host.call('stylus.create', DRAFT))).toBeNull();
    expect(model.store.getState().toasts.at(-1)).toMatchObject({
      tone: 'problem',
      text: 'The disk is full. Make room and try again.',
    });
    const quiet = vi.spyOn(console, 'error').mockImplementation(() => undefined);
    await model.attempt(async () => {
      throw new TypeError('x is undefined at line 3');
    });
    quiet.mockRestore();
    expect(model.store.getState().toasts.at(-1)?.text).not.toMatch(/undefined|line/);
  });

  it('puts into the bin and takes back, by message or by the last step', async () => {
    const stylus = stylusRow();
    const entry = entryRow(stylus.id, '2024-01-01', 5);
    const host = fakeHost({ styluses: [stylus], entries: [entry] });
    const model = createDaybook(host, around(`#/stylus/${stylus.id}`));
    await model.start();
    await model.bin('entry', entry.id, 'Playing time');
    expect(model.store.getState().page?.entries).toHaveLength(0);
    const message = model.store.getState().toasts.at(-1);
    expect(message?.text).toBe('Playing time went into the bin.');
    await model.undo();
    expect(model.store.getState().page?.entries).toHaveLength(1);
    // The message that offered the same step has gone with it.
    expect(model.store.getState().toasts.map(({ text }) => text)).toEqual(['Taken back: bin.put.']);
    await model.redo();
    expect(model.store.getState().page?.entries).toHaveLength(0);
    await model.undo(message?.undo ?? undefined);
    expect(model.store.getState().page?.entries).toHaveLength(1);
    await model.undo();
    expect(model.store.getState().toasts.at(-1)?.text).toBe('There is nothing to take back.');
  });

  it('takes a step back and does it again by keys that come before the window has heard of either', async () => {
    const stylus = stylusRow();
    const entry = entryRow(stylus.id, '2024-01-01', 5);
    const model = createDaybook(
      fakeHost({ styluses: [stylus], entries: [entry] }),
      around(`#/stylus/${stylus.id}`),
    );
    await model.start();
    await model.bin('entry', entry.id, 'Playing time');
    // What the window holds of the history is read beside the page, and may come after it.
    model.store.setState({ history: { undo: null, redo: null } });
    const press = (shiftKey: boolean): void => {
      const key = { code: 'KeyZ', ctrlKey: true, metaKey: false, altKey: false, shiftKey };
      commandFor(key, model.store.getState())?.run(model);
    };
    press(false);
    press(true);
    press(false);
    await vi.waitFor(() =>
      expect(model.store.getState().toasts.map(({ text }) => text)).toEqual([
        'Done again: bin.put.',
        'Taken back: bin.put.',
      ]),
    );
    expect(model.store.getState().page?.entries).toHaveLength(1);
  });

  it('shows progress, asks the host to stop, and says nothing of a job that was stopped', async () => {
    const host = fakeHost();
    const model = createDaybook(host, around());
    await model.start();
    let refuse: (reason: Refusal) => void = () => undefined;
    const running = model.run(
      'Comparing',
      () =>
        new Promise((_resolve, reject) => {
          refuse = reject;
        }),
    );
    const [job] = Object.values(model.store.getState().jobs);
    host.emit('progress', { jobId: job.id, stage: 'edges', fraction: 0.4 });
    expect(model.store.getState().jobs[job.id]).toMatchObject({ stage: 'edges', fraction: 0.4 });
    await model.cancel(job.id);
    expect(model.store.getState().jobs[job.id].cancelling).toBe(true);
    expect(host.calls.at(-1)).toEqual({ name: 'job.cancel', input: { jobId: job.id } });
    refuse(new Refusal('cancelled', 'Stopped.'));
    expect(await running).toBeNull();
    expect(model.store.getState().jobs).toEqual({});
    expect(model.store.getState().toasts).toEqual([]);
  });
});

describe('settings', () => {
  it('keeps what can be read and falls back for the rest', () => {
    const stored = JSON.stringify({ unit: 'mil', theme: 'neon', minutesPerSide: 18 });
    const storage = { getItem: () => stored, setItem: () => undefined };
    expect(readSettings(storage)).toEqual({ ...USUAL, unit: 'mil', minutesPerSide: 18 });
    expect(readSettings({ ...storage, getItem: () => '{broken' })).toEqual(USUAL);
  });

  it.each([
    ['unit', 'inch'],
    ['paper', 'A5'],
    ['minutesPerSide', 0],
    ['minutesPerSide', '18'],
    ['sidesPerEvening', 51],
    ['recordValue', -1],
    ['recordValue', null],
    ['seenBy', 7],
    ['seenBy', 'x'.repeat(201)],
    ['practiceHours', [400]],
    ['practiceHours', [400, 0]],
    ['practiceHours', { 0: 400, 1: 1000, length: 2 }],
  ])('does not believe a stored %s of %j', (name, value) => {
    const stored = JSON.stringify({ [name]: value });
    expect(readSettings({ getItem: () => stored, setItem: () => undefined })).toEqual(USUAL);
  });

  it.each([
    ['recordValue', 0],
    ['recordValue', 25.5],
    ['seenBy', ''],
    ['practiceHours', [300, 800]],
  ])('takes a stored %s of %j', (name, value) => {
    const stored = JSON.stringify({ [name]: value, more: 1 });
    expect(readSettings({ getItem: () => stored, setItem: () => undefined })).toEqual({
      ...USUAL,
      [name]: value,
    });
  });
});

describe('commands', () => {
  it('have distinct names, and shortcuts that carry a modifier or are a function key', () => {
    const shortcuts = COMMANDS.flatMap(({ shortcut }) => (shortcut === undefined ? [] : [shortcut]));
    expect(new Set(COMMANDS.map((command) => command.id)).size).toBe(COMMANDS.length);
    expect(new Set(shortcuts.map((shortcut) => shortcut.label)).size).toBe(shortcuts.length);
    for (const shortcut of shortcuts)
      expect(shortcut.mod === true || shortcut.alt === true || shortcut.code.startsWith('F')).toBe(true);
  });

  it('are offered only where they can be done', async () => {
    const stylus = stylusRow();
    const model = createDaybook(fakeHost({ styluses: [stylus] }), around());
    await model.start();
    const press = { code: 'KeyL', altKey: true, ctrlKey: false, metaKey: false, shiftKey: false };
    expect(commandFor(press, model.store.getState())).toBeNull();
    expect(findCommands('playing', model.store.getState()).map((one) => one.id)).not.toContain('log');
    model.go({ screen: 'stylus', stylusId: stylus.id });
    await vi.waitFor(() => expect(model.store.getState().page).not.toBeNull());
    expect(commandFor(press, model.store.getState())?.id).toBe('log');
    expect(findCommands('TIME playing', model.store.getState()).map((one) => one.id)).toEqual(['log']);
  });
});

describe('commands of a stylus on the shelf', () => {
  const on = async () => {
    const [first, second] = [stylusRow({ name: 'Evening' }), stylusRow({ name: 'Morning' })];
    const model = createDaybook(fakeHost({ styluses: [first, second] }), around());
    await model.start();
    const ids = (words: string): string[] => findCommands(words, model.store.getState()).map((one) => one.id);
    return { model, first, second, ids };
  };

  it('are offered by name, and not where a stylus is on show', async () => {
    const { model, first, second, ids } = await on();
    expect(ids('log playing')).toEqual([`log-${first.id}`, `log-${second.id}`]);
    expect(ids('compare morning')).toEqual([`compare-${second.id}`]);
    expect(ids('listening evening')).toEqual([`listening-${first.id}`]);
    model.go({ screen: 'stylus', stylusId: first.id });
    await vi.waitFor(() => expect(model.store.getState().page).not.toBeNull());
    expect(ids('log playing')).toEqual(['log']);
  });

  it('open their dialog once the page of the stylus is there', async () => {
    const { model, second } = await on();
    findCommands('log playing morning', model.store.getState())[0].run(model);
    expect(model.store.getState().dialog).toBeNull();
    await vi.waitFor(() => expect(model.store.getState().dialog?.kind).toBe('playing'));
    expect(model.store.getState()).toMatchObject({
      page: { stylus: { id: second.id } },
      route: { screen: 'stylus', stylusId: second.id },
    });
  });
});

describe('playing time', () => {
  it('converts what people count: 1,500 records of two 20 min sides are 1,000 h', () => {
    expect(toHours(1500, 'records', 20)).toBeCloseTo(1000, 10);
    expect(toHours(3, 'sides', 22)).toBeCloseTo(1.1, 10);
    expect(toHours(90, 'minutes', 22)).toBe(1.5);
  });

  it('adds up to a day and says whether the history before is known', () => {
    const stylus = stylusRow({ startHours: 10 });
    const entries = [entryRow(stylus.id, '2024-01-01', 5), entryRow(stylus.id, '2024-03-01', 7)];
    expect(hoursAt({ stylus, entries }, '2024-02-01')).toEqual({ hours: 15, known: true });
    expect(hoursAt({ stylus, entries }, '2024-03-01')).toEqual({ hours: 22, known: true });
    expect(hoursAt({ stylus: { ...stylus, startHours: null }, entries }, '2024-02-01')).toEqual({
      hours: 5,
      known: false,
    });
  });
});

describe('what is due', () => {
  const facts = {
    stylus: stylusRow(),
    hoursNow: 100,
    lastLook: captureRow('x').taken,
    hasBaseline: true,
    practiceHours: [400, 1000] as const,
    today: '2024-02-01',
  };
  const tones = (part: Partial<Parameters<typeof whatIsDue>[0]>): string[] =>
    whatIsDue({ ...facts, ...part }).map((one) => one.tone);

  it('is a look after half a year, and overdue after a year', () => {
    expect(tones({})).toEqual(['calm']);
    expect(tones({ today: '2024-07-15' })).toEqual(['soon']);
    expect(tones({ today: '2025-01-06' })).toEqual(['now']);
  });

  it('comes with the hours people use, and with an unknown history', () => {
    expect(tones({ hoursNow: 399 })).toEqual(['calm']);
    expect(tones({ hoursNow: 400 })).toEqual(['calm', 'soon']);
    expect(tones({ hoursNow: 1000 })).toEqual(['calm', 'now']);
    expect(whatIsDue({ ...facts, hoursNow: null }).at(-1)?.text).toContain('fit a new stylus');
  });

  it('is to take it off and nothing else where damage was confirmed', () => {
    const due = whatIsDue({
      ...facts,
      today: '2025-01-06',
      hoursNow: null,
      confirmed: ['chip', 'bent-cantilever'],
    });
    expect(due).toEqual([{ tone: 'now', text: 'Take it off now: chip and bent cantilever confirmed' }]);
  });

  it('is nothing for a retired stylus', () => {
    const retired = { date: '2024-01-01', reason: 'chipped', successorId: null };
    expect(tones({ stylus: { ...facts.stylus, retired } })).toEqual([]);
  });

  it('gives way to when and why it was retired, with the damage that was confirmed', () => {
    const retired = (reason: string) => ({
      ...facts.stylus,
      retired: { date: '2024-01-01', reason, successorId: null },
    });
    const ended = (...given: Parameters<typeof whatEnded>): string[] =>
      whatEnded(...given).map((line) => line.replaceAll('\u00a0', ' '));
    expect(ended({ stylus: retired('worn'), confirmed: ['chip', 'bent-cantilever'] })).toEqual([
      'Retired 1 Jan 2024: worn',
      'Chip and bent cantilever confirmed',
    ]);
    expect(ended({ stylus: retired(''), confirmed: [] })).toEqual(['Retired 1 Jan 2024']);
    expect(ended({ stylus: facts.stylus, confirmed: ['chip'] })).toEqual([]);
  });
});
