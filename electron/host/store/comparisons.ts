import { comparisonReportSchema, Refusal } from '../../../shared/index.ts';
import type { Capture, Comparison, ComparisonReport, Scale, Warning } from '../../../shared/index.ts';
import { changeAndRead, insertRow, newId, nowUtc, updateRow } from './changes.ts';
import { capturesOf, readCapture } from './captures.ts';
import type { Database, Row } from './database.ts';
import { briefJoin, columnsFor, type Lines } from './lines.ts';
import { ledgerOf } from './hours.ts';
import { carryMarks } from './mark-units.ts';
import { rememberedFew } from './memo.ts';
import { comparisonOf } from './rows.ts';
import type { ComparisonInputs } from './rows.ts';
import { repeatabilityFor, sameGiven } from './studies.ts';

export type NewComparison = {
  readonly stylusId: string;
  readonly baselineId: string;
  readonly laterId: string;
  readonly engineVersion: string;
  readonly inputs: ComparisonInputs;
  readonly report: ComparisonReport;
};

const sameScale = (a: Scale | null, b: Scale | null): boolean =>
  a?.umPerPx === b?.umPerPx && a?.standardUmPerPx === b?.standardUmPerPx;

/** A result outlives a corrected scale, but says so. */
function staleWarnings(db: Database, inputs: ComparisonInputs, baseline: Capture, later: Capture): Warning[] {
  const changed =
    inputs.view !== baseline.view ||
    !sameScale(inputs.baselineScale, baseline.scale) ||
    !sameScale(inputs.laterScale, later.scale);
  const message =
    'The scale or the view of one of the pictures was changed after this comparison. Compare them again.';
  return [
    ...(changed ? [{ code: 'inputs-changed', message }] : []),
    ...(studiesHold(db, inputs, baseline, later) ? [] : [STUDY_CHANGED]),
  ];
}

const STUDY_CHANGED: Warning = {
  code: 'repeatability-changed',
  message:
    'Another repeatability study counts now than when this pair was measured. Measure it again to have it in the uncertainty.',
};

function studiesHold(db: Database, inputs: ComparisonInputs, baseline: Capture, later: Capture): boolean {
  const { repeatability } = inputs;
  return (
    sameGiven(repeatability?.baseline, repeatabilityFor(db, baseline)) &&
    sameGiven(repeatability?.later, repeatabilityFor(db, later))
  );
}

/** Answered pairs that were measured with another repeatability than counts now. */
export function outdatedComparisons(db: Database): Comparison[] {
  return db
    .all('SELECT id FROM stylus WHERE binned_at IS NULL')
    .flatMap(({ id }) =>
      comparisonsOf(db, String(id), capturesOf(db, String(id), 'without-lines'), 'without-lines'),
    )
    .filter(({ report }) => report.ok && report.warnings.some(({ code }) => code === STUDY_CHANGED.code));
}

type HoursOn = (day: string) => number | null;

function hoursOn(db: Database, stylusId: string): HoursOn {
  const { ledger, known } = ledgerOf(db, stylusId);
  return (day) => (known ? ledger.at(day).hours : null);
}

function read(db: Database, row: Row, captureOf: (id: string) => Capture, hoursAt: HoursOn): Comparison {
  const baseline = captureOf(String(row['baseline_id']));
  const later = captureOf(String(row['later_id']));
  const day = later.taken?.wall.slice(0, 10);
  const hours = day === undefined ? null : hoursAt(day);
  const { inputs, ...comparison } = comparisonOf(row, hours);
  const stale = staleWarnings(db, inputs, baseline, later);
  if (stale.length === 0) return comparison;
  const { report } = comparison;
  return { ...comparison, report: { ...report, warnings: [...(report.warnings ?? []), ...stale] } };
}

export function readComparison(db: Database, id: string): Comparison {
  const row = db.get('SELECT * FROM comparison WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That comparison is not in the collection.');
  return read(db, row, (captureId) => readCapture(db, captureId), hoursOn(db, String(row['stylus_id'])));
}

/** In the order of the later captures; those with a picture in the bin are left out with it. */
export function comparisonsOf(
  db: Database,
  stylusId: string,
  captures: readonly Capture[],
  lines: Lines = 'with-lines',
): Comparison[] {
  if (lines === 'with-lines') return readComparisons(db, stylusId, captures, lines);
  return [
    ...rememberedFew(db, 'comparisons', stylusId, () => readComparisons(db, stylusId, captures, lines)),
  ];
}

function readComparisons(
  db: Database,
  stylusId: string,
  captures: readonly Capture[],
  lines: Lines,
): Comparison[] {
  const place = new Map(captures.map((capture, i) => [capture.id, i]));
  const byId = new Map(captures.map((capture) => [capture.id, capture]));
  /** A sibling of another stylus may stand in as the baseline; in the bin it is as gone as one of our own. */
  const others = new Map<string, Capture | null>();
  const otherIn = (id: string): Capture | null => {
    const other = readCapture(db, id, 'without-lines');
    return other.stylusId !== stylusId && other.binnedAt === null ? other : null;
  };
  const baselineIn = (id: string): Capture | null => {
    const own = byId.get(id) ?? others.get(id);
    if (own !== undefined) return own;
    const other = otherIn(id);
    others.set(id, other);
    return other;
  };
  let hours: HoursOn | undefined;
  const hoursAt: HoursOn = (day) => (hours ??= hoursOn(db, stylusId))(day);
  return db
    .all(
      `SELECT ${columnsFor(db, 'comparison', lines)} FROM comparison ${briefJoin('comparison', lines)}
       WHERE stylus_id = ? AND binned_at IS NULL ORDER BY created_at, id`,
      stylusId,
    )
    .filter((row) => place.has(String(row['later_id'])) && baselineIn(String(row['baseline_id'])) !== null)
    .map((row) => read(db, row, (id) => baselineIn(id)!, hoursAt))
    .toSorted((a, b) => place.get(a.laterId)! - place.get(b.laterId)!);
}

/** A scale by its numbers alone; where it came from changes no answer. */
const numbersOf = (scale: Scale | null) => scale && [scale.umPerPx, scale.standardUmPerPx];

const questionOf = ({ view, baselineScale, laterScale, hand, repeatability }: ComparisonInputs): string =>
  JSON.stringify([
    view,
    numbersOf(baselineScale),
    numbersOf(laterScale),
    hand ?? null,
    repeatability ?? null,
  ]);

/** The newest result of this pair that was made by the same engine with the same inputs, in the bin or not. */
export function comparisonMadeWith(
  db: Database,
  asked: Pick<NewComparison, 'baselineId' | 'laterId' | 'engineVersion' | 'inputs'>,
): Comparison | null {
  const question = questionOf(asked.inputs);
  const found = db
    .all(
      `SELECT id, inputs FROM comparison WHERE baseline_id = ? AND later_id = ? AND engine_version = ?
       ORDER BY binned_at IS NOT NULL, created_at DESC, id DESC`,
      asked.baselineId,
      asked.laterId,
      asked.engineVersion,
    )
    .find((row) => questionOf(JSON.parse(String(row['inputs'])) as ComparisonInputs) === question);
  return found === undefined ? null : readComparison(db, String(found['id']));
}

/** A pair has one result on the timeline: the newest. Earlier ones go to the bin. */
export function addComparison(db: Database, comparison: NewComparison): Comparison {
  const id = newId();
  const { stylusId, baselineId, laterId, engineVersion, inputs, report } = comparison;
  const change = () => {
    const earlier = db.all(
      'SELECT id, report FROM comparison WHERE baseline_id = ? AND later_id = ? AND binned_at IS NULL ORDER BY created_at, id',
      baselineId,
      laterId,
    );
    for (const row of earlier) updateRow(db, 'comparison', String(row['id']), 'binned_at', [nowUtc()]);
    insertRow(db, 'comparison', id, 'stylus_id, baseline_id, later_id, engine_version, inputs, report', [
      stylusId,
      baselineId,
      laterId,
      engineVersion,
      JSON.stringify(inputs),
      JSON.stringify(report),
    ]);
    const last = earlier.at(-1)?.['report'];
    if (typeof last === 'string')
      carryMarks(db, stylusId, inputs.view, comparisonReportSchema.parse(JSON.parse(last)), report);
  };
  return changeAndRead(db, change, () => readComparison(db, id));
}
