import { z } from 'zod';
import { Refusal } from '../../../shared/index.ts';
import { ENDINGS } from '../store/originals.ts';

/**
 * What is inside one of our archives: a bag after RFC 8493 (bagit.txt, manifest-sha256.txt, data/...), serialised as a
 * ZIP file with one folder at its top. Pure text in and out; reading and writing stand in the files beside this one.
 */
export const BAGIT_TXT = 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n';
export const DATABASE_PART = 'data/daybook.sqlite';
export const ABOUT_PART = 'data/collection.json';
export const PICTURE_PART = new RegExp(`^data/originals/([0-9a-f]{64})\\.(${ENDINGS.join('|')})$`);
const TAG_PARTS = ['bagit.txt', 'bag-info.txt', 'manifest-sha256.txt', 'tagmanifest-sha256.txt'];
const DATA_PARTS = [DATABASE_PART, ABOUT_PART, 'data/README.txt', 'data/schema.sql'];
export const PART_FOLDERS: readonly string[] = ['', 'data/', 'data/originals/'];

export const ARCHIVE_VERSION = 1;
export const aboutSchema = z.object({
  what: z.literal('stylus-daybook-archive'),
  archiveVersion: z.number().int().positive(),
  /** A whole collection, or one stylus with everything on it. */
  kind: z.enum(['collection', 'stylus']),
  schemaVersion: z.number().int().positive(),
  createdAt: z.string().max(40),
  program: z.string().max(100),
  /** Originals that were damaged or missing already when the archive was made, by their hash. */
  missing: z.array(z.string().regex(/^[0-9a-f]{64}$/)).max(1_000_000),
});
export type About = z.infer<typeof aboutSchema>;

/** A name inside the bag (without the folder at the top) that an archive of ours may hold. */
export const isKnownPart = (name: string): boolean =>
  TAG_PARTS.includes(name) || DATA_PARTS.includes(name) || PICTURE_PART.test(name);

export const isTagPart = (name: string): boolean => TAG_PARTS.includes(name);

export type Checksums = ReadonlyMap<string, string>;

/** RFC 8493, 2.1.3: checksum, white space, path; one file a line. */
export const manifestText = (checksums: Checksums): string =>
  [...checksums].map(([name, sha256]) => `${sha256}  ${name}\n`).join('');

/** Refuses a line that is none and a name that comes twice. */
export function readManifest(text: string, file: string): Map<string, string> {
  const found = new Map<string, string>();
  for (const line of text.split(/\r\n|\r|\n/)) {
    if (line === '') continue;
    const parts = /^([0-9a-fA-F]{64})[ \t]+\*?(.+)$/.exec(line);
    if (parts === null) throw refused(`its list of checksums (${file}) has a line that is none`);
    const [, sha256, name] = parts;
    if (found.has(name)) throw refused(`its list of checksums (${file}) names a file twice`);
    found.set(name, sha256.toLowerCase());
  }
  return found;
}

type InfoFacts = { readonly day: string; readonly byteLength: number; readonly files: number; about: About };

/** RFC 8493, 2.2.2. Payload-Oxum is the payload's length in octets and its number of files. */
export const bagInfoText = ({ day, byteLength, files, about }: InfoFacts): string =>
  `Bagging-Date: ${day}\nBag-Software-Agent: ${about.program}\nPayload-Oxum: ${byteLength}.${files}\n` +
  `External-Description: Stylus Daybook, ${about.kind === 'stylus' ? 'one stylus' : 'a whole collection'}\n`;

export function assertBagit(text: string): void {
  const value = (label: string) => new RegExp(`^${label}:[ \\t]*(.*?)[ \\t]*$`, 'm').exec(text)?.[1];
  if (!['1.0', '0.97'].includes(value('BagIt-Version') ?? ''))
    throw refused('it is no bag of a known version');
  if (value('Tag-File-Character-Encoding')?.toUpperCase() !== 'UTF-8')
    throw refused('its texts are not in UTF-8');
}

export function assertOxum(text: string, byteLength: number, files: number): void {
  const oxum = /^Payload-Oxum:[ \t]*(\S+)/m.exec(text)?.[1];
  if (oxum !== undefined && oxum !== `${byteLength}.${files}`)
    throw refused('it does not hold as many files and bytes as it says itself');
}

/** One sentence for every archive that is not let in. */
export const refused = (why: string): Refusal =>
  new Refusal(
    'bad-archive',
    `The archive was not taken in: ${why}. Nothing was changed. Use another backup, or fetch the file again from where it came.`,
  );
