import type { Pose } from '../../shared/geometry.ts';
import type { Capture, Comparison } from '../../shared/index.ts';

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

export function placingOf(
  baseline: Capture,
  later: Capture,
  comparison: Pick<Comparison, 'report' | 'hand'> | null,
): Placing {
  const report = comparison?.report;
  if (report?.ok === true && report.drawing !== undefined)
    return { baseline: report.drawing.baselinePose, later: report.drawing.laterPose, registered: true };
  // Refused, but somebody had laid them over each other: that is still the best that is known.
  const hand = comparison?.hand ?? null;
  if (hand !== null) return { ...hand, registered: false };
  return { baseline: centredPose(baseline), later: centredPose(later), registered: false };
}
