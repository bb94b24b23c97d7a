import type { Capture, GivenRepeatability } from '../../../shared/index.ts';
import type { Database } from './database.ts';
import { NO_STUDY } from './captures.ts';
import { repeatabilityFor, sameGiven } from './studies.ts';

/** Answered pictures of all styluses with what their examination was made with; read from the briefs inside the database. */
const EXAMINED = `SELECT capture.id, capture.view, capture.microscope,
    json_extract(COALESCE(capture_brief.examination, capture.examination), '$.repeatability') AS repeatability
  FROM capture JOIN stylus ON stylus.id = capture.stylus_id
  LEFT JOIN capture_brief ON capture_brief.capture_id = capture.id
  WHERE capture.binned_at IS NULL AND stylus.binned_at IS NULL ${NO_STUDY} AND capture.examination IS NOT NULL
    AND json_extract(COALESCE(capture_brief.examination, capture.examination), '$.ok') = 1
    AND json_extract(COALESCE(capture_brief.examination, capture.examination), '$.flats') IS NOT NULL
  ORDER BY capture.stylus_id, capture.taken_wall IS NULL, capture.taken_wall, capture.created_at, capture.id`;

/** Pictures whose own examination was made with another repeatability than counts now. */
export function outdatedExaminations(db: Database): string[] {
  return db
    .all(EXAMINED)
    .filter((row) => {
      const picture = {
        id: String(row['id']),
        view: row['view'] as Capture['view'],
        microscope: String(row['microscope']),
      };
      const text = row['repeatability'];
      const given = typeof text === 'string' ? (JSON.parse(text) as GivenRepeatability) : null;
      return !sameGiven(given, repeatabilityFor(db, picture));
    })
    .map((row) => String(row['id']));
}
