import type { Database } from './database.ts';
import { capturesOf } from './captures.ts';
import { repeatabilityFor, sameGiven } from './studies.ts';

/** Pictures whose own examination was made with another repeatability than counts now. */
export function outdatedExaminations(db: Database): string[] {
  return db
    .all('SELECT id FROM stylus WHERE binned_at IS NULL')
    .flatMap(({ id }) => capturesOf(db, String(id), 'without-lines'))
    .filter(
      (one) =>
        one.examination?.ok === true &&
        one.examination.flats !== undefined &&
        !sameGiven(one.examination.repeatability, repeatabilityFor(db, one)),
    )
    .map((one) => one.id);
}
