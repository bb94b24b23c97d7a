import { blackmanHarris, WINDOW_LEAKAGE } from './windows.ts';

/**
 * What one segment of a signal contains at multiples of a phase: sum of window x signal x exp(-i order phase) over the
 * phase itself, so that faster passages count by their cycles and not by their samples. Amplitude (peak) of a sine.
 */
export function amplitudeAt(
  signal: Float64Array,
  offset: number,
  phase: Float64Array,
  from: number,
  to: number,
  order: number,
): { readonly re: number; readonly im: number } {
  const [first, last] = [phase[from], phase[to - 1]];
  let re = 0;
  let im = 0;
  let weight = 0;
  for (let i = from + 1; i < to - 1; i++) {
    const w = blackmanHarris((phase[i] - first) / (last - first)) * (phase[i + 1] - phase[i - 1]);
    const x = w * signal[offset + i];
    re += x * Math.cos(order * phase[i]);
    im -= x * Math.sin(order * phase[i]);
    weight += w;
  }
  return { re: (2 * re) / weight, im: (2 * im) / weight };
}

/** Equal shares of the phase, so that every segment holds the same number of cycles: sample numbers, one more than segments. */
export function segmentBorders(phase: Float64Array, from: number, to: number, segments: number): number[] {
  const [first, last] = [phase[from], phase[to - 1]];
  const borders = [from];
  let at = from;
  for (let s = 1; s < segments; s++) {
    const wanted = first + ((last - first) * s) / segments;
    while (at < to && phase[at] < wanted) at++;
    borders.push(at);
  }
  return [...borders, to];
}

export type SegmentLevels = {
  /** Amplitude of the fundamental, in the signal's unit. */
  readonly fundamental: number;
  /** Power of the 2nd to 5th harmonic relative to the fundamental, noise taken off (may be below 0). */
  readonly harmonics: readonly number[];
  /** Power that noise alone leaves at one such place, relative to the fundamental. */
  readonly noise: readonly number[];
};

/** Noise is looked at between the harmonics, where nothing of the tone can be: at half orders on both sides. */
const BETWEEN = [-0.5, -0.37, 0.37, 0.5];

export function segmentLevels(
  signal: Float64Array,
  offset: number,
  phase: Float64Array,
  from: number,
  to: number,
  highestOrder: number,
): SegmentLevels {
  const power = (order: number): number => {
    const { re, im } = amplitudeAt(signal, offset, phase, from, to, order);
    return re * re + im * im;
  };
  const fundamental = power(1);
  const harmonics: number[] = [];
  const noise: number[] = [];
  for (let order = 2; order <= highestOrder; order++) {
    const around = BETWEEN.map((shift) => power(order + shift)).toSorted((a, b) => a - b);
    // The median of exponentially distributed powers is ln 2 of their mean; one stray line does not lift it.
    const level = (around[1] + around[2]) / 2 / Math.LN2 / fundamental;
    noise.push(level);
    harmonics.push(power(order) / fundamental - level);
  }
  return { fundamental: Math.sqrt(fundamental), harmonics, noise };
}

/** Smallest share of the fundamental, as an amplitude, that is called a harmonic: 3.3 times what noise leaves, or leakage. */
export function limitFrom(noisePower: number, segments: number): number {
  const ofMean = noisePower / Math.sqrt(segments);
  return Math.sqrt(3.3 * ofMean + WINDOW_LEAKAGE ** 2);
}
