import { mkdir } from 'node:fs/promises';
import { isAbsolute, join } from 'node:path';
import { Refusal, checkReportSchema } from '../../../shared/index.ts';
import type { CheckReport, HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { checkCollection } from '../keeping/check.ts';
import { backupsFolder, makeBackup, targetFolder } from '../keeping/backup.ts';
import { emptyBin } from '../keeping/bin.ts';
import { exportEverything } from '../keeping/export-all.ts';
import { listAside, listBackups } from '../keeping/list.ts';
import { exportStylusBytes, importStylusBytes } from '../keeping/one-stylus.ts';
import { prepareRestore, takeAsideBack } from '../keeping/restore.ts';
import { USUAL, readSettings, writeSettings } from '../keeping/settings.ts';
import { verifyArchive } from '../keeping/unpack.ts';
import type { Keeper } from '../keeper.ts';
import { listBin } from '../store/bin.ts';
import type { Database } from '../store/database.ts';
import { realDisk } from '../store/disk.ts';
import { readStylus } from '../store/styluses.ts';

type Names = Extract<
  keyof HostHandlers,
  `keeping.${string}` | 'bin.list' | 'bin.empty' | 'stylus.export' | 'stylus.import'
>;

/** What the handlers need besides a collection: they also serve a host that has none open. */
export type KeepingBase = Pick<Context, 'jobs' | 'emit' | 'pictures' | 'version'> & {
  readonly keeper: Keeper;
  readonly showFolder: ((path: string) => Promise<void>) | null;
};

/** Long enough for a large collection on a slow disk; only a person's patience ends it earlier. */
const NO_LIMIT_MS = 24 * 3_600_000;
const LAST_CHECK = 'last-check';
const COPY_LIMIT_MS = 120_000;

function lastCheck(db: Database): CheckReport | null {
  const value = db.get('SELECT value FROM setting WHERE name = ?', LAST_CHECK)?.['value'];
  try {
    return checkReportSchema.parse(JSON.parse(String(value)));
  } catch {
    return null;
  }
}

function rememberCheck(db: Database, report: CheckReport): void {
  db.run(
    'INSERT INTO setting VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value',
    LAST_CHECK,
    JSON.stringify(report),
  );
}

function assertAbsolute(path: string): string {
  if (isAbsolute(path)) return path;
  throw new Refusal('bad-input', `Give the whole path, from its root; "${path}" is only a part.`);
}

/** Checks, backups, restores, exports and the bin. */
export function keepingHandlers(base: KeepingBase): Pick<HostHandlers, Names> {
  const { keeper, jobs, version, pictures } = base;
  const program = `Stylus Daybook ${version}`;
  const { folder } = keeper;
  const settings = () => {
    const { collection } = keeper.seat();
    return collection === null ? USUAL : readSettings(collection.db);
  };
  const changed = () => base.emit('changed', { stylusId: null });
  const job = <T>(jobId: string, work: Parameters<typeof jobs.run<T>>[2]) =>
    jobs.run(jobId, NO_LIMIT_MS, work);
  return {
    'keeping.status': async () => {
      const { collection } = keeper.seat();
      return {
        folder,
        settings: settings(),
        backups: await listBackups(realDisk, folder, settings().backupFolder),
        aside: await listAside(realDisk, folder),
        lastCheck: collection === null ? null : lastCheck(collection.db),
      };
    },
    'keeping.set': async (next) => {
      const { db } = keeper.collection();
      if (next.backupFolder !== null) await targetFolder(keeper.collection(), next.backupFolder);
      writeSettings(db, next);
      changed();
      return readSettings(db);
    },
    'keeping.check': ({ jobId }) =>
      job(jobId, async (watch) => {
        const collection = keeper.collection();
        const report = await checkCollection(collection, watch);
        if (!keeper.seat().isCopy) rememberCheck(collection.db, report);
        return report;
      }),
    'keeping.backUp': ({ jobId }) =>
      job(jobId, async (watch) => {
        const collection = keeper.collection();
        const target = await targetFolder(collection, settings().backupFolder);
        return makeBackup(collection, { kind: 'by-hand', target, program }, watch);
      }),
    'keeping.export': ({ jobId }) =>
      job(jobId, async (watch) => {
        const collection = keeper.collection();
        const target = await targetFolder(collection, settings().backupFolder);
        const copy = (sha256: string, path: string) =>
          pictures.run(
            'share',
            { source: { path, sha256 } },
            { timeLimitMs: COPY_LIMIT_MS, ...(watch.signal ? { signal: watch.signal } : {}) },
          );
        return exportEverything(collection, target, copy, watch);
      }),
    'keeping.verify': ({ path, jobId }) =>
      job(jobId, async (watch) => {
        const { manifest } = await verifyArchive(realDisk, assertAbsolute(path), watch);
        return { files: manifest.size };
      }),
    'keeping.restore': ({ path, jobId }) =>
      job(jobId, (watch) =>
        prepareRestore(realDisk, folder, assertAbsolute(path), watch, (finish) => keeper.exchange(finish)),
      ),
    'keeping.takeAsideBack': ({ name }) => keeper.exchange(() => takeAsideBack(realDisk, folder, name)),
    'keeping.lookInside': () => keeper.lookInside(),
    'keeping.leaveCopy': async () => {
      await keeper.exchange(async () => undefined);
      return {};
    },
    'keeping.keepSalvaged': () => keeper.keepSalvaged(),
    'keeping.tryAgain': async () => {
      await keeper.exchange(async () => undefined);
      return {};
    },
    'keeping.showFolder': async ({ which }) => {
      if (base.showFolder === null)
        throw new Refusal('no-file-manager', `Open this folder in your file manager: ${folder}`);
      const path = { collection: folder, backups: backupsFolder(folder), aside: join(folder, 'aside') }[
        which
      ];
      await mkdir(path, { recursive: true });
      await base.showFolder(path);
      return {};
    },
    'bin.list': async () => listBin(keeper.collection().db),
    'bin.empty': async () => {
      // One second ahead: what went in during this very second counts too.
      const emptied = await emptyBin(keeper.collection(), new Date(Date.now() + 1000));
      changed();
      return emptied;
    },
    'stylus.export': ({ id, jobId }) =>
      job(jobId, (watch) => exportStylusBytes(keeper.collection(), id, program, watch)),
    'stylus.import': async ({ bytes, jobId }) => {
      const { stylusId, again } = await job(jobId, (watch) =>
        importStylusBytes(keeper.collection(), bytes, watch),
      );
      changed();
      return { stylusId, again, name: readStylus(keeper.collection().db, stylusId).name };
    },
  };
}
