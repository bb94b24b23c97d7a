import { createHash } from 'node:crypto';
import { join } from 'node:path';
import type { Readable } from 'node:stream';
import { Refusal } from '../../../shared/index.ts';
import type { Disk } from '../store/disk.ts';
import { archiveTrouble, openArchive } from './archive-read.ts';
import type { Archive, Part } from './archive-read.ts';
import { assertGoingOn } from './archive-write.ts';
import type { Watch } from './archive-write.ts';
import {
  ABOUT_PART,
  ARCHIVE_VERSION,
  DATABASE_PART,
  PICTURE_PART,
  aboutSchema,
  assertBagit,
  assertOxum,
  isTagPart,
  readManifest,
  refused,
} from './bag.ts';
import type { About, Checksums } from './bag.ts';

/** An archive's content, checked against its own checksums, in a folder of its own. */
export type Unpacked = {
  readonly about: About;
  /** Checksum of every payload file by its name inside the archive. */
  readonly manifest: Checksums;
};

async function textOf(part: Part | undefined, name: string): Promise<{ text: string; sha256: string }> {
  if (part === undefined) throw refused(`"${name}" is missing in it`);
  const pieces: Uint8Array[] = [];
  for await (const piece of await part.stream()) pieces.push(piece as Uint8Array);
  const bytes = Buffer.concat(pieces);
  try {
    return {
      text: new TextDecoder('utf-8', { fatal: true }).decode(bytes),
      sha256: createHash('sha256').update(bytes).digest('hex'),
    };
  } catch {
    throw refused(`"${name}" in it is no text`);
  }
}

function aboutOf(text: string): About {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw refused('what it says about itself cannot be read');
  }
  const newer = (value as { archiveVersion?: unknown } | null)?.archiveVersion;
  if (typeof newer === 'number' && newer > ARCHIVE_VERSION)
    throw new Refusal(
      'archive-too-new',
      'The archive was made by a newer Stylus Daybook. Nothing was changed. Open it with the newer program.',
    );
  const read = aboutSchema.safeParse(value);
  if (!read.success) throw refused('it is no archive of a daybook');
  return read.data;
}

/** Every file that is there must be listed, every listed one be there, and every picture be named by its content. */
function assertComplete(archive: Archive, manifest: Checksums): void {
  const payload = [...archive.parts.keys()].filter((name) => !isTagPart(name));
  const unlisted = payload.find((name) => !manifest.has(name));
  if (unlisted !== undefined) throw refused(`it holds a file that its list does not name ("${unlisted}")`);
  const absent = [...manifest.keys()].find((name) => !archive.parts.has(name) || isTagPart(name));
  if (absent !== undefined) throw refused('a file that its list names is missing in it');
  for (const [name, sha256] of manifest) {
    const hash = PICTURE_PART.exec(name)?.[1];
    if (hash !== undefined && hash !== sha256)
      throw refused('a picture in it is not the one that it is named after');
  }
  if (!manifest.has(DATABASE_PART) || !manifest.has(ABOUT_PART)) throw refused('its database is missing');
}

async function readTags(archive: Archive): Promise<Unpacked> {
  const get = (name: string) => textOf(archive.parts.get(name), name);
  assertBagit((await get('bagit.txt')).text);
  const listed = await get('manifest-sha256.txt');
  const manifest = readManifest(listed.text, 'manifest-sha256.txt');
  if (archive.parts.has('tagmanifest-sha256.txt')) {
    const tags = readManifest((await get('tagmanifest-sha256.txt')).text, 'tagmanifest-sha256.txt');
    for (const [name, sha256] of tags)
      if (!isTagPart(name) || (await get(name)).sha256 !== sha256)
        throw refused(`"${name}" in it is not what its checksum says`);
  }
  assertComplete(archive, manifest);
  const payload = [...manifest.keys()].map((name) => archive.parts.get(name)!);
  const byteLength = payload.reduce((sum, part) => sum + part.byteLength, 0);
  if (archive.parts.has('bag-info.txt'))
    assertOxum((await get('bag-info.txt')).text, byteLength, manifest.size);
  const about = await get(ABOUT_PART);
  if (about.sha256 !== manifest.get(ABOUT_PART))
    throw refused(`"${ABOUT_PART}" in it is not what its checksum says`);
  return { about: aboutOf(about.text), manifest };
}

async function* counted(stream: Readable, watch: Watch, step: (bytes: number) => void) {
  for await (const piece of stream) {
    assertGoingOn(watch);
    step((piece as Uint8Array).byteLength);
    yield piece as Uint8Array;
  }
}

/** Goes through all payload files; `take` gets each one's content and tells its hash. */
async function eachPart(
  archive: Archive,
  { manifest }: Unpacked,
  stage: string,
  watch: Watch,
  take: (name: string, pieces: AsyncIterable<Uint8Array>) => Promise<string>,
): Promise<void> {
  let done = 0;
  const step = (bytes: number) => {
    done += bytes;
    watch.onProgress?.(stage, Math.min(1, done / (archive.byteLength || 1)));
  };
  for (const [name, sha256] of manifest) {
    const stream = await archive.parts.get(name)!.stream();
    if ((await take(name, counted(stream, watch, step))) !== sha256)
      throw refused(`"${name}" in it is not what its checksum says`);
  }
}

async function hashOf(pieces: AsyncIterable<Uint8Array>): Promise<string> {
  const hash = createHash('sha256');
  for await (const piece of pieces) hash.update(piece);
  return hash.digest('hex');
}

async function opened<T>(disk: Disk, path: string, work: (archive: Archive) => Promise<T>): Promise<T> {
  const archive = await openArchive(disk, path);
  try {
    return await work(archive);
  } catch (error) {
    throw archiveTrouble(error);
  } finally {
    archive.close();
  }
}

/** Reads an archive from end to end and compares every checksum, without writing anything. */
export function verifyArchive(disk: Disk, path: string, watch: Watch = {}): Promise<Unpacked> {
  return opened(disk, path, async (archive) => {
    const found = await readTags(archive);
    await eachPart(archive, found, 'Reading the archive back', watch, (_name, pieces) => hashOf(pieces));
    return found;
  });
}

/** Unpacks into `into`, a folder that is there for nothing else; what is wrong is refused with a sentence. */
export function unpackArchive(disk: Disk, path: string, into: string, watch: Watch = {}): Promise<Unpacked> {
  return opened(disk, path, async (archive) => {
    const found = await readTags(archive);
    await disk.makeFolder(join(into, 'originals'));
    if (archive.byteLength > (await disk.freeBytes(into)))
      throw new Refusal(
        'disk-full',
        'There is not enough room on the disk to unpack the archive. Nothing was changed. Make room and try again.',
      );
    await eachPart(archive, found, 'Unpacking and checking', watch, async (name, pieces) => {
      const path = join(into, ...name.split('/').slice(1));
      return (await disk.writeStream(path, pieces)).sha256;
    });
    await disk.syncFolder(join(into, 'originals'));
    await disk.syncFolder(into);
    return found;
  });
}
