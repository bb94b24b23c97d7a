import { createHash } from 'node:crypto';
import { PassThrough, Readable } from 'node:stream';
import yazl from 'yazl';
import { Cancelled } from '../../../shared/index.ts';
import type { Disk } from '../store/disk.ts';
import { ABOUT_PART, BAGIT_TXT, bagInfoText, manifestText } from './bag.ts';
import type { About } from './bag.ts';

/** What a long piece of work may be told and asked: how far it is, and whether it should stop. */
export type Watch = {
  readonly signal?: AbortSignal | undefined;
  readonly onProgress?: ((stage: string, fraction: number) => void) | undefined;
};

export function assertGoingOn({ signal }: Watch): void {
  if (signal?.aborted) throw new Cancelled('cancelled');
}

export type Source = {
  /** Name inside the archive. */
  readonly name: string;
  readonly byteLength: number;
  /** Pictures are packed already; databases and text are not. */
  readonly compress: boolean;
  open(): Promise<AsyncIterable<Uint8Array>>;
};

type Packing = {
  readonly zip: yazl.ZipFile;
  readonly top: string;
  readonly at: Date;
  /** Called with the length of every piece that has gone in. */
  readonly step: (bytes: number) => void;
};

/** Adds one file and waits until all of it has gone in; tells its hash and true length. */
function pack(
  { zip, top, at, step }: Packing,
  source: Source,
): Promise<{ sha256: string; byteLength: number }> {
  return new Promise((done, fail) => {
    const hash = createHash('sha256');
    let byteLength = 0;
    async function* pieces(): AsyncGenerator<Uint8Array> {
      for await (const piece of await source.open()) {
        step(piece.byteLength);
        hash.update(piece);
        byteLength += piece.byteLength;
        yield piece;
      }
    }
    const options = { mtime: at, mode: 0o100644, compress: source.compress };
    zip.addReadStreamLazy(`${top}/${source.name}`, options, (give) => {
      const stream = Readable.from(pieces(), { objectMode: false });
      stream.on('error', fail);
      stream.once('end', () => done({ sha256: hash.digest('hex'), byteLength }));
      give(null, stream);
    });
  });
}

export const textSource = (name: string, text: string): Source => {
  const bytes = new TextEncoder().encode(text);
  return { name, byteLength: bytes.byteLength, compress: true, open: async () => Readable.from([bytes]) };
};

/** Writes files into one ZIP file at `path`, which must not exist yet; on any failure nothing stays there. */
async function writeZip<T>(disk: Disk, path: string, fill: (zip: yazl.ZipFile) => Promise<T>): Promise<T> {
  const zip = new yazl.ZipFile();
  const out = new PassThrough();
  (zip.outputStream as Readable).pipe(out);
  // Whoever reads from it hears of an error anyway; without a listener of its own it would end the program.
  out.on('error', () => undefined);
  zip.on('error', (error: Error) => out.destroy(error));
  (zip.outputStream as Readable).on('error', (error: Error) => out.destroy(error));
  const written = disk.writeStream(path, out);
  // Whichever fails first is what went wrong; the other one is then only stopped.
  const failed = written.then(
    () => new Promise<never>(() => undefined),
    (error: unknown) => Promise.reject(error as Error),
  );
  try {
    const result = await Promise.race([fill(zip), failed]);
    zip.end();
    await written;
    return result;
  } catch (error) {
    out.destroy(error as Error);
    await written.catch(() => undefined);
    await disk.remove(path).catch(() => undefined);
    throw error;
  }
}

type ZipOptions = { readonly top: string; readonly at: Date; readonly stage: string } & Watch;

function packing(zip: yazl.ZipFile, sources: readonly Source[], options: ZipOptions): Packing {
  const total = sources.reduce((sum, source) => sum + source.byteLength, 0) || 1;
  let done = 0;
  return {
    zip,
    top: options.top,
    at: options.at,
    step: (bytes) => {
      assertGoingOn(options);
      done += bytes;
      options.onProgress?.(options.stage, Math.min(1, done / total));
    },
  };
}

/** A plain ZIP file of the given sources. */
export function writePlainZip(
  disk: Disk,
  path: string,
  sources: readonly Source[],
  options: ZipOptions,
): Promise<void> {
  return writeZip(disk, path, async (zip) => {
    const into = packing(zip, sources, options);
    for (const source of sources) await pack(into, source);
  });
}

/** A bag (RFC 8493) of the given payload; tells the checksum of every payload file as it went in. */
export function writeBag(
  disk: Disk,
  path: string,
  payload: readonly Source[],
  about: About,
  options: ZipOptions,
): Promise<Map<string, string>> {
  const day = options.at.toISOString().slice(0, 10);
  return writeZip(disk, path, async (zip) => {
    const into = packing(zip, payload, options);
    const quiet: Packing = { ...into, step: () => assertGoingOn(options) };
    const manifest = new Map<string, string>();
    let byteLength = 0;
    const aboutText = `${JSON.stringify(about, null, 2)}\n`;
    for (const source of [textSource(ABOUT_PART, aboutText), ...payload]) {
      const packed = await pack(into, source);
      manifest.set(source.name, packed.sha256);
      byteLength += packed.byteLength;
    }
    const tags = new Map<string, string>();
    const info = bagInfoText({ day, byteLength, files: manifest.size, about });
    for (const [name, text] of [
      ['bagit.txt', BAGIT_TXT],
      ['bag-info.txt', info],
      ['manifest-sha256.txt', manifestText(manifest)],
    ] as const)
      tags.set(name, (await pack(quiet, textSource(name, text))).sha256);
    await pack(quiet, textSource('tagmanifest-sha256.txt', manifestText(tags)));
    return manifest;
  });
}
