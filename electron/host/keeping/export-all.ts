import { join } from 'node:path';
import { Readable } from 'node:stream';
import { Refusal } from '../../../shared/index.ts';
import type { ExportMade, Outcome } from '../../../shared/index.ts';
import type { ShownPicture } from '../pictures/inspect.ts';
import type { Collection } from '../store/collection.ts';
import type { Row, SqlValue } from '../store/database.ts';
import { tablesOf } from '../store/related.ts';
import { stampOf } from './backup.ts';
import { textSource, writePlainZip } from './archive-write.ts';
import type { Source, Watch } from './archive-write.ts';
import { csvText } from './csv.ts';
import type { Cell } from './csv.ts';
import { safeFileName } from './file-names.ts';

/**
 * Everything in forms that other programs read: a CSV file for every table, one JSON file, and the pictures. The
 * pictures are copies without metadata, so that neither a place nor a serial number goes along; the originals are in a
 * backup.
 */
export type MakeCopy = (sha256: string, path: string) => Promise<Outcome<ShownPicture>>;

const README = `What is in here
data/*.csv      one file for each table; the first line names the columns. Text that a spreadsheet would take for a
                formula has an apostrophe in front.
data/daybook.json   the same, and what a cell cannot hold, as JSON
pictures/       one folder for each stylus; upright copies without metadata (no place, no serial number)
pictures.csv    which file is which capture

Lengths are micrometres, scales micrometres per pixel, playing time hours; dates are the camera's own wall time.
Sound recordings are not in here. This is for other programs; to bring a collection back, use a backup, which holds
everything.
`;

const cellOf = (value: SqlValue): Cell =>
  value instanceof Uint8Array ? Buffer.from(value).toString('base64') : value;

function csvOf(rows: readonly Row[], columns: readonly string[]): string {
  return csvText([columns, ...rows.map((row) => columns.map((column) => cellOf(row[column] ?? null)))]);
}

/** Columns that hold JSON come out as what they say. */
function jsonValue(value: SqlValue): unknown {
  if (typeof value !== 'string' || !/^[[{]/.test(value)) return cellOf(value);
  try {
    return JSON.parse(value) as unknown;
  } catch {
    return value;
  }
}

function tableSources({ db }: Collection): Source[] {
  const tables = tablesOf(db).map((table) => {
    const rows = db.all(`SELECT * FROM ${table} ORDER BY rowid`);
    const columns = db.all(`PRAGMA table_info(${table})`).map((row) => String(row['name']));
    return { table, rows, columns };
  });
  const json = Object.fromEntries(
    tables.map(({ table, rows }) => [
      table,
      rows.map((row) =>
        Object.fromEntries(Object.entries(row).map(([column, value]) => [column, jsonValue(value)])),
      ),
    ]),
  );
  return [
    textSource('README.txt', README),
    ...tables.map(({ table, rows, columns }) => textSource(`data/${table}.csv`, csvOf(rows, columns))),
    textSource('data/daybook.json', `${JSON.stringify(json, null, 1)}\n`),
  ];
}

type Shown = {
  readonly id: string;
  readonly sha256: string;
  readonly mediaType: string;
  readonly stem: string;
};

function pictures({ db }: Collection): Shown[] {
  const rows = db.all(
    `SELECT capture.id, capture.sha256, capture.view, capture.taken_wall, original.media_type, stylus.name, stylus.id AS stylus
     FROM capture JOIN original USING (sha256) JOIN stylus ON stylus.id = stylus_id
     ORDER BY stylus.created_at, capture.taken_wall, capture.id`,
  );
  return rows.map((row) => {
    // A part of the id keeps two things of one name apart.
    const folder = `${safeFileName(String(row['name']))} ${String(row['stylus']).slice(0, 6)}`;
    const day = typeof row['taken_wall'] === 'string' ? row['taken_wall'].slice(0, 10) : 'undated';
    const id = String(row['id']);
    return {
      id,
      sha256: String(row['sha256']),
      mediaType: String(row['media_type']),
      stem: `pictures/${folder}/${day} ${safeFileName(String(row['view']))} ${id.slice(0, 8)}`,
    };
  });
}

/** A JPEG stays one, everything else becomes a PNG; see sharePicture. */
const fileOf = ({ stem, mediaType }: Shown): string =>
  `${stem}.${mediaType === 'image/jpeg' ? 'jpg' : 'png'}`;

async function pictureSources(
  collection: Collection,
  makeCopy: MakeCopy,
  left: string[],
): Promise<{ sources: Source[]; shown: Shown[] }> {
  const { originals, disk } = collection;
  const shown: Shown[] = [];
  const sources: Source[] = [];
  for (const one of pictures(collection)) {
    const path = originals.pathOf(one.sha256, one.mediaType);
    const byteLength = await disk.sizeOf(path);
    if (byteLength === null || !(await originals.isIntact(one.sha256, one.mediaType))) {
      left.push(one.id);
      continue;
    }
    shown.push(one);
    const open = async () => {
      const copy = await makeCopy(one.sha256, path);
      if (!copy.ok) throw new Refusal(copy.reason.code, copy.reason.message);
      return Readable.from([copy.value.bytes]);
    };
    sources.push({ name: fileOf(one), byteLength, compress: false, open });
  }
  return { sources, shown };
}

export async function exportEverything(
  collection: Collection,
  target: string,
  makeCopy: MakeCopy,
  watch: Watch = {},
): Promise<ExportMade> {
  const { disk } = collection;
  const at = new Date();
  const left: string[] = [];
  const { sources, shown } = await pictureSources(collection, makeCopy, left);
  const list = csvText([['capture_id', 'file'], ...shown.map((one) => [one.id, fileOf(one)])]);
  const all = [...tableSources(collection), textSource('pictures.csv', list), ...sources];
  const top = `stylus-daybook-export-${stampOf(at)}`;
  const path = join(target, `${top}.zip`);
  const unfinished = `${path}.part`;
  try {
    await disk.remove(unfinished);
    await writePlainZip(disk, unfinished, all, { top, at, stage: 'Writing tables and pictures', ...watch });
    await disk.rename(unfinished, path);
    await disk.syncFolder(target);
  } catch (error) {
    await disk.remove(unfinished).catch(() => undefined);
    throw error;
  }
  return { path, byteLength: (await disk.sizeOf(path)) ?? 0, pictures: shown.length, left };
}
