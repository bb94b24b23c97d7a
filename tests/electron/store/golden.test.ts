import { cpSync, existsSync, readdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { knownOriginals } from '../../../electron/host/store/captures.ts';
import { openCollection } from '../../../electron/host/store/collection.ts';
import { MIGRATIONS } from '../../../electron/host/store/schema.ts';
import { listStyluses } from '../../../electron/host/store/cards.ts';
import { stylusPage } from '../../../electron/host/store/styluses.ts';
import { picture, sha256, temporaryFolder } from '../support.ts';

/**
 * A collection of every released format, as that release wrote it, and never written again: whoever changes the schema
 * proves here that old collections come through. DAYBOOK_MAKE_GOLDEN=1 writes the ones that are not there yet.
 */
const golden = fileURLToPath(new URL('golden', import.meta.url));
const NOW = '2024-03-01T10:00:00.000Z';

const stylus = (id: string, name: string, startHours: number | null) =>
  `INSERT INTO stylus (id, name, cartridge, profile, deck, radius_um, start_date, start_hours, currency, notes, created_at)
   VALUES ('${id}', '${name}', 'as found', 'round', 'left', 18, '2024-01-01', ${startHours ?? 'NULL'}, '', 'kept = here', '${NOW}')`;

/** Written as SQL, so that it stays what format 1 was, whatever becomes of the program. */
async function makeFormat1(folder: string): Promise<void> {
  const shades = [30, 60];
  const pictures = await Promise.all(shades.map((shade) => picture(shade)));
  const collection = await openCollection({ folder, who: 'a test', migrations: MIGRATIONS.slice(0, 1) });
  const { db, originals } = collection;
  for (const bytes of pictures) await originals.adopt(await originals.stage(bytes), 'image/png');
  db.transaction(() => {
    db.run(stylus('goldenstylus0001', 'First, "in quotes"', 10));
    db.run(stylus('goldenstylus0002', 'Sécond µ', null));
    db.run(
      "UPDATE stylus SET retired_date = '2024-05-01', retired_reason = 'worn', successor_id = 'goldenstylus0002' WHERE id = 'goldenstylus0001'",
    );
    pictures.forEach((bytes, i) => {
      db.run("INSERT INTO original VALUES (?, 'image/png', ?, 64, 48, ?)", sha256(bytes), bytes.length, NOW);
      db.run(
        `INSERT INTO capture VALUES (?, 'goldenstylus0001', ?, 'a.png', 'front', 'backlit', 0, '2024-03-0${i + 1}T10:00', NULL,
         'person', 1.5, NULL, 'typed', 'hand-held', ${i === 0 ? 1 : 0}, '', NULL, NULL, ?, NULL)`,
        `goldencapture000${i}`,
        sha256(bytes),
        NOW,
      );
    });
    db.run(
      'INSERT INTO comparison VALUES (?, ?, ?, ?, ?, ?, ?, ?, NULL)',
      'goldencomparison1',
      'goldenstylus0001',
      'goldencapture0000',
      'goldencapture0001',
      '1',
      '{"view":"front","baselineScale":null,"laterScale":null}',
      '{"ok":false,"reportVersion":1,"engineVersion":"1","reason":{"code":"tip-not-found","message":"No tip was found."}}',
      NOW,
    );
    db.run(
      "INSERT INTO entry VALUES ('goldenentry00001', 'goldenstylus0001', 'playing', '2024-02-01', 10, 'records', 20, 6.67, 1, 'an evening', ?, NULL)",
      NOW,
    );
    db.run(
      "INSERT INTO entry VALUES ('goldenentry00002', 'goldenstylus0001', 'note', '2024-02-02', NULL, NULL, NULL, NULL, NULL, 'in the bin', ?, ?)",
      NOW,
      NOW,
    );
    db.run(
      "INSERT INTO change VALUES (1, ?, 'entry', 'goldenentry00002', NULL, '{\"id\":\"goldenentry00002\"}')",
      NOW,
    );
    db.run("INSERT INTO setting VALUES ('demo-offered', ?)", NOW);
  });
  collection.close();
  for (const name of ['owner.lock', 'README.txt', 'schema.sql', 'backups', 'incoming'])
    rmSync(join(folder, name), { recursive: true, force: true });
}

describe('a collection of format 1', () => {
  it('comes through to the present format whole, with a copy of how it was', async () => {
    const kept = join(golden, 'format-1');
    if (process.env['DAYBOOK_MAKE_GOLDEN'] === '1' && !existsSync(kept)) await makeFormat1(kept);
    const folder = join(temporaryFolder(), 'collection');
    cpSync(kept, folder, { recursive: true });
    const collection = await openCollection({ folder, who: 'a test' });
    const { db, originals } = collection;
    const newest = MIGRATIONS.at(-1)!.version;
    expect(db.get('PRAGMA user_version')?.['user_version']).toBe(newest);
    expect(db.all('PRAGMA integrity_check').map((row) => ({ ...row }))).toEqual([{ integrity_check: 'ok' }]);
    expect(db.all('PRAGMA foreign_key_check')).toEqual([]);
    expect(listStyluses(db).map((card) => [card.stylus.name, card.captureCount])).toEqual([
      ['First, "in quotes"', 2],
      ['Sécond µ', 0],
    ]);
    const page = stylusPage(db, 'goldenstylus0001');
    expect(page.captures.map(({ scale, isBaseline }) => [scale?.umPerPx, isBaseline])).toEqual([
      [1.5, true],
      [1.5, false],
    ]);
    expect(page.stylus.retired?.successorId).toBe('goldenstylus0002');
    expect(page.entries.map((entry) => entry.id)).toEqual(['goldenentry00001']);
    expect(page.comparisons.map((one) => one.report.ok)).toEqual([false]);
    expect(page.hoursNow).toBeCloseTo(16.67, 10);
    const known = knownOriginals(db);
    expect(known.size).toBe(2);
    for (const [hash, mediaType] of known) expect(await originals.isIntact(hash, mediaType)).toBe(true);
    expect(collection.notices).toEqual([]);
    collection.close();
    const copies = readdirSync(join(folder, 'backups'));
    expect(copies).toHaveLength(newest > 1 ? 1 : 0);
  });
});
