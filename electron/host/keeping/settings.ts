import { keepingSettingsSchema } from '../../../shared/index.ts';
import type { KeepingSettings } from '../../../shared/index.ts';
import type { Database } from '../store/database.ts';

/** How the collection is looked after. In the collection itself, so that it goes with it to another machine. */
const NAME = 'keeping';
export const USUAL: KeepingSettings = {
  backupFolder: null,
  backupEveryDays: 7,
  backupsKept: 5,
  emptyBinAfterDays: null,
};

export function readSettings(db: Database): KeepingSettings {
  const value = db.get('SELECT value FROM setting WHERE name = ?', NAME)?.['value'];
  try {
    return keepingSettingsSchema.parse({ ...USUAL, ...(JSON.parse(String(value ?? '{}')) as object) });
  } catch {
    return USUAL;
  }
}

export function writeSettings(db: Database, settings: KeepingSettings): void {
  db.run(
    'INSERT INTO setting VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value',
    NAME,
    JSON.stringify(settings),
  );
}
