import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { openCollection } from '../../../electron/host/store/collection.ts';
import { binnableSchema } from '../../../shared/index.ts';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from '../support.ts';
import type { TestHost } from '../support.ts';
import { partsOf } from './bag-of.ts';

/** Keeping a collection as the window does it: through the host, with whatever may have happened to the folder. */
beforeAll(buildHost);

async function filled(folder: string, count = 3): Promise<{ host: TestHost; stylusId: string }> {
  const host = await testHost(folder);
  const stylus = await host.ask('stylus.create', DRAFT);
  for (let i = 0; i < count; i++) await addPicture(host, stylus.id, await picture(20 + i * 10));
  for (let i = 0; i < 60; i++)
    await host.ask('entry.add', {
      stylusId: stylus.id,
      kind: 'note',
      date: '2024-01-02',
      played: null,
      text: `note ${i} ${'x'.repeat(400)}`,
    });
  return { host, stylusId: stylus.id };
}

/** Overwrites pages in the middle, the head and its magic left alone. */
function spoil(folder: string, from = 6, every = 5): void {
  const file = join(folder, 'daybook.sqlite');
  const bytes = readFileSync(file);
  for (let at = 4096 * from; at < bytes.length; at += 4096 * every) bytes.fill(0x5a, at, at + 4096);
  writeFileSync(file, bytes);
}

describe('the full check', () => {
  it('says what is fine, damaged, missing and orphaned, and changes nothing', async () => {
    const folder = temporaryFolder();
    const { host, stylusId } = await filled(folder);
    expect(await host.ask('keeping.check', { jobId: 'j' })).toMatchObject({
      ok: true,
      database: { ok: true, problems: [] },
      originals: { fine: 3, damaged: [], missing: [], orphaned: [] },
    });
    const { captures } = await host.ask('stylus.page', { id: stylusId });
    const file = (i: number) => join(folder, 'originals', `${captures[i].sha256}.png`);
    const bytes = readFileSync(file(0));
    bytes[bytes.length - 30] ^= 2;
    writeFileSync(file(0), bytes);
    rmSync(file(1));
    writeFileSync(join(folder, 'originals', 'stray.png'), 'nobody knows me');
    const report = await host.ask('keeping.check', { jobId: 'j' });
    const named = (i: number) => [{ file: `${captures[i].sha256}.png`, usedBy: ['a.png (Left-hand deck)'] }];
    expect(report).toMatchObject({
      ok: false,
      database: { ok: true },
      originals: { fine: 1, damaged: named(0), missing: named(1), orphaned: ['stray.png'] },
    });
    expect(existsSync(join(folder, 'originals', 'stray.png'))).toBe(true);
    expect((await host.ask('keeping.status', {})).lastCheck).toEqual(report);
  });

  it('can be stopped', async () => {
    const { host } = await filled(temporaryFolder());
    host.listen((name) => {
      if (name === 'progress') void host.ask('job.cancel', { jobId: 'slow' });
    });
    await expect(host.ask('keeping.check', { jobId: 'slow' })).rejects.toThrow('cancelled');
  });
});

describe('backup and restore in a running program', () => {
  it('goes back to the backup and forth again, while the window stays open', async () => {
    const folder = temporaryFolder();
    const { host, stylusId } = await filled(folder, 1);
    const made = await host.ask('keeping.backUp', { jobId: 'b' });
    expect(await host.ask('keeping.verify', { path: made.path, jobId: 'v' })).toEqual({ files: 4 });
    await host.ask('stylus.create', { ...DRAFT, name: 'Later' });
    let told = 0;
    host.listen((name) => (told += name === 'changed' ? 1 : 0));
    const restored = await host.ask('keeping.restore', { path: made.path, jobId: 'r' });
    expect(told).toBeGreaterThan(0);
    expect((await host.ask('stylus.list', {})).map((card) => card.stylus.name)).toEqual([DRAFT.name]);
    const { captures } = await host.ask('stylus.page', { id: stylusId });
    expect((await host.ask('capture.picture', { id: captures[0].id, maxEdgePx: 32 })).widthPx).toBe(32);
    const status = await host.ask('keeping.status', {});
    expect(status.aside.map((one) => `aside/${one.name}`)).toEqual([restored.aside]);
    expect(status.backups.map((one) => one.path)).toEqual([made.path]);
    await host.ask('keeping.takeAsideBack', { name: status.aside[0].name });
    expect(await host.ask('stylus.list', {})).toHaveLength(2);
    // Nobody else got in meanwhile, and what is written now is kept.
    await expect(openCollection({ folder, who: 'another' })).rejects.toMatchObject({
      code: 'collection-in-use',
    });
    await host.ask('stylus.create', { ...DRAFT, name: 'Afterwards' });
    await host.close();
    const again = await testHost(folder);
    expect(await again.ask('stylus.list', {})).toHaveLength(3);
  });

  it('goes on with the collection when the backup is refused', async () => {
    const { host } = await filled(temporaryFolder(), 1);
    const path = join(temporaryFolder(), 'no backup.zip');
    writeFileSync(path, 'no backup');
    await expect(host.ask('keeping.restore', { path, jobId: 'r' })).rejects.toThrow('bad-archive');
    await expect(host.ask('keeping.restore', { path: 'relative.zip', jobId: 'r' })).rejects.toThrow(
      'bad-input',
    );
    await expect(host.ask('keeping.restore', { path: '/not/there.zip', jobId: 'r' })).rejects.toThrow(
      'no-such-file',
    );
    expect(await host.ask('stylus.list', {})).toHaveLength(1);
  });

  it('keeps its settings in the collection', async () => {
    const folder = temporaryFolder();
    const { host } = await filled(folder, 0);
    const settings = { backupFolder: null, backupEveryDays: 3, backupsKept: 2, emptyBinAfterDays: 90 };
    await host.ask('keeping.set', settings);
    await expect(host.ask('keeping.set', { ...settings, backupFolder: '/not/there' })).rejects.toThrow(
      'no-such-folder',
    );
    await host.close();
    const again = await testHost(folder);
    expect((await again.ask('keeping.status', {})).settings).toEqual(settings);
  });
});

describe('a collection that does not open', () => {
  it('is said so, kept as it is, and comes back from a backup', async () => {
    const folder = temporaryFolder();
    const { host } = await filled(folder);
    const made = await host.ask('keeping.backUp', { jobId: 'b' });
    await host.close();
    spoil(folder);
    const damaged = readFileSync(join(folder, 'daybook.sqlite'));
    const again = await testHost(folder);
    await again.start();
    const info = await again.ask('app.info', {});
    expect(info.trouble?.code).toBe('collection-damaged');
    expect(info.trouble?.message).not.toMatch(/delete|remove|destroy/i);
    await expect(again.ask('stylus.list', {})).rejects.toThrow('collection-damaged');
    await expect(again.ask('keeping.check', { jobId: 'c' })).rejects.toThrow('collection-damaged');
    expect(readFileSync(join(folder, 'daybook.sqlite')).equals(damaged)).toBe(true);
    // Nobody else may work on it meanwhile.
    await expect(openCollection({ folder, who: 'another' })).rejects.toMatchObject({
      code: 'collection-in-use',
    });
    const status = await again.ask('keeping.status', {});
    expect(status.backups.map((one) => one.path)).toEqual([made.path]);
    const { aside } = await again.ask('keeping.restore', { path: made.path, jobId: 'r' });
    expect((await again.ask('app.info', {})).trouble).toBeNull();
    expect(await again.ask('stylus.list', {})).toHaveLength(1);
    expect(readFileSync(join(folder, aside, 'daybook.sqlite')).equals(damaged)).toBe(true);
  });

  it('shows what can still be read in a copy that cannot be changed, and goes on with it when told to', async () => {
    const folder = temporaryFolder();
    const { host, stylusId } = await filled(folder);
    await host.close();
    spoil(folder, 30, 7);
    const damaged = readFileSync(join(folder, 'daybook.sqlite'));
    const again = await testHost(folder);
    expect((await again.ask('app.info', {})).trouble?.code).toBe('collection-damaged');
    const { rows } = await again.ask('keeping.lookInside', {});
    expect(rows).toBeGreaterThan(3);
    expect(await again.ask('app.info', {})).toMatchObject({
      isCopy: true,
      trouble: { code: 'collection-damaged' },
    });
    const page = await again.ask('stylus.page', { id: stylusId });
    expect(page.entries.length + page.captures.length).toBeGreaterThan(0);
    await expect(again.ask('stylus.create', DRAFT)).rejects.toThrow('only-a-copy');
    expect(readFileSync(join(folder, 'daybook.sqlite')).equals(damaged)).toBe(true);
    await again.ask('keeping.leaveCopy', {});
    await expect(again.ask('stylus.list', {})).rejects.toThrow('collection-damaged');
    const { aside } = await again.ask('keeping.keepSalvaged', {});
    expect((await again.ask('app.info', {})).trouble).toBeNull();
    expect(await again.ask('stylus.page', { id: stylusId })).toMatchObject({ entries: page.entries });
    await again.ask('stylus.create', { ...DRAFT, name: 'And on' });
    expect(readFileSync(join(folder, aside, 'daybook.sqlite')).equals(damaged)).toBe(true);
    expect((await again.ask('keeping.check', { jobId: 'c' })).database.ok).toBe(true);
  });

  it('is not taken for a new one when its database is gone or empty', async () => {
    const folder = temporaryFolder();
    const { host } = await filled(folder, 1);
    await host.close();
    rmSync(join(folder, 'daybook.sqlite'));
    for (const content of [null, '']) {
      if (content !== null) writeFileSync(join(folder, 'daybook.sqlite'), content);
      const again = await testHost(folder);
      expect((await again.ask('app.info', {})).trouble?.message).toContain('missing or empty');
      await expect(again.ask('keeping.lookInside', {})).rejects.toThrow('nothing-to-save');
      await again.close();
      expect(readdirSync(join(folder, 'originals'))).toHaveLength(1);
    }
  });

  it('says so when there is nothing left to read', async () => {
    const folder = temporaryFolder();
    const { host } = await filled(folder, 1);
    await host.close();
    writeFileSync(join(folder, 'daybook.sqlite'), 'z'.repeat(50_000));
    const again = await testHost(folder);
    expect((await again.ask('app.info', {})).trouble?.code).toBe('collection-damaged');
    await expect(again.ask('keeping.lookInside', {})).rejects.toThrow('nothing-to-save');
    await expect(again.ask('keeping.keepSalvaged', {})).rejects.toThrow('nothing-to-save');
    expect((await again.ask('app.info', {})).trouble?.code).toBe('collection-damaged');
  });

  it('of a newer format is left alone and opens again in the newer program', async () => {
    const folder = temporaryFolder();
    mkdirSync(folder, { recursive: true });
    const newer = await openCollection({
      folder,
      who: 'a newer program',
      migrations: [
        {
          version: 999,
          sql: 'CREATE TABLE original (sha256, media_type) ; CREATE TABLE setting (name, value)',
        },
      ],
    });
    newer.close();
    const before = readFileSync(join(folder, 'daybook.sqlite'));
    const host = await testHost(folder);
    expect((await host.ask('app.info', {})).trouble?.code).toBe('collection-too-new');
    await expect(host.ask('keeping.keepSalvaged', {})).rejects.toThrow('not-damaged');
    await host.close();
    expect(readFileSync(join(folder, 'daybook.sqlite')).equals(before)).toBe(true);
  });
});

describe('a single stylus', () => {
  it('goes to another collection with everything on it and nothing of the others', async () => {
    const { host, stylusId } = await filled(temporaryFolder(), 2);
    const other = await host.ask('stylus.create', {
      ...DRAFT,
      name: 'Kept to myself',
      notes: 'a private note',
    });
    await addPicture(host, other.id, await picture(200));
    await host.ask('stylus.retire', {
      id: stylusId,
      date: '2024-05-01',
      reason: 'worn',
      successorId: other.id,
    });
    const { bytes, fileName } = await host.ask('stylus.export', { id: stylusId, jobId: 'x' });
    expect(fileName).toMatch(/^stylus Left-hand deck \d{4}-\d{2}-\d{2}\.zip$/);
    const path = join(temporaryFolder(), 'a.zip');
    writeFileSync(path, bytes);
    const parts = await partsOf(path);
    const database = Buffer.from(parts.get('data/daybook.sqlite')!).toString('latin1');
    expect(database).not.toContain('private note');
    expect([...parts.keys()].filter((name) => name.includes('originals/'))).toHaveLength(2);

    const there = await testHost(temporaryFolder());
    const first = await there.ask('stylus.import', { bytes, jobId: 'i' });
    expect(first).toEqual({ stylusId, name: DRAFT.name, again: false });
    const page = await there.ask('stylus.page', { id: stylusId });
    const mine = await host.ask('stylus.page', { id: stylusId });
    expect(page.captures).toEqual(mine.captures);
    expect(page.entries).toEqual(mine.entries);
    expect(page.stylus.retired).toEqual({ date: '2024-05-01', reason: 'worn', successorId: null });
    const second = await there.ask('stylus.import', { bytes, jobId: 'i' });
    expect(second.again).toBe(true);
    expect(second.stylusId).not.toBe(stylusId);
    const copy = await there.ask('stylus.page', { id: second.stylusId });
    expect(copy.entries).toHaveLength(page.entries.length);
    expect(copy.captures.map((one) => one.sha256)).toEqual(page.captures.map((one) => one.sha256));
    expect((await there.ask('keeping.check', { jobId: 'c' })).ok).toBe(true);
    // One step of undo, like everything a person does.
    await there.ask('history.undo', { number: null });
    expect(await there.ask('stylus.list', {})).toHaveLength(1);
  });

  it('is not taken from a backup of a whole collection, nor the other way round', async () => {
    const folder = temporaryFolder();
    const { host, stylusId } = await filled(folder, 1);
    const made = await host.ask('keeping.backUp', { jobId: 'b' });
    const whole = new Uint8Array(readFileSync(made.path));
    await expect(host.ask('stylus.import', { bytes: whole, jobId: 'i' })).rejects.toThrow('whole collection');
    const { bytes } = await host.ask('stylus.export', { id: stylusId, jobId: 'x' });
    const path = join(temporaryFolder(), 'a.zip');
    writeFileSync(path, bytes);
    await expect(host.ask('keeping.restore', { path, jobId: 'r' })).rejects.toThrow('single stylus');
    expect(existsSync(join(folder, 'staging'))).toBe(false);
  });
});

describe('the bin', () => {
  it('lists what was put away, and gives it back', async () => {
    const { host, stylusId } = await filled(temporaryFolder(), 1);
    const { captures, entries } = await host.ask('stylus.page', { id: stylusId });
    await host.ask('bin.put', { kind: 'capture', id: captures[0].id });
    await host.ask('bin.put', { kind: 'entry', id: entries[0].id });
    const items = await host.ask('bin.list', {});
    expect(
      items.map(({ kind, called, stylusName }) => `${kind}, ${called}, ${stylusName}`).toSorted(),
    ).toEqual([`capture, capture, ${DRAFT.name}`, `entry, entry, ${DRAFT.name}`]);
    for (const { kind, id } of items)
      await host.ask('bin.takeBack', { kind: binnableSchema.parse(kind), id });
    expect(await host.ask('bin.list', {})).toEqual([]);
    expect((await host.ask('stylus.page', { id: stylusId })).captures).toHaveLength(1);
  });

  it('is emptied for good, and nothing else is touched', async () => {
    const folder = temporaryFolder();
    const { host, stylusId } = await filled(folder, 2);
    const other = await host.ask('stylus.create', { ...DRAFT, name: 'Stays' });
    // The same picture on both: it must outlive the one that goes.
    await addPicture(host, other.id, await picture(20));
    await host.ask('stylus.update', { id: other.id, draft: { ...DRAFT, name: 'Stays here' } });
    const kept = await host.ask('stylus.page', { id: other.id });
    await host.ask('bin.put', { kind: 'stylus', id: stylusId });
    const emptied = await host.ask('bin.empty', {});
    expect(emptied).toEqual({ things: 1, pictures: 1, stillUsed: 0 });
    expect(await host.ask('bin.list', {})).toEqual([]);
    expect(await host.ask('stylus.page', { id: other.id })).toEqual(kept);
    expect(readdirSync(join(folder, 'originals'))).toHaveLength(1);
    expect(await host.ask('keeping.check', { jobId: 'c' })).toMatchObject({
      ok: true,
      originals: { fine: 1 },
    });
    await expect(host.ask('bin.takeBack', { kind: 'stylus', id: stylusId })).rejects.toThrow('not-found');
    // What is gone is no step of undo any more; what stayed still is.
    const { undo } = await host.ask('history.state', {});
    expect(undo).not.toBeNull();
    await host.ask('history.undo', { number: null });
    expect((await host.ask('stylus.list', {})).map((card) => card.stylus.name)).toEqual(['Stays']);
  });
});
