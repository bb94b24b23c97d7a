import { Refusal } from '../../../shared/index.ts';
import { connect, openDatabase } from './database.ts';
import type { Connection, Row, SqlValue } from './database.ts';
import { APPLICATION_ID, MIGRATIONS } from './schema.ts';
import { columnsOf, tablesOf } from './related.ts';

/**
 * What can still be read of a damaged database. Works on a copy, reads every table from both ends up to where the
 * damage begins, and puts what it finds into a new and sound database. Rows whose other half is gone are left out.
 */
export type Salvaged = { readonly rows: number; readonly tables: number };

type Table = { readonly name: string; readonly columns: readonly string[] };

/** One direction through a table; ends at the first row that cannot be read. */
function readUntilDamage(
  damaged: Connection,
  { name }: Table,
  direction: 'ASC' | 'DESC',
  take: (row: Row) => void,
) {
  try {
    const rows = damaged.prepare(`SELECT * FROM ${name} NOT INDEXED ORDER BY rowid ${direction}`).iterate();
    for (const row of rows) take(row as Row);
  } catch {
    // The rest from this end cannot be reached; the other end may be.
  }
}

function rescueTable(damaged: Connection, sound: Connection, table: Table): number {
  let rescued = 0;
  for (const direction of ['ASC', 'DESC'] as const)
    readUntilDamage(damaged, table, direction, (row) => {
      const columns = Object.keys(row).filter((column) => table.columns.includes(column));
      const places = columns.map(() => '?').join(', ');
      try {
        const insert = sound.prepare(
          `INSERT OR IGNORE INTO ${table.name} (${columns.join(', ')}) VALUES (${places})`,
        );
        rescued += insert.run(...columns.map((column) => row[column] ?? null)).changes;
      } catch {
        // A row that is no longer what its table asks for.
      }
    });
  return rescued;
}

/** Takes out what refers to something that is gone, until nothing does. */
function dropBroken(sound: Connection): number {
  let dropped = 0;
  for (;;) {
    const broken = sound.prepare('PRAGMA foreign_key_check').all() as { table: string; rowid: number }[];
    if (broken.length === 0) return dropped;
    for (const { table, rowid } of broken)
      dropped += sound.prepare(`DELETE FROM ${table} WHERE rowid = ?`).run(rowid).changes;
  }
}

function versionOf(damaged: Connection): number {
  try {
    const row = damaged.prepare('PRAGMA user_version').get() as Record<string, number> | undefined;
    return Object.values(row ?? {})[0] ?? 0;
  } catch {
    return 0;
  }
}

function fill(damaged: Connection, target: string): Salvaged {
  const newest = MIGRATIONS.at(-1)!.version;
  const version = versionOf(damaged);
  const sound = connect(target, {});
  const reader = { all: (sql: string, ...values: SqlValue[]) => sound.prepare(sql).all(...values) as Row[] };
  try {
    sound.exec('PRAGMA foreign_keys = OFF');
    const steps = MIGRATIONS.filter((step) => step.version <= (version >= 1 ? version : newest));
    for (const step of steps) sound.exec(step.sql);
    sound.exec(`PRAGMA user_version = ${steps.at(-1)!.version}`);
    // The settings and the history of changes are worth reading too.
    const names = [
      ...tablesOf(reader),
      ...reader
        .all(
          "SELECT name FROM sqlite_schema WHERE type = 'table' AND name IN ('change', 'gesture', 'setting')",
        )
        .map((row) => String(row['name'])),
    ];
    sound.exec('BEGIN');
    const counts = names.map((name) =>
      rescueTable(damaged, sound, { name, columns: columnsOf(reader, name).map((one) => one.name) }),
    );
    const dropped = dropBroken(sound);
    sound.exec('COMMIT');
    return {
      rows: counts.reduce((sum, n) => sum + n, 0) - dropped,
      tables: counts.filter((n) => n > 0).length,
    };
  } finally {
    sound.close();
  }
}

/** `copy` is a copy of the damaged database with what lay beside it; `target` must not exist yet. */
export async function salvage(copy: string, target: string): Promise<Salvaged> {
  let damaged: Connection | undefined;
  try {
    damaged = connect(copy, {});
    damaged.exec('PRAGMA writable_schema = RESET; PRAGMA trusted_schema = OFF');
    const salvaged = fill(damaged, target);
    if (salvaged.rows === 0) throw new Error('nothing was found');
    // Marks it as ours and brings it to the present format.
    const sound = connect(target, {});
    sound.exec(`PRAGMA application_id = ${APPLICATION_ID}`);
    sound.close();
    (await openDatabase({ file: target, backupFile: null })).close();
    return salvaged;
  } catch {
    throw new Refusal(
      'nothing-to-save',
      'Nothing can be read from the damaged database any more. The pictures are in the folder "originals". Take a ' +
        'backup back, if there is one.',
    );
  } finally {
    damaged?.close();
  }
}
