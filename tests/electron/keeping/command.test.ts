import { mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Writable } from 'node:stream';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { runDaybook } from '../../../electron/daybook/run.ts';
import { csvText } from '../../../electron/host/keeping/csv.ts';
import { safeFileName } from '../../../electron/host/keeping/file-names.ts';
import { listStyluses } from '../../../electron/host/store/cards.ts';
import { ASIDE_TABLES } from '../../../electron/host/store/related.ts';
import { DRAFT, addPicture, buildHost, temporaryFolder, testHost, workerFile } from '../support.ts';
import { partsOf } from './bag-of.ts';
import { fill, open, rowsOf } from './making.ts';

beforeAll(buildHost);

async function daybook(...args: string[]): Promise<{ status: number; out: string; err: string }> {
  const said = { out: '', err: '' };
  const into = (name: 'out' | 'err') =>
    new Writable({
      write(chunk: Buffer, _encoding, done) {
        said[name] += chunk.toString();
        done();
      },
    });
  const status = await runDaybook(args, { out: into('out'), err: into('err') }, workerFile);
  return { status, ...said };
}

describe('maintenance commands', () => {
  it('check, back up and take back', async () => {
    const folder = temporaryFolder();
    const first = await open(folder);
    await fill(first, 'First', [30, 60]);
    const rows = rowsOf(first);
    first.close();
    const to = temporaryFolder();
    expect(await daybook('collection', 'check', '--folder', folder)).toMatchObject({
      status: 0,
      out: expect.stringContaining('Pictures: 2 fine, 0 damaged, 0 missing, 0 orphaned') as unknown,
    });
    const made = await daybook('collection', 'backup', '--folder', folder, '--to', to, '--json');
    const { path } = JSON.parse(made.out) as { path: string };
    expect(made.status).toBe(0);
    expect((await daybook('collection', 'verify', '--from', path)).out).toContain('All 5 files');
    const place = join(temporaryFolder(), 'new');
    expect((await daybook('collection', 'restore', '--from', path, '--folder', place)).status).toBe(0);
    const there = await open(place);
    expect(rowsOf(there)).toEqual(rows);
    there.close();
  });

  it('find what is damaged, with exit status 1', async () => {
    const folder = temporaryFolder();
    const first = await open(folder);
    const { captures } = await fill(first, 'First', [30]);
    first.close();
    const file = join(folder, 'originals', `${captures[0].sha256}.png`);
    writeFileSync(file, readFileSync(file).fill(0, 40, 50));
    const checked = await daybook('collection', 'check', '--folder', folder);
    expect(checked.status).toBe(1);
    expect(checked.out).toContain(`damaged: ${captures[0].sha256}.png, shown by 30.png (First)`);
    expect((await daybook('collection', 'backup', '--folder', folder)).status).toBe(1);
  });

  it('name whoever has the collection open, do nothing, and end with 3', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder, { who: 'the window of this test' });
    for (const args of [['check'], ['backup'], ['export'], ['restore', '--from', 'a.zip']]) {
      const told = await daybook('collection', ...args, '--folder', folder);
      expect(told.status).toBe(3);
      expect(told.err).toContain('the window of this test');
    }
    await host.close();
  });

  it('explain wrong usage, and make no collection by a mistyped name', async () => {
    const nowhere = join(temporaryFolder(), 'mistyped');
    for (const args of [
      ['check', '--folder', nowhere],
      ['shred'],
      ['restore'],
      ['check', '--from', 'x'],
      ['check', 'twice'],
      [],
    ]) {
      const told = await daybook('collection', ...args);
      expect(told.status).toBe(2);
      expect(told.err).toMatch(/^daybook: .+\n/);
    }
    expect(readdirSync(join(nowhere, '..'))).toEqual([]);
    expect((await daybook('collection', '--help')).out).toContain('collection restore --from F');
  });

  it('carry one stylus from one collection to another', async () => {
    const [from, into, to] = [temporaryFolder(), temporaryFolder(), temporaryFolder()];
    const first = await open(from);
    await fill(first, 'Travels: a "long" way', [30]);
    await fill(first, 'Stays', [60]);
    first.close();
    const second = await open(into);
    await fill(second, 'Was here', [90]);
    second.close();
    const made = await daybook(
      'collection',
      'export-stylus',
      '--stylus',
      'Travels: a "long" way',
      '--folder',
      from,
      '--to',
      to,
    );
    expect(made.status).toBe(0);
    const [name] = readdirSync(to);
    expect(name).toMatch(/^stylus Travels- a -long- way \d{4}-\d{2}-\d{2}\.zip$/);
    expect(
      (await daybook('collection', 'import-stylus', '--from', join(to, name), '--folder', into)).status,
    ).toBe(0);
    const there = await open(into);
    expect(
      listStyluses(there.db)
        .map((card) => card.stylus.name)
        .toSorted(),
    ).toEqual(['Travels: a "long" way', 'Was here']);
    there.close();
    expect((await daybook('collection', 'check', '--folder', into)).status).toBe(0);
    expect(
      (await daybook('collection', 'export-stylus', '--stylus', 'Nobody', '--folder', from)).status,
    ).toBe(2);
  });
});

describe('export of everything', () => {
  it('holds every table, guarded against formulas, and pictures without place and serial number', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', {
      ...DRAFT,
      name: '=HYPERLINK("x")',
      notes: '-1, "quoted"\nline',
    });
    const exif = {
      IFD0: { Make: 'Invented', ImageDescription: 'my street' },
      IFD2: { BodySerialNumber: 'SN-12345', DateTimeOriginal: '2024:03:01 10:00:00' },
      IFD3: { GPSLatitudeRef: 'N', GPSLatitude: '48/1 8/1 0/1' },
    };
    const picture = sharp({ create: { width: 80, height: 40, channels: 3, background: '#889977' } });
    const bytes = await picture
      .jpeg()
      .withExif(exif)
      .withMetadata({ orientation: 6 })
      .withExifMerge(exif)
      .toBuffer();
    expect(bytes.includes('SN-12345')).toBe(true);
    await addPicture(host, stylus.id, bytes, { microscope: '@cmd' });
    await host.close();
    const to = temporaryFolder();
    const made = await daybook('collection', 'export', '--folder', folder, '--to', to);
    expect(made).toMatchObject({ status: 0 });
    const [name] = readdirSync(to);
    const parts = await partsOf(join(to, name));
    const read = (part: string) => new TextDecoder().decode(parts.get(part));
    expect(read('data/stylus.csv')).toContain(`"'=HYPERLINK(""x"")"`);
    expect(read('data/stylus.csv')).toContain(`"'-1, ""quoted""\nline"`);
    expect(read('data/capture.csv')).toContain("'@cmd");
    const json = JSON.parse(read('data/daybook.json')) as Record<string, { name?: string }[]>;
    expect(json['stylus'][0].name).toBe('=HYPERLINK("x")');
    const tables = (
      await open(folder).then((collection) => {
        const names = Object.keys(rowsOf(collection));
        collection.close();
        return names;
      })
    ).filter((table) => !ASIDE_TABLES.includes(table));
    expect(tables.length).toBeGreaterThan(4);
    for (const table of tables) expect(parts.has(`data/${table}.csv`), table).toBe(true);
    const [shown] = [...parts.keys()].filter((part) => part.startsWith('pictures/'));
    expect(shown).toMatch(/^pictures\/HYPERLINK.* [0-9a-f]{6}\/2024-03-01 front [0-9a-f]{8}\.jpg$/);
    const copy = Buffer.from(parts.get(shown)!);
    expect(copy.includes('SN-12345') || copy.includes('my street')).toBe(false);
    const metadata = await sharp(copy).metadata();
    expect(metadata.exif).toBeUndefined();
    // Upright: the orientation is in the pixels now.
    expect([metadata.width, metadata.height]).toEqual([40, 80]);
  });

  it('writes CSV that begins no formula, after OWASP ASVS 1.2.10 and RFC 4180', () => {
    const risky = ['=1+1', '+1', '-1', '@a', '\tx', '\0x', '\rx', ' =1', '＝1'];
    const [, ...lines] = csvText([['a'], ...risky.map((text) => [text])]).split('\r\n');
    for (const text of risky) expect(lines.join('\r\n')).toContain(`"'${text}"`);
    expect(csvText([[-1.5, 'plain', null, true, 'a,b', 'say "a"', 'two\nlines']])).toBe(
      '\uFEFF-1.5,plain,,true,"a,b","say ""a""","two\nlines"\r\n',
    );
  });

  it('makes file names that every system takes', () => {
    expect(safeFileName('../../etc/passwd')).toBe('etc-passwd');
    expect(safeFileName('a:b*c?"<>|')).toBe('a-b-c');
    expect(safeFileName('CON')).toBe('CON-');
    expect(safeFileName(' ... ')).toBe('unnamed');
    expect(safeFileName('Größe µ')).toBe('Größe µ');
    expect(safeFileName('x'.repeat(500))).toHaveLength(60);
    mkdirSync(join(temporaryFolder(), safeFileName('a/b\\c')));
  });
});
