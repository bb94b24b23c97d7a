import type {
  Capture,
  Comparison,
  ComparisonAnswer,
  Dated,
  ExaminationAnswer,
  Measured,
} from '../../shared/index.ts';
import type { HoursLedger } from './playing-time.ts';

/** Flat widths over playing time, as the chart and its table show them. One point for each capture and wall. */
export type FlatPoint = {
  readonly captureId: string;
  /** The comparison it came from; null when the picture was looked at alone. */
  readonly comparisonId: string | null;
  readonly side: 'left' | 'right';
  readonly date: string | null;
  /** Playing time at that capture, with the whole ledger's start; null when it has no date. */
  readonly hours: number | null;
  /** Standard uncertainty of those hours. */
  readonly hoursStandard: number;
  readonly width: Measured;
  readonly detected: boolean;
  readonly limitUm: number;
};

type Answer<T extends { readonly ok: true }> =
  { readonly ok: false } | (Pick<T, 'ok'> & Pick<T, keyof T & ('unit' | 'flats')>);

/** What is read of a stylus' page; pictures oldest first, comparisons in the order of their later pictures. */
export type FlatSource = {
  readonly captures: readonly (Pick<Capture, 'id'> & {
    readonly taken: Pick<Dated, 'wall'> | null;
    readonly examination?: Answer<ExaminationAnswer> | null;
  })[];
  readonly comparisons: readonly (Pick<Comparison, 'id' | 'createdAt' | 'baselineId' | 'laterId'> & {
    readonly report: Answer<ComparisonAnswer>;
  })[];
};

const SIDES = ['left', 'right'] as const;

/**
 * The newest answered comparison in micrometres speaks for its later capture, and for its baseline where nothing
 * newer does; a capture that was only looked at alone comes last. Percentages stay out: they are no widths.
 */
export function flatPoints(page: FlatSource, ledger: HoursLedger): FlatPoint[] {
  const points = new Map<string, FlatPoint[]>();
  const placed = placer(page, ledger);
  // Times of one form sort as plain text.
  const newestFirst = [...page.comparisons].toSorted((a, b) =>
    a.createdAt === b.createdAt ? 0 : a.createdAt < b.createdAt ? 1 : -1,
  );
  for (const comparison of newestFirst) {
    const { report, laterId } = comparison;
    if (!report.ok || report.unit === 'percent-of-shank' || points.has(laterId)) continue;
    points.set(
      laterId,
      SIDES.map((side) => ({
        ...placed(laterId),
        comparisonId: comparison.id,
        side,
        width: report.flats[side].laterUm,
        detected: report.flats[side].detected,
        limitUm: report.flats[side].detectionLimitUm,
      })),
    );
  }
  const own = new Set(page.captures.map(({ id }) => id));
  for (const comparison of newestFirst) {
    const { report, baselineId } = comparison;
    if (!report.ok || report.unit === 'percent-of-shank' || points.has(baselineId)) continue;
    // A sibling's picture shows another stylus.
    if (!own.has(baselineId)) continue;
    points.set(
      baselineId,
      SIDES.map((side) => {
        const flat = report.flats[side];
        return {
          ...placed(baselineId),
          comparisonId: comparison.id,
          side,
          width: flat.baselineUm,
          detected: flat.baselineUm.value > flat.decisionThresholdUm,
          limitUm: flat.detectionLimitUm,
        };
      }),
    );
  }
  for (const capture of page.captures) addExamined(capture, points, placed);
  return [...points.values()].flat().toSorted((a, b) => (a.hours ?? Infinity) - (b.hours ?? Infinity));
}

type Place = Pick<FlatPoint, 'captureId' | 'date' | 'hours' | 'hoursStandard'>;

function addExamined(
  { id, examination: report }: FlatSource['captures'][number],
  points: Map<string, FlatPoint[]>,
  placed: (captureId: string) => Place,
): void {
  const flats = report?.ok === true && report.unit !== 'percent-of-shank' ? report.flats : undefined;
  if (flats === undefined || points.has(id)) return;
  points.set(
    id,
    SIDES.map((side) => ({
      ...placed(id),
      comparisonId: null,
      side,
      width: flats[side].widthUm,
      detected: flats[side].detected,
      limitUm: flats[side].detectionLimitUm,
    })),
  );
}

/** Day and hours of a capture; asked for thousands of times where a history is long. */
function placer({ captures }: FlatSource, ledger: HoursLedger): (captureId: string) => Place {
  const days = new Map(captures.map(({ id, taken }) => [id, taken?.wall.slice(0, 10) ?? null]));
  return (captureId) => {
    const date = days.get(captureId) ?? null;
    if (date === null) return { captureId, date, hours: null, hoursStandard: 0 };
    const { hours, standard } = ledger.at(date);
    return { captureId, date, hours, hoursStandard: standard };
  };
}
