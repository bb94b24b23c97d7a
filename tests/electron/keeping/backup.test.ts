import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { backUpWhenDue, isBackupDue, pruneBackups } from '../../../electron/host/keeping/automatic.ts';
import { makeBackup, targetFolder } from '../../../electron/host/keeping/backup.ts';
import { checkCollection } from '../../../electron/host/keeping/check.ts';
import { listAside, listBackups } from '../../../electron/host/keeping/list.ts';
import { restoreBackup, takeAsideBack } from '../../../electron/host/keeping/restore.ts';
import { USUAL, readSettings, writeSettings } from '../../../electron/host/keeping/settings.ts';
import { verifyArchive } from '../../../electron/host/keeping/unpack.ts';
import { realDisk } from '../../../electron/host/store/disk.ts';
import type { Disk } from '../../../electron/host/store/disk.ts';
import { listStyluses } from '../../../electron/host/store/cards.ts';
import { createStylus, stylusPage } from '../../../electron/host/store/styluses.ts';
import { notRun } from '../../not-run.ts';
import { DRAFT, sha256, temporaryFolder } from '../support.ts';
import { partsOf } from './bag-of.ts';
import { addOne, fill, namesIn, open, rowsOf } from './making.ts';

const byHand = { kind: 'by-hand', program: 'a test' } as const;

describe('a backup', () => {
  it('is a bag after RFC 8493, with a checksum for every file', async () => {
    const collection = await open(temporaryFolder());
    await fill(collection, 'First', [30, 60]);
    const target = temporaryFolder();
    const made = await makeBackup(collection, { ...byHand, target });
    collection.close();
    const parts = await partsOf(made.path);
    const read = (name: string) => new TextDecoder().decode(parts.get(name));
    expect(read('bagit.txt')).toBe('BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n');
    const payload = [...parts.keys()].filter((name) => name.startsWith('data/'));
    const lines = read('manifest-sha256.txt').trimEnd().split('\n').toSorted();
    expect(lines).toEqual(payload.map((name) => `${sha256(parts.get(name)!)}  ${name}`).toSorted());
    const octets = payload.reduce((sum, name) => sum + parts.get(name)!.byteLength, 0);
    expect(read('bag-info.txt')).toContain(`Payload-Oxum: ${octets}.${payload.length}\n`);
    expect(payload.filter((name) => name.startsWith('data/originals/'))).toHaveLength(2);
    expect(made).toMatchObject({ pictures: 2, missing: [] });
    expect(readdirSync(target)).toHaveLength(1);
  });

  it('is read by another program, which finds its checksums in order', async () => {
    const tools = ['unzip', 'sha256sum'].filter((name) => spawnSync('which', [name]).status !== 0);
    if (tools.length > 0) {
      notRun('Reading a backup with other programs', `${tools.join(' and ')} not on this machine`);
      return;
    }
    const collection = await open(temporaryFolder());
    await fill(collection, 'First', [30]);
    const target = temporaryFolder();
    const made = await makeBackup(collection, { ...byHand, target });
    collection.close();
    expect(spawnSync('unzip', ['-q', made.path, '-d', target]).status).toBe(0);
    const [top] = readdirSync(target).filter((name) => !name.endsWith('.zip'));
    const cwd = join(target, top);
    for (const list of ['manifest-sha256.txt', 'tagmanifest-sha256.txt'])
      expect(spawnSync('sha256sum', ['--check', '--strict', list], { cwd }).status).toBe(0);
  });

  it('comes back as the collection that it was, and what was there is kept aside and comes back too', async () => {
    const folder = temporaryFolder();
    const first = await open(folder);
    await fill(first, 'First', [30, 60]);
    const made = await makeBackup(first, { ...byHand, target: await targetFolder(first, null) });
    const then = rowsOf(first);
    await fill(first, 'Second', [90]);
    const now = rowsOf(first);
    first.close();
    const { aside } = await restoreBackup(realDisk, folder, made.path);
    const back = await open(folder);
    expect(rowsOf(back)).toEqual(then);
    expect((await checkCollection(back)).ok).toBe(true);
    expect(back.notices).toEqual([]);
    expect((await listAside(realDisk, folder)).map((one) => `aside/${one.name}`)).toEqual([aside]);
    back.close();
    await takeAsideBack(realDisk, folder, aside.slice('aside/'.length));
    const again = await open(folder);
    expect(rowsOf(again)).toEqual(now);
    expect((await checkCollection(again)).ok).toBe(true);
    again.close();
    expect(existsSync(join(folder, 'staging'))).toBe(false);
  });

  it('comes back into an empty place on another machine', async () => {
    const collection = await open(temporaryFolder());
    await fill(collection, 'First', [30]);
    const made = await makeBackup(collection, { ...byHand, target: temporaryFolder() });
    const rows = rowsOf(collection);
    collection.close();
    const elsewhere = join(temporaryFolder(), 'new place');
    await restoreBackup(realDisk, elsewhere, made.path);
    const there = await open(elsewhere);
    expect(rowsOf(there)).toEqual(rows);
    there.close();
  });

  it('leaves a damaged and a missing picture out and says which', async () => {
    const folder = temporaryFolder();
    const collection = await open(folder);
    const { captures } = await fill(collection, 'First', [30, 60, 90]);
    const file = (i: number) => join(folder, 'originals', `${captures[i].sha256}.png`);
    const bytes = readFileSync(file(0));
    bytes[70] ^= 4;
    writeFileSync(file(0), bytes);
    rmSync(file(1));
    const made = await makeBackup(collection, { ...byHand, target: temporaryFolder() });
    collection.close();
    expect(made.missing.toSorted()).toEqual([captures[0].sha256, captures[1].sha256].toSorted());
    expect(made.pictures).toBe(1);
    const elsewhere = join(temporaryFolder(), 'new place');
    const { missing } = await restoreBackup(realDisk, elsewhere, made.path);
    expect(missing).toHaveLength(2);
    const there = await open(elsewhere);
    expect(there.notices.join()).toContain('2 stored pictures are missing');
    there.close();
  });

  it('leaves nothing behind when it is cancelled, at any moment', async () => {
    const folder = temporaryFolder();
    const collection = await open(folder);
    await fill(collection, 'First', [30, 60]);
    const target = temporaryFolder();
    const made = await makeBackup(collection, { ...byHand, target });
    rmSync(made.path);
    const before = namesIn(folder);
    let calls = 0;
    for (let stop = 1; ; stop++) {
      const controller = new AbortController();
      let steps = 0;
      const onProgress = () => {
        steps++;
        if (steps === stop) controller.abort();
      };
      const work = makeBackup(collection, { ...byHand, target }, { signal: controller.signal, onProgress });
      const ended = await work.then(
        () => 'done',
        (error: unknown) => (error as Error).name,
      );
      if (ended === 'done') break;
      calls++;
      expect(ended).toBe('Cancelled');
      expect(readdirSync(target)).toEqual([]);
      expect(namesIn(folder)).toEqual(before);
    }
    expect(calls).toBeGreaterThan(5);
    collection.close();
  });

  it('goes into a folder that is there, named by its whole path', async () => {
    const collection = await open(temporaryFolder());
    await expect(targetFolder(collection, 'backups')).rejects.toMatchObject({ code: 'bad-input' });
    await expect(targetFolder(collection, '/not/there/at/all')).rejects.toMatchObject({
      code: 'no-such-folder',
    });
    collection.close();
  });

  it('made before the format changed is a database alone; it comes back and the pictures stay', async () => {
    const folder = temporaryFolder();
    const collection = await open(folder);
    const { stylus } = await fill(collection, 'First', [30]);
    const copy = join(folder, 'backups', 'before-format-2-2024-01-01T10-00-00-000Z.sqlite');
    await collection.db.copyTo(copy);
    await addOne(collection, stylus, 60);
    collection.close();
    const [listed] = await listBackups(realDisk, folder, null);
    expect(listed).toMatchObject({ kind: 'before-format', at: '2024-01-01T10:00:00Z', path: copy });
    const { aside } = await restoreBackup(realDisk, folder, copy);
    const back = await open(folder);
    expect(stylusPage(back.db, stylus.id).captures).toHaveLength(1);
    expect((await checkCollection(back)).ok).toBe(true);
    // The picture that the older database does not know waits in the bin ...
    expect(readdirSync(join(folder, 'bin'))).toHaveLength(1);
    back.close();
    await takeAsideBack(realDisk, folder, aside.slice('aside/'.length));
    // ... and is fetched back when the newer one returns.
    const again = await open(folder);
    expect(stylusPage(again.db, stylus.id).captures).toHaveLength(2);
    expect((await checkCollection(again)).ok).toBe(true);
    expect(again.notices).toEqual([]);
    again.close();
  });
});

describe('a switch that is cut off', () => {
  it('after any step is finished by whoever opens the collection next', async () => {
    let cut = 0;
    for (let at = 1; ; at++) {
      const folder = temporaryFolder();
      const first = await open(folder);
      await fill(first, 'First', [30]);
      const made = await makeBackup(first, { ...byHand, target: await targetFolder(first, null) });
      const then = rowsOf(first);
      await fill(first, 'Second', [60]);
      const now = rowsOf(first);
      first.close();
      let renames = 0;
      const disk: Disk = {
        ...realDisk,
        rename: async (from, to) => {
          renames++;
          if (renames >= at) throw new Error('cut off');
          return realDisk.rename(from, to);
        },
        // A program that was killed does not tidy up after itself.
        remove: async (path) => {
          if (renames < at) await realDisk.remove(path);
        },
      };
      const done = await restoreBackup(disk, folder, made.path).then(
        () => true,
        () => false,
      );
      const back = await open(folder);
      // The first rename is the one that writes the intention down; before it nothing has happened.
      expect(rowsOf(back)).toEqual(at === 1 ? now : then);
      expect((await checkCollection(back)).ok).toBe(true);
      back.close();
      expect(existsSync(join(folder, 'staging'))).toBe(false);
      expect(existsSync(join(folder, 'restore.json'))).toBe(false);
      if (done) break;
      cut++;
    }
    expect(cut).toBe(5);
  });
});

describe('the automatic backup', () => {
  const DAY = 86_400_000;

  it('is made once a week, and five are kept', async () => {
    const folder = temporaryFolder();
    const collection = await open(folder);
    expect(await isBackupDue(collection, new Date())).toBe(false);
    await fill(collection, 'First', [30]);
    expect(await backUpWhenDue(collection, 'a test')).toBeNull();
    const [made] = await listBackups(realDisk, folder, null);
    expect(made.kind).toBe('weekly');
    await verifyArchive(realDisk, made.path);
    const at = Date.parse(made.at);
    expect(await isBackupDue(collection, new Date(at + 6.9 * DAY))).toBe(false);
    expect(await isBackupDue(collection, new Date(at + 7.1 * DAY))).toBe(true);
    expect(await isBackupDue(collection, new Date(at - DAY))).toBe(true);
    for (let i = 1; i < 8; i++)
      writeFileSync(join(folder, 'backups', `stylus-daybook-weekly-2024-01-0${i}T10-00-00.zip`), 'older');
    writeFileSync(join(folder, 'backups', 'stylus-daybook-by-hand-2023-01-01T10-00-00.zip'), 'by hand');
    expect(await pruneBackups(collection)).toHaveLength(3);
    const left = await listBackups(realDisk, folder, null);
    expect(left.filter((one) => one.kind === 'weekly').map((one) => one.at.slice(0, 10))).toEqual([
      made.at.slice(0, 10),
      '2024-01-07',
      '2024-01-06',
      '2024-01-05',
      '2024-01-04',
    ]);
    expect(left.some((one) => one.kind === 'by-hand')).toBe(true);
    collection.close();
  });

  it('follows the settings, and falls back to the collection when the other disk is away', async () => {
    const folder = temporaryFolder();
    const collection = await open(folder);
    const { db } = collection;
    createStylus(db, DRAFT);
    expect(readSettings(db)).toEqual(USUAL);
    writeSettings(db, { ...USUAL, backupEveryDays: null });
    expect(await isBackupDue(collection, new Date())).toBe(false);
    const other = join(temporaryFolder(), 'disk');
    writeSettings(db, { ...USUAL, backupEveryDays: 1, backupFolder: other });
    expect(await backUpWhenDue(collection, 'a test')).toContain('is not there');
    expect(await isBackupDue(collection, new Date())).toBe(false);
    mkdirSync(other);
    expect(await backUpWhenDue(collection, 'a test', {}, new Date(Date.now() + 2 * DAY))).toBeNull();
    expect(readdirSync(other)).toHaveLength(1);
    expect(listStyluses(db)).toHaveLength(1);
    collection.close();
  });
});
