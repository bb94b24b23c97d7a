import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, statfsSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openCopy } from '../../electron/host/keeping/recovery.ts';
import { makeBackup } from '../../electron/host/keeping/backup.ts';
import { realDisk } from '../../electron/host/store/disk.ts';
import { DRAFT, addPicture, buildHost, picture, testHost } from '../electron/support.ts';
import { fill, open } from '../electron/keeping/making.ts';
import { notRun } from '../not-run.ts';
import { soundRows } from './works.ts';

/** A disk that is really full, small enough to fill: a file system in memory, where the tests may mount one. */
const SIZE_KIB = 4096;
const disk = mkdtempSync(join(tmpdir(), 'daybook-full-'));
const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${SIZE_KIB}k`, 'tmpfs', disk], {
  encoding: 'utf8',
});
const why = mounted.status === 0 ? null : (mounted.stderr ?? '').trim() || 'there is no program "mount"';
if (why !== null)
  notRun('A disk that is really full', `no file system in memory can be mounted here (${why})`);

afterAll(() => {
  if (why === null) spawnSync('umount', ['-l', disk]);
  rmSync(disk, { recursive: true, force: true });
});
beforeAll(buildHost);

/** Leaves so much room and no more. */
function leaveFree(kib: number): void {
  rmSync(join(disk, 'ballast'), { force: true });
  const { bavail, bsize } = statfsSync(disk);
  writeFileSync(join(disk, 'ballast'), Buffer.alloc(Math.max(0, bavail * bsize - kib * 1024)));
}

const emptied = (): void => {
  for (const name of ['ballast', 'collection']) rmSync(join(disk, name), { recursive: true, force: true });
};

describe.skipIf(why !== null)('a full disk', () => {
  it('says so, keeps what was acknowledged, and goes on once there is room', async () => {
    const folder = join(disk, 'collection');
    const told: string[] = [];
    for (const kib of [0, 4, 8, 16, 24, 40, 64, 100, 160, 240, 400]) {
      emptied();
      const host = await testHost(folder);
      const stylus = await host.ask('stylus.create', DRAFT);
      leaveFree(kib);
      const acknowledged: string[] = [];
      const attempt = (work: Promise<{ id: string }>): Promise<void> =>
        work.then(
          ({ id }) => void acknowledged.push(id),
          (error: unknown) => void told.push(String(error)),
        );
      for (let i = 0; i < 12; i++) {
        const text = `${i} ${'x'.repeat(3000)}`;
        const entry = { stylusId: stylus.id, kind: 'note', date: '2024-01-02', played: null, text } as const;
        await attempt(host.ask('entry.add', entry));
        await attempt(addPicture(host, stylus.id, await picture(i * 9)));
      }
      await host.close();
      leaveFree(1024);
      const rows = await soundRows(folder);
      const ids = [...(rows['entry'] ?? []), ...(rows['capture'] ?? [])].map(
        (row) => (row as { id: string }).id,
      );
      expect(ids.toSorted()).toEqual(acknowledged.toSorted());
    }
    expect(told.length).toBeGreaterThan(10);
    expect(told.filter((sentence) => !sentence.includes('disk-full'))).toEqual([]);
  }, 180_000);

  it('makes no half backup, and the temporary folder of a copy may be full too', async () => {
    emptied();
    const folder = join(disk, 'collection');
    const collection = await open(folder);
    await fill(collection, 'First', [30, 60]);
    for (const kib of [0, 40, 120, 200]) {
      leaveFree(kib);
      const target = join(folder, 'backups');
      await expect(makeBackup(collection, { kind: 'by-hand', target, program: 'a test' })).rejects.toThrow(
        /no space|disk is full|not enough room|disk full/i,
      );
      expect(await realDisk.list(target)).toEqual([]);
    }
    collection.close();
    emptied();
    const elsewhere = mkdtempSync(join(tmpdir(), 'daybook-full-'));
    const other = await open(elsewhere);
    await fill(other, 'First', [30]);
    other.close();
    mkdirSync(join(disk, 'temporary'));
    leaveFree(0);
    const before = process.env['TMPDIR'];
    process.env['TMPDIR'] = join(disk, 'temporary');
    try {
      await expect(openCopy(realDisk, elsewhere)).rejects.toThrow(/no space/i);
      expect(await realDisk.list(join(disk, 'temporary'))).toEqual([]);
    } finally {
      if (before === undefined) delete process.env['TMPDIR'];
      else process.env['TMPDIR'] = before;
      rmSync(elsewhere, { recursive: true, force: true });
    }
  }, 60_000);
});
