import type { Pose } from '../../shared/geometry.ts';
import type { Capture, ComparisonReport, Suspicion } from '../../shared/index.ts';
import type { Contour, Scene } from './draw.ts';
import { contourAt } from './geometry.ts';

/** Frames' centres on each other, at the stated scales: how an unregistered pair is shown. */
export function centredPose(capture: Capture): Pose {
  return {
    xPx: (capture.widthPx - 1) / 2,
    yPx: (capture.heightPx - 1) / 2,
    rotationDeg: 0,
    umPerPx: capture.scale?.umPerPx ?? 1,
  };
}

export type Placing = {
  readonly baseline: Pose;
  readonly later: Pose;
  readonly registered: boolean;
};

export function placingOf(baseline: Capture, later: Capture, report: ComparisonReport | null): Placing {
  if (report?.ok === true && report.drawing !== undefined)
    return { baseline: report.drawing.baselinePose, later: report.drawing.laterPose, registered: true };
  return { baseline: centredPose(baseline), later: centredPose(later), registered: false };
}

/** Suspicions that have a place on the outline, numbered as in the list beside the picture. */
export function marksOf(suspicions: readonly Suspicion[], contour: Contour): Scene['marks'] {
  return suspicions.flatMap((one, index) => {
    if (one.kind !== 'chip' && one.kind !== 'residue') return [];
    const at = contourAt(contour, one.angleDeg);
    return at === null ? [] : [{ at, label: String(index + 1) }];
  });
}
