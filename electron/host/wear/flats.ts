import type { FlatSource } from '../../../core/wear/index.ts';
import { comparisonAnswerSchema, examinationAnswerSchema } from '../../../shared/index.ts';
import { IN_ORDER, NO_STUDY } from '../store/captures.ts';
import type { Database, SqlValue } from '../store/database.ts';
import { briefJoin, reportIn, type Reported } from '../store/lines.ts';

/**
 * The flats that were measured on a stylus, and nothing else of its reports: the list of next looks asks every stylus for
 * them right after the start, and reading forty whole pages for it kept the host from whoever clicked on a card.
 */
export function measuredFlats(db: Database, stylusId: string): FlatSource {
  const captures = db.mapped(
    ({ id, taken_wall: wall, answer }) => ({
      id: String(id),
      taken: typeof wall === 'string' ? { wall } : null,
      examination: answer === null ? null : examined(answer),
    }),
    `SELECT capture.id, taken_wall, ${answerOf('capture')} AS answer
       FROM capture ${briefJoin('capture', 'without-lines')}
       WHERE capture.stylus_id = ? AND capture.binned_at IS NULL ${NO_STUDY} ORDER BY ${IN_ORDER}`,
    stylusId,
  );
  const place = new Map(captures.map(({ id }, i) => [id, i]));
  const isShown = shownBaselines(db, stylusId, place);
  const comparisons = db
    .mapped(
      (row) => ({
        id: String(row['id']),
        createdAt: String(row['created_at']),
        baselineId: String(row['baseline_id']),
        laterId: String(row['later_id']),
        report: compared(row['answer']),
      }),
      `SELECT comparison.id, created_at, baseline_id, later_id, ${answerOf('comparison')} AS answer
       FROM comparison ${briefJoin('comparison', 'without-lines')}
       WHERE comparison.stylus_id = ? AND comparison.binned_at IS NULL ORDER BY created_at, comparison.id`,
      stylusId,
    )
    .filter(({ laterId, baselineId }) => place.has(laterId) && isShown(baselineId));
  return {
    captures,
    comparisons: comparisons.toSorted((a, b) => place.get(a.laterId)! - place.get(b.laterId)!),
  };
}

/** One of our own pictures, or a sibling of another stylus; in the bin either is gone. */
function shownBaselines(
  db: Database,
  stylusId: string,
  own: ReadonlyMap<string, unknown>,
): (id: string) => boolean {
  const others = new Map<string, boolean>();
  return (id) => {
    if (own.has(id)) return true;
    let shown = others.get(id);
    if (shown === undefined) {
      const row = db.get('SELECT stylus_id, binned_at FROM capture WHERE id = ?', id);
      shown = row !== undefined && row['stylus_id'] !== stylusId && row['binned_at'] === null;
      others.set(id, shown);
    }
    return shown;
  };
}

/** A list of three in JSON; NULL where there is no report. */
const answerOf = (table: Reported): string => `json_extract(${reportIn(table)}, '$.ok', '$.unit', '$.flats')`;

const PARTS = { ok: true, unit: true, flats: true } as const;
const examinedSchema = examinationAnswerSchema.pick(PARTS);
const comparedSchema = comparisonAnswerSchema.pick(PARTS);

function partsIn(answer: SqlValue): { ok: unknown; unit?: unknown; flats?: unknown } {
  const [ok, unit, flats] = JSON.parse(String(answer)) as unknown[];
  return { ok, ...(unit === null ? {} : { unit }), ...(flats === null ? {} : { flats }) };
}

function examined(answer: SqlValue): NonNullable<FlatSource['captures'][number]['examination']> {
  const parts = partsIn(answer);
  return parts.ok === true ? examinedSchema.parse(parts) : { ok: false };
}

function compared(answer: SqlValue): FlatSource['comparisons'][number]['report'] {
  const parts = partsIn(answer);
  return parts.ok === true ? comparedSchema.parse(parts) : { ok: false };
}
