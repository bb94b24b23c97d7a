// Over 400 lines because every archive is written out beside the sentence that it is refused with.
import { DatabaseSync } from '@photostructure/sqlite';
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { deflateRawSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeBackup } from '../../../electron/host/keeping/backup.ts';
import { restoreBackup } from '../../../electron/host/keeping/restore.ts';
import { openCollection } from '../../../electron/host/store/collection.ts';
import { realDisk } from '../../../electron/host/store/disk.ts';
import { sha256 } from '../support.ts';
import { TOP, filesOf, partsOf, sealed, text, zipOf } from './bag-of.ts';
import type { Bag } from './bag-of.ts';
import { fill } from './making.ts';
import { DEFLATED, LINK_MODE, rawZip, zip64Sizes } from './raw-zip.ts';
import type { RawFile } from './raw-zip.ts';

/**
 * Archives made to do harm, or merely broken: each is refused with a sentence, and neither the collection nor anything
 * beside it has changed afterwards.
 */
let home: string;
let folder: string;
let good: Bag;
let before: string[];

/** Every file below a folder with its content, times left out. */
function everything(place: string): string[] {
  return readdirSync(place, { recursive: true, withFileTypes: true })
    .map((entry) => join(entry.parentPath, entry.name))
    .filter((path) => !path.includes('hostile.zip'))
    .map((path) => {
      const content = statSync(path).isFile() ? sha256(readFileSync(path)) : 'folder';
      return `${relative(place, path)} ${content}`;
    })
    .toSorted();
}

beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'daybook-hostile-'));
  folder = join(home, 'deep', 'collection');
  mkdirSync(folder, { recursive: true });
  const collection = await openCollection({ folder, who: 'a test' });
  const { captures } = await fill(collection, 'First', [40]);
  const made = await makeBackup(collection, { kind: 'by-hand', target: home, program: 'a test' });
  await collection.originals.tidy(new Map([[captures[0].sha256, 'image/png']]));
  collection.close();
  good = await partsOf(made.path);
  rmSync(made.path);
  before = everything(home);
});
afterAll(() => rmSync(home, { recursive: true, force: true }));

const changed = (change: (bag: Bag) => void): Bag => {
  const bag = new Map(good);
  change(bag);
  return bag;
};
const plus =
  (file: RawFile): (() => Buffer) =>
  () =>
    zipOf(good, [file]);
const named = (name: string | Uint8Array): (() => Buffer) => plus({ name, data: text('x') });
const inside = (name: string): (() => Buffer) => named(`${TOP}/data/${name}`);
const without =
  (name: string): (() => Buffer) =>
  () =>
    zipOf(changed((bag) => bag.delete(name)));
const file =
  (name: string, part: Partial<RawFile>): (() => Buffer) =>
  () =>
    rawZip(filesOf(loose()).map((one) => (one.name === `${TOP}/${name}` ? { ...one, ...part } : one)));

/** The same archive with something done to its database, all checksums made to fit. */
function withDatabase(sql: string): () => Buffer {
  return () => {
    const path = join(home, 'hostile.zip.sqlite');
    writeFileSync(path, good.get('data/daybook.sqlite')!);
    const db = new DatabaseSync(path);
    db.exec(`PRAGMA foreign_keys = OFF; PRAGMA writable_schema = ON; ${sql}`);
    db.close();
    const bytes = new Uint8Array(readFileSync(path));
    rmSync(path);
    return zipOf(sealed(changed((bag) => bag.set('data/daybook.sqlite', bytes))));
  };
}
const withAbout = (change: (about: Record<string, unknown>) => unknown) => (): Buffer => {
  const about = JSON.parse(new TextDecoder().decode(good.get('data/collection.json'))) as Record<
    string,
    unknown
  >;
  const bytes = text(JSON.stringify(change(about)));
  return zipOf(sealed(changed((bag) => bag.set('data/collection.json', bytes))));
};
/** Without what would notice a wrong size before the size itself does. */
const loose = (): Bag =>
  changed((bag) => {
    bag.delete('bag-info.txt');
    bag.delete('tagmanifest-sha256.txt');
  });
const onePicture = (): string => [...good.keys()].find((name) => name.startsWith('data/originals/'))!;
const zeros = new Uint8Array(12 * 2 ** 20);

const HOSTILE: readonly [what: string, make: () => Buffer, sentence: RegExp][] = [
  ['an absolute path', named('/etc/evil.txt'), /absolute path/],
  ['a path out of the folder', named(`${TOP}/data/../../../evil.txt`), /leads out/],
  ['a path out of the folder at its start', named('../evil.txt'), /leads out/],
  ['a path out of the folder at its end', named(`${TOP}/data/..`), /leads out/],
  ['a step that stays where it is', named(`${TOP}/./bagit.txt`), /leads out/],
  ['a drive letter', named('C:/evil.txt'), /drive letter/],
  ['a drive letter without a slash', named('c:evil.txt'), /drive letter/],
  ['a stream behind a colon', inside('daybook.sqlite:evil'), /colon/],
  ['backslashes', named(`${TOP}\\data\\..\\..\\evil.txt`), /backslash/],
  ['a network path', named('\\\\host\\share\\evil.txt'), /backslash/],
  ['a network path with slashes', named('//host/share/evil.txt'), /absolute path/],
  ['an empty step', named(`${TOP}//bagit.txt`), /empty step/],
  ['a link', plus({ name: `${TOP}/data/schema.sql`, data: text('/etc/passwd'), mode: LINK_MODE }), /link/],
  [
    'a link instead of a picture',
    () => file(onePicture(), { data: text('../../x'), mode: LINK_MODE })(),
    /link/,
  ],
  [
    'a link made on a Mac',
    plus({ name: `${TOP}/data/schema.sql`, data: text('x'), mode: LINK_MODE, madeBy: (19 << 8) | 20 }),
    /link/,
  ],
  [
    'a pipe',
    plus({ name: `${TOP}/data/schema.sql`, data: text('x'), mode: 0o010644 }),
    /neither a file nor a folder/,
  ],
  ['the same name twice', named(`${TOP}/bagit.txt`), /same name twice/],
  [
    'the same name in other letters',
    named(`${TOP}/data/DAYBOOK.sqlite`),
    /no part of a daybook|same name twice/,
  ],
  [
    'the same picture twice in other letters',
    () => named(`${TOP}/${onePicture().replace(/[a-f]/, (c) => c.toUpperCase())}`)(),
    /no part of a daybook|same name twice/,
  ],
  ['NUL in a name', inside('daybook.sqlite\0.png'), /NUL/],
  ['a line break in a name', inside('a\nb'), /control characters/],
  ['writing direction turned round in a name', inside('gnp.\u202Eevil'), /control characters/],
  ['a name that is no text', named(Buffer.from([0x62, 0x61, 0x67, 0x2f, 0xff, 0xfe])), /no text/],
  ['an empty name', named(''), /no name/],
  ['a name kept by a system', inside('CON'), /keeps for itself/],
  ['a name kept by a system with an ending', inside('lpt1.txt'), /keeps for itself/],
  ['a name that ends with a dot', inside('README.txt.'), /dot or a space/],
  ['a name that ends with a space', inside('README.txt '), /dot or a space/],
  ['a file outside the folder', named('evil.txt'), /outside its folder/],
  ['two folders', named('other/bagit.txt'), /more than one folder/],
  ['a program', inside('evil.exe'), /no part of a daybook/],
  ['a picture that is not named by a hash', inside('originals/a.png'), /no part of a daybook/],
  ['a hidden file', named(`${TOP}/.hidden`), /no part of a daybook/],
  ['a very long name', inside(`${'a'.repeat(5000)}.png`), /no part of a daybook/],
  ['a bomb by its ratio', file('data/daybook.sqlite', { data: zeros, method: DEFLATED }), /two-hundredfold/],
  [
    'a bomb that lies about its size',
    file('data/daybook.sqlite', { data: zeros, method: DEFLATED, uncompressedSize: 4096 }),
    /longer or shorter|damaged/,
  ],
  [
    'a stored file that says it is shorter',
    file('data/README.txt', { uncompressedSize: 3 }),
    /longer or shorter/,
  ],
  [
    'a packed file that says it is longer',
    file('data/README.txt', { method: DEFLATED, uncompressedSize: 999_999 }),
    /longer or shorter|damaged/,
  ],
  [
    'packed data that are none',
    file('data/README.txt', { method: DEFLATED, packed: text('no deflate') }),
    /damaged/,
  ],
  ['an unheard-of packing', file('data/README.txt', { method: 97 }), /packed in a way/],
  ['an encrypted file', file('data/README.txt', { flags: 0x801, method: DEFLATED }), /encrypted/],
  [
    'files that share bytes',
    () => rawZip(filesOf(good).map((one, i) => (i === 0 ? one : { ...one, offset: 0 }))),
    /share the same bytes|two different names/,
  ],
  ['a file outside the archive', file('data/README.txt', { offset: 0x7fff_0000 }), /outside the archive/],
  [
    'two names for one file',
    file('data/README.txt', { localName: `${TOP}/data/../../evil` }),
    /two different names/,
  ],
  ['two packings for one file', file('data/README.txt', { localMethod: DEFLATED }), /two different things/],
  [
    'a picture larger than any',
    () =>
      file(onePicture(), {
        extra: zip64Sizes(2n ** 40n, 2n ** 40n),
        compressedSize: 0xffffffff,
        uncompressedSize: 0xffffffff,
      })(),
    /larger than any/,
  ],
  [
    'a zip64 size beyond all numbers',
    () =>
      file(onePicture(), {
        extra: zip64Sizes(2n ** 63n, 144n),
        compressedSize: 0xffffffff,
        uncompressedSize: 0xffffffff,
      })(),
    /larger than any|damaged|longer or shorter/,
  ],
  [
    'a zip64 count of files that is not so',
    () => zipOf(good, [], { zip64: { entryCount: 2n ** 40n } }),
    /more files than any daybook/,
  ],
  [
    'a zip64 count beyond all numbers',
    () => zipOf(good, [], { zip64: { entryCount: 2n ** 62n } }),
    /more files|damaged/,
  ],
  [
    'a zip64 directory that is elsewhere',
    () => zipOf(good, [], { zip64: { entryCount: BigInt(good.size), directoryOffset: 2n ** 40n } }),
    /damaged|cut short|longer or shorter/,
  ],
  [
    'more files than there are',
    () => zipOf(good, [], { entryCount: good.size + 5 }),
    /damaged|cut short|longer or shorter/,
  ],
  [
    'fewer files than there are',
    () => zipOf(good, [], { entryCount: good.size - 2 }),
    /directory does not end/,
  ],
  ['a part of several disks', () => zipOf(good, [], { disk: 3 }), /damaged/],
  [
    'a second archive in its comment',
    () => zipOf(good, [], { comment: zipOf(good) }),
    /directory does not end/,
  ],
  ['an archive cut short at its end', () => zipOf(good).subarray(0, -30), /cut short/],
  ['an archive cut short in the middle', () => zipOf(good).subarray(0, 5000), /cut short/],
  [
    'an archive cut short at its beginning',
    () => zipOf(good).subarray(500),
    /damaged|two different names|longer or shorter|outside/,
  ],
  ['no archive at all', () => Buffer.from('this is no archive, only text'), /no ZIP file/],
  ['an empty file', () => Buffer.alloc(0), /no ZIP file/],
  ['an archive of nothing', () => rawZip([]), /missing in it/],
  [
    'a flipped byte in the database',
    () =>
      zipOf(
        changed((bag) => {
          const bytes = bag.get('data/daybook.sqlite')!.slice();
          bytes[9000] ^= 1;
          bag.set('data/daybook.sqlite', bytes);
        }),
      ),
    /checksum/,
  ],
  [
    'a flipped byte in a picture',
    () =>
      zipOf(
        changed((bag) => {
          const bytes = bag.get(onePicture())!.slice();
          bytes[60] ^= 1;
          bag.set(onePicture(), bytes);
        }),
      ),
    /checksum/,
  ],
  [
    'a picture under another hash',
    () =>
      zipOf(
        sealed(
          changed((bag) => {
            bag.set(onePicture(), text('another picture'));
          }),
        ),
      ),
    /not the one that it is named after/,
  ],
  [
    'a changed list of checksums',
    () =>
      zipOf(changed((bag) => bag.set('manifest-sha256.txt', text(`${'0'.repeat(64)}  data/README.txt\n`)))),
    /checksum/,
  ],
  [
    'a list with a line that is none',
    () =>
      zipOf(
        changed((bag) => {
          bag.set('manifest-sha256.txt', text('nonsense\n'));
          bag.delete('tagmanifest-sha256.txt');
        }),
      ),
    /line that is none/,
  ],
  [
    'a list that names a file twice',
    () =>
      zipOf(
        changed((bag) => {
          const line = new TextDecoder().decode(bag.get('manifest-sha256.txt'));
          bag.set('manifest-sha256.txt', text(line + line));
          bag.delete('tagmanifest-sha256.txt');
        }),
      ),
    /names a file twice/,
  ],
  [
    'a list that names a file elsewhere',
    () =>
      zipOf(
        changed((bag) => {
          bag.set(
            'manifest-sha256.txt',
            text(
              `${new TextDecoder().decode(bag.get('manifest-sha256.txt'))}${'0'.repeat(64)}  ../../evil\n`,
            ),
          );
          bag.delete('tagmanifest-sha256.txt');
          bag.delete('bag-info.txt');
        }),
      ),
    /list names is missing/,
  ],
  ['no list of checksums', without('manifest-sha256.txt'), /"manifest-sha256.txt" is missing/],
  ['no declaration', without('bagit.txt'), /"bagit.txt" is missing/],
  ['no database', without('data/daybook.sqlite'), /is missing in it/],
  [
    'a missing picture',
    () => zipOf(sealed(changed((bag) => bag.delete(onePicture())))),
    /a picture that its database names is missing/,
  ],
  [
    'a picture too many',
    () => zipOf(sealed(changed((bag) => bag.set(`data/originals/${sha256(text('x'))}.png`, text('x'))))),
    /does not name/,
  ],
  [
    'a file that the list does not name',
    () => zipOf(changed((bag) => bag.set(`data/originals/${sha256(text('x'))}.png`, text('x')))),
    /list does not name/,
  ],
  [
    'a bag of an unknown version',
    () =>
      zipOf(
        sealed(
          changed((bag) =>
            bag.set('bagit.txt', text('BagIt-Version: 9.9\nTag-File-Character-Encoding: UTF-8\n')),
          ),
        ),
      ),
    /known version/,
  ],
  [
    'a wrong number of bytes',
    () =>
      zipOf(
        changed((bag) => {
          bag.set('bag-info.txt', text('Payload-Oxum: 1.1\n'));
          bag.delete('tagmanifest-sha256.txt');
        }),
      ),
    /as many files and bytes/,
  ],
  ['another program’s archive', withAbout(() => ({ what: 'something else' })), /no archive of a daybook/],
  [
    'no JSON about itself',
    () => zipOf(sealed(changed((bag) => bag.set('data/collection.json', text('{'))))),
    /cannot be read/,
  ],
  ['a newer archive', withAbout((about) => ({ ...about, archiveVersion: 99 })), /newer Stylus Daybook/],
  ['a single stylus', withAbout((about) => ({ ...about, kind: 'stylus' })), /single stylus/],
  ['a newer database', withDatabase('PRAGMA user_version = 9999'), /newer Stylus Daybook \(format 9999/],
  ['another program’s database', withDatabase('PRAGMA application_id = 7'), /another program/],
  ['a database without a format', withDatabase('PRAGMA user_version = 0'), /no number/],
  [
    'a database with a trigger',
    withDatabase('CREATE TRIGGER evil AFTER INSERT ON entry BEGIN DELETE FROM stylus; END'),
    /not those of a daybook/,
  ],
  [
    'a database with a view',
    withDatabase('CREATE VIEW evil AS SELECT * FROM stylus'),
    /not those of a daybook/,
  ],
  ['a database without a table', withDatabase('DROP TABLE change'), /not those of a daybook/],
  [
    'a database with a broken reference',
    withDatabase("UPDATE capture SET stylus_id = 'nobodynobody'"),
    /do not fit/,
  ],
  [
    'a database that names a picture by a path',
    withDatabase(
      `UPDATE original SET sha256 = '../../${'e'.repeat(58)}'; UPDATE capture SET sha256 = (SELECT sha256 FROM original)`,
    ),
    /in a way that is not used here/,
  ],
  [
    'a database with a row that is none',
    withDatabase("UPDATE capture SET view = 'from the moon'"),
    /rows cannot be read/,
  ],
  [
    'a database with a damaged page',
    () =>
      zipOf(
        sealed(
          changed((bag) => {
            const bytes = bag.get('data/daybook.sqlite')!.slice();
            bytes.fill(0x5a, 4096 * 3, 4096 * 3 + 600);
            bag.set('data/daybook.sqlite', bytes);
          }),
        ),
      ),
    /damaged|not those of a daybook/,
  ],
  [
    'a database that is none',
    () => zipOf(sealed(changed((bag) => bag.set('data/daybook.sqlite', text('no database'.repeat(500)))))),
    /damaged or no database/,
  ],
];

describe(`${HOSTILE.length} archives that are not let in`, () => {
  it.each(HOSTILE)('%s', async (_what, make, sentence) => {
    const path = join(home, 'hostile.zip');
    writeFileSync(path, make());
    const refusal = await restoreBackup(realDisk, folder, path).then(
      () => null,
      (error: unknown) => error as Error & { code: string },
    );
    rmSync(path);
    expect(refusal?.name).toBe('Refusal');
    expect(refusal?.message).toMatch(sentence);
    expect(refusal?.message).toMatch(/^[A-Z].*Nothing was changed.*\.$/);
    expect(everything(home)).toEqual(before);
  });

  it('is refused for what was done to it: untouched, the same archive is let in', async () => {
    const path = join(home, 'hostile.zip');
    writeFileSync(path, zipOf(sealed(good)));
    const place = join(home, 'another collection');
    await restoreBackup(realDisk, place, path);
    const collection = await openCollection({ folder: place, who: 'a test' });
    expect(collection.notices).toEqual([]);
    expect(collection.db.get('SELECT count(*) AS n FROM capture')?.['n']).toBe(1);
    collection.close();
    // Packed tighter by another program, and with entries for the folders.
    const folders = ['', 'data/', 'data/originals/'].map((name) => ({
      name: `${TOP}/${name}`,
      data: text(''),
      mode: 0o040755,
    }));
    writeFileSync(
      path,
      rawZip([
        ...folders,
        ...filesOf(good).map((one) => ({ ...one, method: DEFLATED, packed: deflateRawSync(one.data) })),
      ]),
    );
    await restoreBackup(realDisk, join(home, 'a third'), path);
  });
});
