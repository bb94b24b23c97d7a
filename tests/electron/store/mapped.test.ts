import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openDatabase } from '../../../electron/host/store/database.ts';
import { temporaryFolder } from '../support.ts';

const ROWS = 'SELECT name, value FROM setting ORDER BY name';

async function twoSettings() {
  const file = join(temporaryFolder(), 'daybook.sqlite');
  const db = await openDatabase({ file, backupFile: null });
  db.transaction(() => ['a', 'b'].forEach((name) => db.run('INSERT INTO setting VALUES (?, ?)', name, name)));
  return db;
}

describe('rows made into something one by one', () => {
  it('are the same as all of them together', async () => {
    const db = await twoSettings();
    expect(db.mapped((row) => row['name'], ROWS)).toEqual(db.all(ROWS).map((row) => row['name']));
    expect(db.mapped((row) => row['value'], 'SELECT value FROM setting WHERE name = ?', 'b')).toEqual(['b']);
    db.close();
  });

  it('leave nothing under way when one of them is refused', async () => {
    const db = await twoSettings();
    const refuse = (): never => {
      throw new Error('a damaged row');
    };
    expect(() => db.mapped(refuse, ROWS)).toThrow('a damaged row');
    // A statement under way would hold the log, and the state that it began with.
    db.run('INSERT INTO setting VALUES (?, ?)', 'c', 'c');
    expect(db.get('PRAGMA wal_checkpoint(TRUNCATE)')).toMatchObject({ busy: 0 });
    expect(db.mapped((row) => row['name'], ROWS)).toEqual(['a', 'b', 'c']);
    db.close();
  });

  it('are noticed by answers that are kept', async () => {
    const db = await twoSettings();
    const { places } = db.watch.noting(() => db.mapped((row) => row, ROWS));
    const at = db.watch.clock();
    expect(db.watch.changedSince(places, at)).toBe(false);
    db.run('DELETE FROM setting WHERE name = ?', 'a');
    expect(db.watch.changedSince(places, at)).toBe(true);
    db.close();
  });
});
