import yauzl from 'yauzl';
import type { Entry, ZipFile } from 'yauzl';
import { PassThrough } from 'node:stream';
import type { Readable } from 'node:stream';
import { Cancelled, MAX_UPLOAD_BYTES, Refusal } from '../../../shared/index.ts';
import type { Disk } from '../store/disk.ts';
import { DATABASE_PART, PICTURE_PART, refused } from './bag.ts';
import { placeOf } from './archive-names.ts';

/**
 * Opens an archive and looks at its directory only: names, kinds, sizes. Nothing is unpacked before everything that
 * can be known beforehand has been found in order.
 */
export type Part = {
  readonly name: string;
  readonly byteLength: number;
  /** The content; throws a refusal when there is more or less of it than was said. */
  stream(): Promise<Readable>;
};
export type Archive = {
  readonly parts: ReadonlyMap<string, Part>;
  readonly byteLength: number;
  close(): void;
};

const MAX_PARTS = 100_000;
const MAX_DATABASE_BYTES = 8 * 2 ** 30;
const MAX_TEXT_BYTES = 64 * 2 ** 20;
/** Deflate reaches 1032 at most; a database of ours some 20, an almost empty one 100. Small files are let off. */
const MAX_RATIO = 200;
const RATIO_COUNTS_FROM_BYTES = 4 * 2 ** 20;

class DiskReader extends yauzl.RandomAccessReader {
  readonly #disk: Disk;
  readonly #path: string;
  constructor(disk: Disk, path: string) {
    super();
    this.#disk = disk;
    this.#path = path;
  }
  override _readStreamForRange(start: number, end: number): Readable {
    const out = new PassThrough();
    this.#disk.readStream(this.#path, { start, end }).then(
      (file) => {
        file.on('error', (error) => out.destroy(error));
        out.on('close', () => file.destroy());
        return out.destroyed ? file.destroy() : file.pipe(out);
      },
      (error: unknown) => out.destroy(error as Error),
    );
    return out;
  }
}

/** The library's words are for programmers. A failing disk stays a failing disk. */
export function archiveTrouble(error: unknown): unknown {
  if (error instanceof Refusal || error instanceof Cancelled) return error;
  const code = (error as NodeJS.ErrnoException | null)?.code ?? '';
  if (/^E[A-Z]+$/.test(code)) return error;
  const message = error instanceof Error ? error.message : String(error);
  if (/central directory record signature not found|not a zip|truncated|comment length/i.test(message))
    return refused('it is no ZIP file, or it is cut short');
  if (/too many bytes|not enough bytes|unexpected EOF|EOF|file data overflows|size mismatch/i.test(message))
    return refused('a file in it is longer or shorter than it says');
  return refused('it is damaged or was made to mislead');
}

function limitOf(part: string): number {
  if (PICTURE_PART.test(part)) return MAX_UPLOAD_BYTES;
  return part === DATABASE_PART ? MAX_DATABASE_BYTES : MAX_TEXT_BYTES;
}

const UNIX = 3;
const MAC = 19;

function assertPlainFile(entry: Entry, isFolder: boolean): void {
  const madeBy = entry.versionMadeBy >> 8;
  // Other systems leave the upper half to chance; a link can only be one on these.
  const kind = madeBy === UNIX || madeBy === MAC ? (entry.externalFileAttributes >>> 16) & 0o170000 : 0;
  if (kind === 0o120000) throw refused('it holds a link');
  if (kind !== 0 && kind !== 0o100000 && !(isFolder && kind === 0o040000))
    throw refused('it holds something that is neither a file nor a folder');
  if (entry.isEncrypted()) throw refused('a file in it is encrypted');
  if (entry.compressionMethod !== 0 && entry.compressionMethod !== 8)
    throw refused('a file in it is packed in a way that is not used here');
  if (isFolder && entry.uncompressedSize !== 0) throw refused('a folder in it claims to have content');
}

function assertSizes(entry: Entry, part: string): void {
  const { compressedSize, uncompressedSize } = entry;
  if (!Number.isSafeInteger(uncompressedSize) || uncompressedSize > limitOf(part))
    throw refused('a file in it is larger than any that belongs there');
  if (entry.compressionMethod === 0 && compressedSize !== uncompressedSize)
    throw refused('a file in it is longer or shorter than it says');
  if (uncompressedSize > RATIO_COUNTS_FROM_BYTES && uncompressedSize > compressedSize * MAX_RATIO)
    throw refused('a file in it would grow more than two-hundredfold when unpacked');
}

/** Files that share bytes make a small archive unpack to a huge one. */
function assertApart(entries: readonly Entry[], archiveBytes: number): void {
  const spans = entries
    .map((entry) => {
      const start = entry.relativeOffsetOfLocalHeader;
      return { start, end: start + 30 + entry.fileNameLength + entry.compressedSize };
    })
    .toSorted((a, b) => a.start - b.start);
  spans.forEach(({ start, end }, i) => {
    if (start < 0 || end > archiveBytes) throw refused('a file in it lies outside the archive');
    if (i > 0 && start < spans[i - 1].end) throw refused('two files in it share the same bytes');
  });
}

const END_BYTES = 22;
const ZIP64_END_BYTES = 56 + 20;

/** Between the directory's last entry and the end record there is nothing: no second directory, no hidden entry. */
function assertNothingHidden(zip: ZipFile): void {
  const gap = zip.fileSize - END_BYTES - zip.comment.length - Number(zip.readEntryCursor);
  if (gap !== 0 && gap !== ZIP64_END_BYTES) throw refused('its directory does not end where it says');
}

async function directory(zip: ZipFile, archiveBytes: number): Promise<Map<string, Entry>> {
  const found = new Map<string, Entry>();
  const all: Entry[] = [];
  const seen = new Set<string>();
  let top: string | null = null;
  if (zip.entryCount > MAX_PARTS) throw refused('it holds more files than any daybook');
  for await (const entry of zip.eachEntry()) {
    const place = placeOf(entry.fileNameRaw);
    top ??= place.top;
    if (place.top !== top) throw refused('it holds more than one folder');
    const key = place.part.normalize('NFC').toLowerCase();
    if (seen.has(key)) throw refused('it holds the same name twice');
    seen.add(key);
    const isFolder = place.part === '' || place.part.endsWith('/');
    assertPlainFile(entry, isFolder);
    assertSizes(entry, place.part);
    all.push(entry);
    if (!isFolder) found.set(place.part, entry);
  }
  assertNothingHidden(zip);
  assertApart(all, archiveBytes);
  return found;
}

/** The same file has a second head in front of its content; it must say the same. */
async function contentOf(zip: ZipFile, entry: Entry): Promise<Readable> {
  const head = await zip.readLocalFileHeaderPromise(entry);
  if (Buffer.compare(head.fileName, entry.fileNameRaw) !== 0)
    throw refused('a file in it has two different names');
  if (head.compressionMethod !== entry.compressionMethod)
    throw refused('a file in it says two different things about itself');
  return new Promise((done, fail) => {
    zip.openReadStream(entry, (error, stream) => {
      if (error !== null) return fail(error);
      // The library only emits an error, once and whether or not somebody listens yet; a destroyed stream keeps it for
      // whoever reads from it later, who would otherwise wait for ever.
      const out = new PassThrough();
      out.on('error', () => undefined);
      stream.on('error', (wrong) => out.destroy(wrong));
      out.on('close', () => stream.destroy());
      stream.pipe(out);
      return done(out);
    });
  });
}

export async function openArchive(disk: Disk, path: string): Promise<Archive> {
  const size = await disk.sizeOf(path);
  if (size === null)
    throw new Refusal('no-such-file', `There is no file ${path}. Check its name and where it lies.`);
  let zip: ZipFile | undefined;
  try {
    const opened = await yauzl.fromRandomAccessReaderPromise(new DiskReader(disk, path), size, {
      autoClose: false,
      decodeStrings: false,
      validateEntrySizes: true,
    });
    zip = opened;
    const entries = await directory(opened, size);
    const parts = new Map(
      [...entries].map(([name, entry]) => [
        name,
        { name, byteLength: entry.uncompressedSize, stream: () => contentOf(opened, entry) },
      ]),
    );
    const byteLength = [...parts.values()].reduce((sum, part) => sum + part.byteLength, 0);
    return { parts, byteLength, close: () => opened.close() };
  } catch (error) {
    zip?.close();
    throw archiveTrouble(error);
  }
}
