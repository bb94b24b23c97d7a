import { lookOf, poseDifference, type PoseSource } from '../../core/live/pose.ts';
import { readLight, type LightReading } from '../../core/live/reading.ts';
import type { Frame } from './collecting.ts';
import type { BaselineOutline, LiveReading, Outline } from './protocol.ts';

/** What the reading thread does with frames, as plain functions. */
const degrees = (radians: number): number => (radians * 180) / Math.PI;

export function outlineOf({ flanks }: LightReading): Outline {
  return {
    xPx: flanks.xPx,
    yPx: flanks.yPx,
    rotationDeg: degrees(flanks.rotation),
    radiusPx: flanks.radiusPx,
    halfDeg: degrees(flanks.halfLeft),
    lengthPx: flanks.lengthPx,
  };
}

/** A picture ready to have other frames compared with it; null where no tip could be read in it. */
export function poseSourceOf(
  { width, height, grey }: Omit<Frame, 'rgba'>,
  umPerPx: number | null,
): PoseSource | null {
  const reading = readLight(grey);
  if (!reading.ok) return null;
  return { width, height, reading: reading.value, umPerPx, look: lookOf(grey, reading.value) };
}

export const baselineOutline = (source: PoseSource): BaselineOutline => ({
  width: source.width,
  height: source.height,
  outline: outlineOf(source.reading),
  edgePx: source.reading.edgePx,
});

export function readFrame(
  frame: Omit<Frame, 'rgba'>,
  baseline: PoseSource | null,
  umPerPx: number | null,
  now: () => number,
): LiveReading {
  const at = now();
  const read = readLight(frame.grey);
  if (!read.ok) return { ok: false, at, sentence: read.reason.message, took: now() - at };
  const reading = read.value;
  const { width, height, grey } = frame;
  const pose =
    baseline === null
      ? null
      : poseDifference(baseline, { width, height, reading, umPerPx, look: lookOf(grey, reading) });
  const { edgePx, clipped, black, noise, limitPx, lit } = reading;
  const outline = outlineOf(reading);
  return { ok: true, at, outline, edgePx, clipped, black, noise, limitPx, lit, pose, took: now() - at };
}
