import type { Measured } from '../../shared/index.ts';
import { coverageFactor } from '../uncertainty/index.ts';

/**
 * Mean of readings taken from segments of one recording, or from repeated recordings, with its expanded uncertainty
 * t(95.45 %, n - 1) s/sqrt(n) (JCGM 100:2008, 4.2). Needs two readings or more. What all of them share - the record's
 * own distortion, the converter - is not in it.
 */
export function meanOf(readings: readonly number[]): Measured {
  const n = readings.length;
  if (n < 2) throw new RangeError(`meanOf: at least two readings were expected, got ${n}`);
  const mean = readings.reduce((sum, r) => sum + r, 0) / n;
  const s = Math.sqrt(readings.reduce((sum, r) => sum + (r - mean) ** 2, 0) / (n - 1));
  return { value: mean, expanded: (coverageFactor(n - 1) * s) / Math.sqrt(n) };
}

export function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

export const decibels = (ratio: number): number => 20 * Math.log10(ratio);

/** What the method itself may be off by, expanded: segments of one recording share it and would not show it. */
export const METHOD_DB = 0.01;
export const METHOD_SHARE = 0.005;
export const widened = ({ value, expanded }: Measured, by: number): Measured => ({
  value,
  expanded: Math.hypot(expanded, by),
});
