import type { Pose } from '../../shared/geometry.ts';
import type { Capture, StylusPage, View } from '../../shared/index.ts';
import { hasOutline } from './captures.ts';

/** The pictures of one view that lie in one tip frame, oldest first: what can be shown one after the other in place. */
export type FilmFrame = { readonly capture: Capture; readonly pose: Pose };
export type Film = {
  readonly view: View;
  readonly frames: readonly FilmFrame[];
  /** Radius of the tip in the unit of the poses. */
  readonly radius: number;
  readonly unit: 'um' | 'percent-of-shank';
  /** Dated pictures of the view that no comparison with this baseline has placed. */
  readonly left: readonly Capture[];
};

/** One film for each view of which two pictures or more were registered with the same baseline. */
export function films(page: StylusPage): Film[] {
  const views = [...new Set(page.captures.map((capture) => capture.view))].filter(hasOutline);
  return views.flatMap((view) => filmOf(page, view) ?? []);
}

function filmOf(page: StylusPage, view: View): Film | null {
  const captures = page.captures.filter((capture) => capture.view === view && capture.taken !== null);
  const byId = new Map(captures.map((capture) => [capture.id, capture]));
  // Each baseline has a tip frame of its own, and without a scale the frame counts in another unit.
  const groups = new Map<string, { poses: Map<string, Pose>; radius: number; unit: Film['unit'] }>();
  for (const { report, baselineId, laterId } of page.comparisons) {
    if (!report.ok || report.drawing === undefined || !byId.has(baselineId) || !byId.has(laterId)) continue;
    const unit = report.unit ?? 'um';
    const key = `${baselineId} ${unit}`;
    const group = groups.get(key) ?? { poses: new Map(), radius: report.tip.radiusUm.value, unit };
    group.poses.set(laterId, report.drawing.laterPose);
    group.poses.set(baselineId, report.drawing.baselinePose);
    groups.set(key, group);
  }
  const largest = [...groups.values()].reduce<{
    poses: Map<string, Pose>;
    radius: number;
    unit: Film['unit'];
  } | null>((a, b) => (a === null || b.poses.size > a.poses.size ? b : a), null);
  if (largest === null) return null;
  const frames = captures
    .flatMap((capture): FilmFrame[] => {
      const pose = largest.poses.get(capture.id);
      return pose === undefined ? [] : [{ capture, pose }];
    })
    .toSorted((a, b) => ((a.capture.taken?.wall ?? '') < (b.capture.taken?.wall ?? '') ? -1 : 1));
  const { radius, unit, poses } = largest;
  return { view, frames, radius, unit, left: captures.filter(({ id }) => !poses.has(id)) };
}
