import { DatabaseSync } from '@photostructure/sqlite';
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { openCollection } from '../../../electron/host/store/collection.ts';
import { openDatabase } from '../../../electron/host/store/database.ts';
import { folderNotices } from '../../../electron/host/store/notices.ts';
import { MIGRATIONS, SCHEMA_VERSION } from '../../../electron/host/store/schema.ts';
import { listStyluses } from '../../../electron/host/store/cards.ts';
import { createStylus } from '../../../electron/host/store/styluses.ts';
import {
  DRAFT,
  addPicture,
  buildHost,
  picture,
  root,
  sha256,
  temporaryFolder,
  testHost,
} from '../support.ts';

beforeAll(buildHost);

const open = (folder: string, who = 'a test') => openCollection({ folder, who });
const pragma = (db: { get(sql: string): Record<string, unknown> | undefined }, name: string): unknown =>
  Object.values(db.get(`PRAGMA ${name}`) ?? {})[0];

describe('the database', () => {
  it('answers with the settings that keep a commit through a power cut', async () => {
    const collection = await open(temporaryFolder());
    expect(pragma(collection.db, 'journal_mode')).toBe('wal');
    expect(pragma(collection.db, 'synchronous')).toBe(2);
    expect(pragma(collection.db, 'foreign_keys')).toBe(1);
    expect(pragma(collection.db, 'mmap_size') ?? 0).toBe(0);
    expect(pragma(collection.db, 'user_version')).toBe(SCHEMA_VERSION);
    const version = String(collection.db.get('SELECT sqlite_version() AS v')?.['v']).split('.').map(Number);
    expect(version[0] * 1e6 + version[1] * 1e3 + version[2]).toBeGreaterThanOrEqual(3_051_003);
    collection.close();
  });

  it('enforces references', async () => {
    const collection = await open(temporaryFolder());
    const { db } = collection;
    const orphan = () =>
      db.run(
        "INSERT INTO entry (id, stylus_id, kind, date, text, created_at) VALUES ('e', 'nobody', 'note', '2024-01-01', '', '')",
      );
    expect(orphan).toThrow(/FOREIGN KEY/);
    collection.close();
  });

  it('undoes a transaction that throws, the nested part with it', async () => {
    const collection = await open(temporaryFolder());
    const { db } = collection;
    expect(() =>
      db.transaction(() => {
        createStylus(db, DRAFT);
        throw new Error('half-way');
      }),
    ).toThrow('half-way');
    expect(listStyluses(db)).toEqual([]);
    expect(db.all('SELECT * FROM change')).toEqual([]);
    collection.close();
  });

  it('traces every change of a row', async () => {
    const collection = await open(temporaryFolder());
    const { db } = collection;
    const { id } = createStylus(db, DRAFT);
    const traces = db.all('SELECT kind, row_id, before FROM change');
    expect(traces.map((row) => ({ ...row }))).toEqual([{ kind: 'stylus', row_id: id, before: null }]);
    collection.close();
  });

  it('refuses a newer format and changes nothing', async () => {
    const folder = temporaryFolder();
    (await open(folder)).close();
    const raw = new DatabaseSync(join(folder, 'daybook.sqlite'));
    raw.exec(`PRAGMA user_version = ${SCHEMA_VERSION + 1}`);
    raw.close();
    const before = sha256(readFileSync(join(folder, 'daybook.sqlite')));
    await expect(open(folder)).rejects.toMatchObject({ code: 'collection-too-new' });
    expect(sha256(readFileSync(join(folder, 'daybook.sqlite')))).toBe(before);
  });

  it('refuses the database of another program', async () => {
    const folder = temporaryFolder();
    const raw = new DatabaseSync(join(folder, 'daybook.sqlite'));
    raw.exec('PRAGMA application_id = 7; CREATE TABLE theirs (x)');
    raw.close();
    await expect(open(folder)).rejects.toMatchObject({ code: 'not-a-collection' });
  });

  it('refuses a damaged database with advice that deletes nothing', async () => {
    const folder = temporaryFolder();
    const collection = await open(folder);
    for (let i = 0; i < 200; i++) createStylus(collection.db, { ...DRAFT, notes: 'x'.repeat(500) });
    collection.close();
    const file = join(folder, 'daybook.sqlite');
    const bytes = readFileSync(file);
    // Page after page overwritten, the head with its magic left alone.
    for (let at = 4096 * 4; at < bytes.length; at += 4096) bytes.fill(0x5a, at, at + 512);
    writeFileSync(file, bytes);
    const refused = await open(folder).then(
      () => null,
      (error: unknown) => error as Error & { code: string },
    );
    expect(refused?.code).toBe('collection-damaged');
    expect(refused?.message).not.toMatch(/delete|remove/i);
    expect(readFileSync(file).equals(bytes)).toBe(true);
  });

  it('copies itself before its format changes, and the copy opens', async () => {
    const folder = temporaryFolder();
    const first = await open(folder);
    createStylus(first.db, DRAFT);
    first.close();
    const migrations = [
      ...MIGRATIONS,
      { version: SCHEMA_VERSION + 1, sql: 'CREATE TABLE extra (x TEXT) STRICT' },
    ];
    const second = await openCollection({ folder, who: 'a test', migrations });
    expect(pragma(second.db, 'user_version')).toBe(SCHEMA_VERSION + 1);
    expect(listStyluses(second.db)).toHaveLength(1);
    second.close();
    const [backup] = readdirSync(join(folder, 'backups'));
    const copy = new DatabaseSync(join(folder, 'backups', backup), { readOnly: true });
    expect(copy.prepare('SELECT count(*) AS n FROM stylus').get()).toMatchObject({ n: 1 });
    expect(Object.values(copy.prepare('PRAGMA user_version').get() as object)[0]).toBe(SCHEMA_VERSION);
    copy.close();
  });

  it('stays at the old format when a migration fails half-way', async () => {
    const folder = temporaryFolder();
    (await open(folder)).close();
    const file = join(folder, 'daybook.sqlite');
    const migrations = [
      ...MIGRATIONS,
      { version: SCHEMA_VERSION + 1, sql: 'CREATE TABLE extra (x); CREATE TABLE stylus (x)' },
    ];
    const options = { file, backupFile: () => join(folder, 'backups', 'b.sqlite'), migrations };
    await expect(openDatabase(options)).rejects.toThrow(/already exists/);
    const raw = new DatabaseSync(file, { readOnly: true });
    expect(Object.values(raw.prepare('PRAGMA user_version').get() as object)[0]).toBe(SCHEMA_VERSION);
    expect(raw.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'extra'").get()).toBeUndefined();
    raw.close();
  });
});

describe('the folder', () => {
  it('explains itself', async () => {
    const folder = temporaryFolder();
    (await open(folder)).close();
    expect(readFileSync(join(folder, 'README.txt'), 'utf8')).toContain('originals/');
    expect(readFileSync(join(folder, 'schema.sql'), 'utf8')).toContain('CREATE TABLE capture');
  });

  it.each([
    ['/home/a/Dropbox/styluses', 'Dropbox'],
    ['C:\\Users\\a\\OneDrive - Home\\styluses', 'OneDrive'],
    ['/Users/a/Library/Mobile Documents/com~apple~CloudDocs/x', 'iCloud'],
    ['/home/a/Nextcloud/x', 'Nextcloud'],
    ['\\\\server\\share\\x', 'network'],
  ])('is warned about when another program may touch it: %s', (folder, word) => {
    expect(folderNotices(folder)[0]).toContain(word);
  });

  it('is not warned about otherwise', () => {
    expect(folderNotices('/home/a/styluses')).toEqual([]);
    expect(folderNotices('/home/a/megalith/records')).toEqual([]);
  });
});

describe('one owner', () => {
  it('names the holder to the loser and opens nothing for it', async () => {
    const folder = temporaryFolder();
    const first = await open(folder, 'the first window');
    await expect(open(folder)).rejects.toMatchObject({
      code: 'collection-in-use',
      message: expect.stringContaining('the first window') as unknown,
    });
    first.close();
    (await open(folder)).close();
  });

  it('shuts other processes out, and lets the next one in after a kill', async () => {
    const folder = temporaryFolder();
    const first = await open(folder, 'the window of this test');
    const other = () => spawnSync(process.execPath, ['-e', script, folder], { encoding: 'utf8', cwd: root });
    const server = JSON.stringify(new URL('dist/host/server.js', `file://${root}`).href);
    const script = `import(${server}).then((m) => m.startServer(null, { DAYBOOK_PORT: '0', DAYBOOK_COLLECTION: process.argv[1] }))
      .then(() => { console.log('opened'); process.kill(process.pid, 'SIGKILL'); },
            (error) => { console.log(error.code, error.message); process.exit(0); })`;
    expect(other().stdout).toMatch(/^collection-in-use .*the window of this test/);
    first.close();
    expect(other().stdout).toContain('opened');
    expect(existsSync(join(folder, 'owner.json'))).toBe(true);
    // Killed while it held the collection: nobody is locked out by what it left.
    (await open(folder)).close();
  });
});

describe('originals', () => {
  it('are kept byte for byte under their hash, once for each content', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const bytes = await picture();
    const first = await addPicture(host, stylus.id, bytes);
    await addPicture(host, stylus.id, bytes);
    expect(first.sha256).toBe(sha256(bytes));
    const names = readdirSync(join(folder, 'originals'));
    expect(names).toEqual([`${first.sha256}.png`]);
    expect(readFileSync(join(folder, 'originals', names[0])).equals(bytes)).toBe(true);
    expect(readdirSync(join(folder, 'incoming'))).toEqual([]);
  });

  it('are not measured when they are no longer what was added', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const capture = await addPicture(host, stylus.id, await picture());
    const file = join(folder, 'originals', `${capture.sha256}.png`);
    const damaged = readFileSync(file);
    damaged[damaged.length - 20] ^= 1;
    writeFileSync(file, damaged);
    const { examination } = await host.ask('capture.examine', { id: capture.id, jobId: 'j' });
    expect(examination).toMatchObject({ ok: false, reason: { code: 'unreadable-image' } });
    expect(examination && !examination.ok && examination.reason.message).toContain('changed or damaged');
  });

  it('without a row go to the bin at the next start; a missing one is said', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const kept = await addPicture(host, stylus.id, await picture(10));
    const lost = await addPicture(host, stylus.id, await picture(20));
    await host.close();
    // As after a crash between the file's rename and the row's commit.
    writeFileSync(join(folder, 'originals', `${'0'.repeat(64)}.jpg`), 'never committed');
    mkdirSync(join(folder, 'incoming'), { recursive: true });
    writeFileSync(join(folder, 'incoming', 'f'.repeat(32)), 'never added');
    rmSync(join(folder, 'originals', `${lost.sha256}.png`));
    const again = await testHost(folder);
    const { notices } = await again.ask('app.info', {});
    expect(notices.join(' ')).toMatch(/1 stored picture is missing/);
    expect(readdirSync(join(folder, 'originals'))).toEqual([`${kept.sha256}.png`]);
    expect(readdirSync(join(folder, 'bin'))).toEqual([`${'0'.repeat(64)}.jpg`]);
    expect(existsSync(join(folder, 'incoming', 'f'.repeat(32)))).toBe(false);
    expect((await again.ask('stylus.page', { id: stylus.id })).captures).toHaveLength(2);
  });

  it('leave nothing behind when an offer is withdrawn or refused', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const offered = await host.ask('picture.offer', {
      fileName: 'a.png',
      bytes: new Uint8Array(await picture()),
    });
    expect(readdirSync(join(folder, 'incoming'))).toHaveLength(1);
    await host.ask('picture.withdraw', { token: offered.token });
    const bad = host.ask('picture.offer', {
      fileName: 'a.png',
      bytes: new TextEncoder().encode('no picture'),
    });
    await expect(bad).rejects.toThrow('unreadable-image');
    expect(readdirSync(join(folder, 'incoming'))).toEqual([]);
    await expect(host.ask('picture.withdraw', { token: '../../etc/passwd' })).rejects.toThrow(
      'no-such-picture',
    );
  });

  it('come back on the screen after derived/ was deleted', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const capture = await addPicture(host, stylus.id, await picture());
    const first = await host.ask('capture.picture', { id: capture.id, maxEdgePx: 32 });
    expect([first.widthPx, first.heightPx]).toEqual([32, 24]);
    expect(statSync(join(folder, 'derived')).isDirectory()).toBe(true);
    rmSync(join(folder, 'derived'), { recursive: true });
    const second = await host.ask('capture.picture', { id: capture.id, maxEdgePx: 32 });
    expect(Buffer.from(second.bytes).equals(first.bytes)).toBe(true);
  });
});
