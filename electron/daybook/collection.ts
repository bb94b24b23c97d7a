import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { Cancelled, Refusal } from '../../shared/index.ts';
import type { CheckReport } from '../../shared/index.ts';
import { createEngine } from '../host/engine.ts';
import { makeBackup, targetFolder } from '../host/keeping/backup.ts';
import { checkCollection } from '../host/keeping/check.ts';
import { exportEverything } from '../host/keeping/export-all.ts';
import { exportStylus, importStylus, stylusFileName } from '../host/keeping/one-stylus.ts';
import { restoreBackup } from '../host/keeping/restore.ts';
import { verifyArchive } from '../host/keeping/unpack.ts';
import { openCollection } from '../host/store/collection.ts';
import { holdFolder } from '../host/store/hold.ts';
import type { Collection } from '../host/store/collection.ts';
import { realDisk } from '../host/store/disk.ts';
import { collectionFolder } from '../paths.ts';
import { UsageError } from './arguments.ts';

/**
 * Maintenance of a collection from the command line. Every command that opens one takes its lock, so that none runs
 * beside a window; whoever has it open is named, and nothing is done.
 */
const WHO = 'a Stylus Daybook maintenance command';
const PROGRAM = 'Stylus Daybook, command line';
const EXIT_IN_USE = 3;
const COPY_LIMIT_MS = 120_000;

const OPTIONS = {
  folder: { type: 'string' },
  from: { type: 'string' },
  to: { type: 'string' },
  stylus: { type: 'string' },
  json: { type: 'boolean' },
} as const;
type Given = { folder?: string; from?: string; to?: string; stylus?: string; json?: boolean };
type Told = { readonly ok: boolean; readonly json: object; readonly text: string };
type Watching = {
  readonly signal: AbortSignal;
  readonly onProgress: (stage: string, fraction: number) => void;
};
type Run = (given: Given, watch: Watching, workerFile: string) => Promise<Told>;

const mib = (bytes: number): string => `${(bytes / 2 ** 20).toFixed(1)} MiB`;
const folderOf = ({ folder }: Given): string =>
  folder === undefined ? collectionFolder(process.env) : resolve(folder);

function needed(given: Given, name: 'from' | 'stylus'): string {
  const value = given[name];
  if (value === undefined || value === '') throw new UsageError(`--${name} is missing.`);
  return value;
}

/** A maintenance command makes no new collection by a mistyped name. */
async function opened<T>(given: Given, work: (collection: Collection) => Promise<T>): Promise<T> {
  const folder = folderOf(given);
  const there = await Promise.all(
    ['daybook.sqlite', 'originals', 'restore.json'].map((name) => realDisk.kindOf(join(folder, name))),
  );
  if (there.every((kind) => kind === null))
    throw new UsageError(`There is no collection in ${folder}. Name its folder with --folder.`);
  const collection = await openCollection({ folder, who: WHO });
  try {
    return await work(collection);
  } finally {
    collection.close();
  }
}

const target = (collection: Collection, { to }: Given): Promise<string> =>
  targetFolder(collection, to === undefined ? null : resolve(to));

export function checkText(report: CheckReport): string {
  const { database, originals } = report;
  const named = (what: string, list: CheckReport['originals']['damaged']): string[] =>
    list.map(
      ({ file, usedBy }) => `  ${what}: ${file}${usedBy.length > 0 ? `, shown by ${usedBy.join('; ')}` : ''}`,
    );
  return [
    `Database: ${database.ok ? 'fine' : 'not in order'}`,
    ...database.problems.map((line) => `  ${line}`),
    `Pictures: ${originals.fine} fine, ${originals.damaged.length} damaged, ${originals.missing.length} missing, ` +
      `${originals.orphaned.length} orphaned`,
    ...named('damaged', originals.damaged),
    ...named('missing', originals.missing),
    ...originals.orphaned.map((name) => `  orphaned: ${name}`),
    report.ok ? 'Everything is as it should be.' : 'Take what is damaged or missing back from a backup.',
  ].join('\n');
}

const check: Run = (given, watch) =>
  opened(given, async (collection) => {
    const report = await checkCollection(collection, watch);
    return { ok: report.ok, json: report, text: checkText(report) };
  });

const backup: Run = (given, watch) =>
  opened(given, async (collection) => {
    const made = await makeBackup(
      collection,
      { kind: 'by-hand', target: await target(collection, given), program: PROGRAM },
      watch,
    );
    const left = made.missing.length;
    const text =
      `Backup: ${made.path}\n${made.pictures} pictures, ${mib(made.byteLength)}, read back and compared.` +
      (left > 0 ? `\n${left} damaged or missing pictures are not in it; run "collection check".` : '');
    return { ok: left === 0, json: made, text };
  });

const verify: Run = async (given, watch) => {
  const { about, manifest } = await verifyArchive(realDisk, resolve(needed(given, 'from')), watch);
  const json = { ...about, files: manifest.size };
  return { ok: true, json, text: `All ${manifest.size} files in it are what their checksums say.` };
};

/** Works also where the collection itself does not open any more, and in an empty place. */
const restore: Run = async (given, watch) => {
  const from = resolve(needed(given, 'from'));
  const folder = folderOf(given);
  const hold = await holdFolder(folder, WHO);
  try {
    const { aside, missing } = await restoreBackup(realDisk, folder, from, watch);
    const text =
      `Taken back into ${folder}.\nWhat was there before is kept in ${join(folder, aside)}.` +
      (missing.length > 0 ? `\nThe backup itself lacks ${missing.length} pictures.` : '');
    return { ok: true, json: { folder, aside, missing }, text };
  } finally {
    hold.release();
  }
};

const exportAll: Run = (given, watch, workerFile) =>
  opened(given, async (collection) => {
    const engine = createEngine({ workerFile, threads: 1 });
    try {
      const copy = (sha256: string, path: string) =>
        engine.run(
          'share',
          { source: { path, sha256 } },
          { timeLimitMs: COPY_LIMIT_MS, signal: watch.signal },
        );
      const made = await exportEverything(collection, await target(collection, given), copy, watch);
      const left =
        made.left.length > 0 ? `\n${made.left.length} pictures are damaged or missing and not in it.` : '';
      return {
        ok: made.left.length === 0,
        json: made,
        text: `Export: ${made.path}\n${made.pictures} pictures, ${mib(made.byteLength)}.${left}`,
      };
    } finally {
      await engine.close();
    }
  });

/** By its id or by its name, when only one bears it. */
function stylusNamed({ db }: Collection, wanted: string): string {
  const found = db.all('SELECT id FROM stylus WHERE id = ? OR name = ?', wanted, wanted);
  if (found.length === 1) return String(found[0]['id']);
  throw new UsageError(
    found.length === 0
      ? `No stylus is called "${wanted}".`
      : `${found.length} styluses are called "${wanted}"; give the id of one: ${found.map((row) => String(row['id'])).join(', ')}.`,
  );
}

const exportOne: Run = (given, watch) =>
  opened(given, async (collection) => {
    const stylusId = stylusNamed(collection, needed(given, 'stylus'));
    const place = await target(collection, given);
    const fileName = stylusFileName(collection, stylusId);
    const made = await exportStylus(
      collection,
      { stylusId, program: PROGRAM, target: place, fileName },
      watch,
    );
    return {
      ok: made.missing.length === 0,
      json: made,
      text: `Stylus: ${made.path}\n${mib(made.byteLength)}.`,
    };
  });

const importOne: Run = (given, watch) =>
  opened(given, async (collection) => {
    const carried = await importStylus(collection, resolve(needed(given, 'from')), watch);
    const text = carried.again ? 'Imported as a second one: it was in the collection already.' : 'Imported.';
    return { ok: true, json: carried, text: `${text}\n${carried.stylusId}` };
  });

const COMMANDS: Readonly<Record<string, { readonly run: Run; readonly options: readonly (keyof Given)[] }>> =
  {
    check: { run: check, options: ['folder'] },
    backup: { run: backup, options: ['folder', 'to'] },
    verify: { run: verify, options: ['from'] },
    restore: { run: restore, options: ['folder', 'from'] },
    export: { run: exportAll, options: ['folder', 'to'] },
    'export-stylus': { run: exportOne, options: ['folder', 'stylus', 'to'] },
    'import-stylus': { run: importOne, options: ['folder', 'from'] },
  };

export const COLLECTION_HELP = `A whole collection, with the program closed:

  npm run --silent daybook -- collection check            compares everything with its checksums; changes nothing
  npm run --silent daybook -- collection backup           one archive, read back and compared
  npm run --silent daybook -- collection verify --from F  reads an archive and compares every checksum
  npm run --silent daybook -- collection restore --from F takes a backup back; what was there is kept aside
  npm run --silent daybook -- collection export           tables as CSV and JSON, pictures without metadata
  npm run --silent daybook -- collection export-stylus --stylus NAME
  npm run --silent daybook -- collection import-stylus --from F

  --folder DIR          the collection's folder, when it is not the usual one
  --to DIR              where the file goes; its folder "backups" when absent
  --json                the answer as one JSON object on standard output

Exit status: 0 done and all is well, 1 refused or something is not well, 2 wrong usage, 3 somebody has it open.
`;

function commandOf(args: string[]): { run: Run; given: Given } {
  const names = Object.keys(COMMANDS).join(', ');
  let read;
  try {
    read = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  } catch (error) {
    throw new UsageError(error instanceof Error ? error.message : String(error));
  }
  const [name, ...rest] = read.positionals;
  const command = name === undefined ? undefined : COMMANDS[name];
  if (command === undefined || !Object.hasOwn(COMMANDS, name))
    throw new UsageError(`"collection" wants one of ${names}.`);
  if (rest.length > 0) throw new UsageError(`"${rest[0]}" was not expected.`);
  for (const option of Object.keys(read.values) as (keyof Given)[])
    if (option !== 'json' && !command.options.includes(option))
      throw new UsageError(`--${option} does not belong to "collection ${name}".`);
  return { run: command.run, given: read.values };
}

/** One line that is written over; only where somebody looks. */
function progressOn(err: NodeJS.WritableStream): Watching['onProgress'] {
  if (!(err as { isTTY?: boolean }).isTTY) return () => undefined;
  return (stage, fraction) => err.write(`\r\u001B[K${stage} ${Math.floor(fraction * 100)}\u00A0%`);
}

type Streams = { readonly out: NodeJS.WritableStream; readonly err: NodeJS.WritableStream };

/** Runs one command and returns its exit status; see the help. */
export async function runCollection(
  args: string[],
  { out, err }: Streams,
  workerFile: string,
): Promise<number> {
  const { run, given } = commandOf(args);
  const stop = new AbortController();
  const abort = () => stop.abort();
  process.once('SIGINT', abort);
  const failed = (code: string, message: string): number => {
    if (given.json === true) out.write(`${JSON.stringify({ ok: false, error: { code, message } })}\n`);
    else err.write(`daybook: ${message}\n`);
    return code === 'collection-in-use' ? EXIT_IN_USE : 1;
  };
  try {
    const told = await run(given, { signal: stop.signal, onProgress: progressOn(err) }, workerFile);
    if ((err as { isTTY?: boolean }).isTTY) err.write('\r\u001B[K');
    out.write(given.json === true ? `${JSON.stringify({ ...told.json, ok: told.ok })}\n` : `${told.text}\n`);
    return told.ok ? 0 : 1;
  } catch (error) {
    if (error instanceof Refusal) return failed(error.code, error.message);
    if (error instanceof Cancelled) return failed('cancelled', 'Cancelled. Nothing was changed.');
    throw error;
  } finally {
    process.off('SIGINT', abort);
  }
}
