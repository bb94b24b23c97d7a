import type { PoseDifference } from '../../core/live/pose.ts';
import type { LiveReading } from './protocol.ts';

/**
 * When is now? Pose within limits, focus as good as it gets here, nothing moving; and for a release by itself all of
 * it without a break for a second.
 */
export type PoseLimits = {
  readonly rotationDeg: number;
  /** As a part of the frame's long edge: where in the frame the tip lies matters little, lenses bend at the rim. */
  readonly shift: number;
  /** Relative. */
  readonly scale: number;
  /** Root mean square difference of the looks, part of the contrast. */
  readonly view: number;
};
/**
 * Two degrees of turn hide a fifth of a flat's depth (geometry), so half of that is asked for where it can be read. The
 * other limits are common practice, no source: a twentieth of the frame, 1.5 % of size, 6 % of the contrast.
 */
export const POSE_LIMITS: PoseLimits = { rotationDeg: 1, shift: 0.05, scale: 0.015, view: 0.06 };

export type PoseVerdict = {
  readonly rotation: boolean;
  readonly shift: boolean;
  readonly scale: boolean;
  readonly view: boolean;
  readonly all: boolean;
};

export function judgePose(pose: PoseDifference, longEdgePx: number, limits = POSE_LIMITS): PoseVerdict {
  const rotation = Math.abs(pose.rotationDeg) <= limits.rotationDeg;
  const shift = Math.hypot(pose.shiftXPx, pose.shiftYPx) <= limits.shift * longEdgePx;
  // A radius is read less surely than a shank.
  const scale = Math.abs(pose.scale - 1) <= (pose.scaleFrom === 'shank' ? 1 : 3) * limits.scale;
  const view = pose.view <= limits.view;
  return { rotation, shift, scale, view, all: rotation && shift && scale && view };
}

/** An edge this much wider than the sharpest one seen here is out of focus. */
const FOCUS_SLACK = 1.12;
/** For how long the sharpest edge counts: the wheel may have been turned for another part since. */
const FOCUS_MEMORY_MS = 30_000;
/** Between two readings, pixels and degrees. */
const STILL = { px: 0.6, deg: 0.15 } as const;
export const HOLD_MS = 1000;

export type Moment = {
  /** Null without a baseline that can be read. */
  readonly pose: PoseVerdict | null;
  readonly focus: boolean;
  readonly still: boolean;
  /** Everything holds at this moment. */
  readonly now: boolean;
  /** Since when everything holds, ms of the same clock; null while something does not. */
  readonly since: number | null;
  /** Everything has held for a second. */
  readonly release: boolean;
  /** Sharpest edge of the last half minute, pixels. */
  readonly bestEdgePx: number | null;
};

export type Watcher = { readonly see: (reading: LiveReading, longEdgePx: number) => Moment };

/** Keeps the little that is needed from reading to reading. A reading that fails breaks everything off. */
export function createWatcher(): Watcher {
  let last: Extract<LiveReading, { ok: true }> | null = null;
  let since: number | null = null;
  let edges: { at: number; px: number }[] = [];
  return {
    see(reading, longEdgePx) {
      if (!reading.ok) {
        last = null;
        since = null;
        return {
          pose: null,
          focus: false,
          still: false,
          now: false,
          since,
          release: false,
          bestEdgePx: bestOf(edges),
        };
      }
      const { at, edgePx, outline, pose } = reading;
      edges = edges.filter((one) => at - one.at < FOCUS_MEMORY_MS);
      if (edgePx !== null) edges.push({ at, px: edgePx });
      const bestEdgePx = bestOf(edges);
      const focus = edgePx !== null && bestEdgePx !== null && edgePx <= FOCUS_SLACK * bestEdgePx;
      const still =
        last !== null &&
        Math.hypot(outline.xPx - last.outline.xPx, outline.yPx - last.outline.yPx) <= STILL.px &&
        Math.abs(outline.rotationDeg - last.outline.rotationDeg) <= STILL.deg;
      const verdict = pose === null ? null : judgePose(pose, longEdgePx);
      const now = verdict?.all === true && focus && still;
      since = now ? (since ?? at) : null;
      last = reading;
      const release = since !== null && at - since >= HOLD_MS;
      return { pose: verdict, focus, still, now, since, release, bestEdgePx };
    },
  };
}

/** The second smallest where there are enough: a single lucky reading is not to be the mark for all others. */
function bestOf(edges: readonly { px: number }[]): number | null {
  if (edges.length === 0) return null;
  const sorted = edges.map((one) => one.px).toSorted((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(sorted.length / 20) + 1)] ?? null;
}
