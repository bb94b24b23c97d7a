import { comparisonReportSchema, Refusal } from '../../../shared/index.ts';
import type { Capture, Comparison, ComparisonReport, Scale, Warning } from '../../../shared/index.ts';
import { changeAndRead, insertRow, newId, nowUtc, updateRow } from './changes.ts';
import { capturesOf, readCapture } from './captures.ts';
import { asChecked, isChecked } from './checked.ts';
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

type OfStudies = Pick<Capture, 'id' | 'view' | 'microscope'>;
function studiesHold(db: Database, inputs: ComparisonInputs, baseline: OfStudies, later: OfStudies): boolean {
  const { repeatability } = inputs;
  return (
    sameGiven(repeatability?.baseline, repeatabilityFor(db, baseline)) &&
    sameGiven(repeatability?.later, repeatabilityFor(db, later))
  );
}

export type OutdatedPair = {
  readonly baselineId: string;
  readonly laterId: string;
  readonly hand: Comparison['hand'];
};

/** Later pictures that are looks at the wear, and baselines: one of those, or a sibling of another stylus. */
const SHOWN_PAIR = `later.stylus_id = comparison.stylus_id AND later.binned_at IS NULL
  AND later.id NOT IN (SELECT capture_id FROM study_capture)
  AND baseline.binned_at IS NULL
  AND (baseline.stylus_id <> comparison.stylus_id OR baseline.id NOT IN (SELECT capture_id FROM study_capture))`;

/**
 * Answered pairs that were measured with another repeatability than counts now. Asked with every list of studies, so no
 * report is read for it: whether there is an answer the database tells from the brief.
 */
export function outdatedComparisons(db: Database): OutdatedPair[] {
  const ok = (table: string): string => `json_extract(${table}.report, '$.ok') = 1`;
  return db
    .all(
      `SELECT comparison.inputs, baseline_id, later_id, baseline.view AS baseline_view, later.view AS later_view,
         baseline.microscope AS baseline_microscope, later.microscope AS later_microscope
       FROM comparison JOIN stylus ON stylus.id = comparison.stylus_id
       JOIN capture AS later ON later.id = later_id JOIN capture AS baseline ON baseline.id = baseline_id
       LEFT JOIN comparison_brief ON comparison_brief.comparison_id = comparison.id
       WHERE comparison.binned_at IS NULL AND stylus.binned_at IS NULL AND ${SHOWN_PAIR}
         AND CASE WHEN comparison_brief.report IS NULL THEN ${ok('comparison')} ELSE ${ok('comparison_brief')} END
       ORDER BY comparison.stylus_id, later.taken_wall IS NULL, later.taken_wall, later.id, comparison.id`,
    )
    .flatMap((row) => {
      const inputs = JSON.parse(String(row['inputs'])) as ComparisonInputs;
      const picture = (which: 'baseline' | 'later') => ({
        id: String(row[`${which}_id`]),
        view: row[`${which}_view`] as Capture['view'],
        microscope: String(row[`${which}_microscope`]),
      });
      const [baseline, later] = [picture('baseline'), picture('later')];
      if (studiesHold(db, inputs, baseline, later)) return [];
      return [{ baselineId: baseline.id, laterId: later.id, hand: inputs.hand ?? null }];
    });
}

type HoursOn = (day: string) => number | null;

function hoursOn(db: Database, stylusId: string): HoursOn {
  const { ledger, known } = ledgerOf(db, stylusId);
  return (day) => (known ? ledger.at(day).hours : null);
}

/** A comparison without its hours, and the day of its later picture, which they follow from. */
type Read = { readonly comparison: Comparison; readonly day: string | null };

function read(db: Database, row: Row, captureOf: (id: string) => Capture): Read {
  return judged(db, comparisonOf(row), captureOf);
}

function judged(
  db: Database,
  made: ReturnType<typeof comparisonOf>,
  captureOf: (id: string) => Capture,
): Read {
  const baseline = captureOf(made.baselineId);
  const later = captureOf(made.laterId);
  const day = later.taken?.wall.slice(0, 10) ?? null;
  const { inputs, ...comparison } = made;
  const stale = staleWarnings(db, inputs, baseline, later);
  if (stale.length === 0) return { comparison: asChecked(comparison), day };
  const { report } = comparison;
  const warnings = [...(report.warnings ?? []), ...stale];
  return { comparison: { ...comparison, report: { ...report, warnings } }, day };
}

export function readComparison(db: Database, id: string): Comparison {
  const row = db.get('SELECT * FROM comparison WHERE id = ?', id);
  if (row === undefined) throw new Refusal('not-found', 'That comparison is not in the collection.');
  const [comparison] = withHours(db, String(row['stylus_id']), [
    read(db, row, (captureId) => readCapture(db, captureId)),
  ]);
  return comparison;
}

/** In the order of the later captures; those with a picture in the bin are left out with it. */
export function comparisonsOf(db: Database, stylusId: string, lines: Lines = 'with-lines'): Comparison[] {
  if (lines === 'with-lines') return withHours(db, stylusId, readComparisons(db, stylusId, lines));
  return rememberedFew<Timed>(db, 'comparisons', stylusId, (before) => {
    const all = rememberedFew(db, 'comparisons read', stylusId, () => readComparisons(db, stylusId, lines));
    return { all, list: retimed(db, stylusId, all, before?.answer ?? null) };
  }).list;
}

type Timed = { readonly all: readonly Read[]; readonly list: Comparison[] };

function withHours(db: Database, stylusId: string, all: readonly Read[]): Comparison[] {
  const hoursAt = hoursOn(db, stylusId);
  return all.map(({ comparison, day }) => {
    const timed = { ...comparison, hoursAtLater: day === null ? null : hoursAt(day) };
    // Hours are a number or nothing; what else is in it was checked or was not.
    return isChecked(comparison) ? asChecked(timed) : timed;
  });
}

/** What was played since changes no hours before it: then the last list still holds, and is told by being the same. */
function retimed(db: Database, stylusId: string, all: readonly Read[], last: Timed | null): Comparison[] {
  const list = withHours(db, stylusId, all);
  const holds =
    last?.all === all && list.every(({ hoursAtLater }, i) => hoursAtLater === last.list[i].hoursAtLater);
  return holds ? last.list : list;
}

function readComparisons(db: Database, stylusId: string, lines: Lines): Read[] {
  const captures = capturesOf(db, stylusId, lines);
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
  return db
    .mapped(
      (row) => (place.has(String(row['later_id'])) ? comparisonOf(row) : null),
      `SELECT ${columnsFor(db, 'comparison', lines)} FROM comparison ${briefJoin('comparison', lines)}
       WHERE stylus_id = ? AND binned_at IS NULL ORDER BY created_at, id`,
      stylusId,
    )
    .filter((made) => made !== null && baselineIn(made.baselineId) !== null)
    .map((made) => judged(db, made!, (id) => baselineIn(id)!))
    .toSorted((a, b) => place.get(a.comparison.laterId)! - place.get(b.comparison.laterId)!);
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
