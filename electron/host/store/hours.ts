import type { Database } from './database.ts';

/**
 * Hours on a stylus up to and including a day (null: now): the hours at its start plus what was logged since. Unknown
 * history stays unknown, however much is logged.
 */
export function hoursUpTo(db: Database, stylusId: string, day: string | null): number | null {
  const start = db.get('SELECT start_hours FROM stylus WHERE id = ?', stylusId)?.['start_hours'];
  if (typeof start !== 'number') return null;
  const row = db.get(
    `SELECT coalesce(sum(played_hours), 0.0) AS played FROM entry
     WHERE stylus_id = ? AND kind = 'playing' AND binned_at IS NULL AND (? IS NULL OR date <= ?)`,
    stylusId,
    day,
    day,
  );
  return start + Number(row?.['played'] ?? 0);
}
