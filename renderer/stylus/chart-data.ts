import type { Measured, StylusPage } from '../../shared/index.ts';
import { hoursAt } from '../state/hours.ts';

/** Flat widths over playing time, as the chart and its table show them. One point for each capture and wall. */
export type FlatPoint = {
  readonly captureId: string;
  /** The comparison it came from; null when the picture was looked at alone. */
  readonly comparisonId: string | null;
  readonly side: 'left' | 'right';
  readonly date: string | null;
  /** Playing time at that capture; null when it has no date and the comparison knew none either. */
  readonly hours: number | null;
  readonly width: Measured;
  readonly detected: boolean;
  readonly limitUm: number;
};

const SIDES = ['left', 'right'] as const;

/**
 * The newest answered comparison in micrometres speaks for its later capture, and for its baseline where nothing
 * newer does; a capture that was only looked at alone comes last. Percentages stay out: they are no widths.
 */
export function flatPoints(page: StylusPage): FlatPoint[] {
  const points = new Map<string, FlatPoint[]>();
  const newestFirst = [...page.comparisons].toSorted((a, b) => b.createdAt.localeCompare(a.createdAt));
  for (const comparison of newestFirst) {
    const { report, laterId } = comparison;
    if (!report.ok || report.unit === 'percent-of-shank' || points.has(laterId)) continue;
    points.set(
      laterId,
      SIDES.map((side) => ({
        ...placed(page, laterId, comparison.hoursAtLater),
        comparisonId: comparison.id,
        side,
        width: report.flats[side].laterUm,
        detected: report.flats[side].detected,
        limitUm: report.flats[side].detectionLimitUm,
      })),
    );
  }
  for (const comparison of newestFirst) {
    const { report, baselineId } = comparison;
    if (!report.ok || report.unit === 'percent-of-shank' || points.has(baselineId)) continue;
    points.set(
      baselineId,
      SIDES.map((side) => {
        const flat = report.flats[side];
        return {
          ...placed(page, baselineId, null),
          comparisonId: comparison.id,
          side,
          width: flat.baselineUm,
          detected: flat.baselineUm.value > flat.decisionThresholdUm,
          limitUm: flat.detectionLimitUm,
        };
      }),
    );
  }
  for (const capture of page.captures) addExamined(page, capture.id, points);
  return [...points.values()].flat().toSorted((a, b) => (a.hours ?? Infinity) - (b.hours ?? Infinity));
}

function addExamined(page: StylusPage, id: string, points: Map<string, FlatPoint[]>): void {
  const report = page.captures.find((capture) => capture.id === id)?.examination;
  const flats = report?.ok === true && report.unit !== 'percent-of-shank' ? report.flats : undefined;
  if (flats === undefined || points.has(id)) return;
  points.set(
    id,
    SIDES.map((side) => ({
      ...placed(page, id, null),
      comparisonId: null,
      side,
      width: flats[side].widthUm,
      detected: flats[side].detected,
      limitUm: flats[side].detectionLimitUm,
    })),
  );
}

function placed(
  page: StylusPage,
  captureId: string,
  hours: number | null,
): Pick<FlatPoint, 'captureId' | 'date' | 'hours'> {
  const wall = page.captures.find((capture) => capture.id === captureId)?.taken?.wall.slice(0, 10) ?? null;
  return { captureId, date: wall, hours: hours ?? (wall === null ? null : hoursAt(page, wall).hours) };
}
