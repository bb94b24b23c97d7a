import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { beforeAll, describe, expect, it } from 'vitest';
import type { CopyDone } from '../../../electron/host/store/copy-aside.ts';
import { openCollection } from '../../../electron/host/store/collection.ts';
import { openDatabase } from '../../../electron/host/store/database.ts';
import { listStyluses } from '../../../electron/host/store/cards.ts';
import { createStylus } from '../../../electron/host/store/styluses.ts';
import { DRAFT, buildHost, temporaryFolder, workerFile } from '../support.ts';

/** The thread that copies a database while the window goes on; the built one, because threads cannot run sources. */
beforeAll(buildHost);

function copied(live: string, file: string): Promise<CopyDone> {
  const worker = new Worker(join(workerFile, '..', 'copy-worker.js'), { workerData: { live, file } });
  return new Promise((resolve, reject) => {
    worker.once('message', resolve);
    worker.once('error', reject);
  });
}

describe('the thread that copies a database', () => {
  it('copies what was written, while the writer goes on', async () => {
    const folder = temporaryFolder();
    const collection = await openCollection({ folder, who: 'a test' });
    const { db } = collection;
    for (let i = 0; i < 20; i++) createStylus(db, { ...DRAFT, name: `before ${i}` });
    const file = join(folder, 'copy.sqlite');
    const copying = copied(join(folder, 'daybook.sqlite'), file);
    for (let i = 0; i < 20; i++) createStylus(db, { ...DRAFT, name: `meanwhile ${i}` });
    expect(await copying).toBe(null);
    createStylus(db, { ...DRAFT, name: 'after' });
    collection.close();
    const copy = await openDatabase({ file, backupFile: null });
    const names = listStyluses(copy).map(({ stylus }) => stylus.name);
    copy.close();
    expect(names.filter((name) => name.startsWith('before'))).toHaveLength(20);
    expect(names).not.toContain('after');
    const again = await openCollection({ folder, who: 'a test' });
    expect(listStyluses(again.db)).toHaveLength(41);
    again.close();
  });

  it('says why it could not, and leaves a file alone that is there', async () => {
    const folder = temporaryFolder();
    const collection = await openCollection({ folder, who: 'a test' });
    createStylus(collection.db, DRAFT);
    const done = await copied(join(folder, 'daybook.sqlite'), join(folder, 'no', 'such', 'folder.sqlite'));
    expect(done?.message).toMatch(/unable to open/i);
    const there = await copied(join(folder, 'daybook.sqlite'), join(folder, 'daybook.sqlite'));
    expect(there).not.toBe(null);
    expect(listStyluses(collection.db)).toHaveLength(1);
    expect(existsSync(join(folder, 'no'))).toBe(false);
    collection.close();
  });
});
