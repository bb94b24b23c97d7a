import type { Capture, Stylus } from '../../../shared/index.ts';
import type { Lines } from './lines.ts';
import { captureOf, captureSelect } from './rows.ts';
import type { Database } from './database.ts';
import { ledgerOf } from './hours.ts';
import { remembered } from './memo.ts';

/** Hours up to which a stylus still counts as unworn: an evening or two (own assumption). */
const UNWORN_HOURS = 5;

/**
 * Baseline pictures of other styluses with the same profile or cartridge in the person's own words, taken before they
 * had played: what may stand in where this stylus has no picture from when it was new.
 */
export function siblingsOf(db: Database, stylus: Stylus, lines: Lines = 'with-lines'): Capture[] {
  const same = (a: string, b: unknown): boolean =>
    a.trim() !== '' && typeof b === 'string' && a.trim().toLowerCase() === b.trim().toLowerCase();
  const others = db
    .all(
      'SELECT id, cartridge, profile FROM stylus WHERE id <> ? AND binned_at IS NULL AND start_hours <= ?',
      stylus.id,
      UNWORN_HOURS,
    )
    .filter((row) => same(stylus.cartridge, row['cartridge']) || same(stylus.profile, row['profile']));
  return others.flatMap((row) => {
    const id = String(row['id']);
    const baselines = remembered(db, `dated baselines ${lines} ${id}`, () => datedBaselines(db, id, lines));
    if (baselines.length === 0) return [];
    const { ledger } = ledgerOf(db, id);
    return baselines.filter(({ taken }) => ledger.at(taken!.wall.slice(0, 10)).hours <= UNWORN_HOURS);
  });
}

/**
 * By the index of baselines, which the plus signs leave as the only one: by the index of pictures every row of the stylus
 * was read, 100 ms for forty styluses of 250 pictures.
 */
const datedBaselines = (db: Database, stylusId: string, lines: Lines): Capture[] =>
  db
    .all(
      `${captureSelect(db, lines)} WHERE capture.stylus_id = ? AND capture.is_baseline = 1
       AND +capture.taken_wall IS NOT NULL AND +capture.binned_at IS NULL ORDER BY capture.taken_wall, capture.id`,
      stylusId,
    )
    .map(captureOf);
