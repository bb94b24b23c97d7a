import { movedShape } from '../../../shared/index.ts';
import type { ComparisonReport, Mark } from '../../../shared/index.ts';
import type { Database } from './database.ts';
import { marksOf, updateMark } from './marks.ts';

/**
 * A pair compared anew may count in another unit: its scale became known, or was taken away. The tip frame is the same,
 * only its unit differs, and by how much is told by the baseline's two poses; so the marks go along instead of losing
 * their place.
 */
type Frame = { readonly unit: 'um' | 'percent-of-shank'; readonly unitPerPx: number };

const frameOf = (report: ComparisonReport): Frame | null =>
  report.ok && report.drawing !== undefined
    ? { unit: report.unit ?? 'um', unitPerPx: report.drawing.baselinePose.umPerPx }
    : null;

/** `before` and `after`: reports of one pair. Must run inside the transaction that replaces the one by the other. */
export function carryMarks(
  db: Database,
  stylusId: string,
  view: Mark['view'],
  before: ComparisonReport,
  after: ComparisonReport,
): void {
  const [from, to] = [frameOf(before), frameOf(after)];
  if (from === null || to === null || from.unit === to.unit) return;
  const factor = to.unitPerPx / from.unitPerPx;
  if (!(factor > 0) || !Number.isFinite(factor)) return;
  for (const mark of marksOf(db, stylusId)) {
    if (mark.view !== view || mark.frame !== 'tip' || mark.unit !== from.unit) continue;
    const { id, createdAt: _made, binnedAt: _binned, ...draft } = mark;
    const { size, proposed } = mark;
    updateMark(db, id, {
      ...draft,
      unit: to.unit,
      shape: movedShape(mark.shape, ([x, y]) => [x * factor, y * factor]),
      size:
        size === null || size.unit !== from.unit
          ? size
          : {
              ...size,
              unit: to.unit,
              value: size.value * factor,
              expanded: size.expanded === null ? null : size.expanded * factor,
            },
      proposed:
        proposed === null
          ? null
          : {
              ...proposed,
              sizeUm: proposed.sizeUm * factor,
              depthUm: proposed.depthUm * factor,
              ...(proposed.depthExpandedUm === undefined
                ? {}
                : { depthExpandedUm: proposed.depthExpandedUm * factor }),
            },
    });
  }
}
