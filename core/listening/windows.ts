/**
 * Four-term Blackman-Harris window at u in 0..1. Its highest side lobe lies 92 dB below the main one and its main lobe
 * ends 4 bins from the centre; equivalent noise bandwidth 2.00 bins (Harris, Proc. IEEE 66 (1978) 51, table I).
 */
export function blackmanHarris(u: number): number {
  const a = 2 * Math.PI * u;
  return 0.35875 - 0.48829 * Math.cos(a) + 0.14128 * Math.cos(2 * a) - 0.01168 * Math.cos(3 * a);
}
/** What a strong tone leaves at the place of another one, as a share of its amplitude: 92 dB down. */
export const WINDOW_LEAKAGE = 10 ** (-92 / 20);

export const hann = (u: number): number => 0.5 - 0.5 * Math.cos(2 * Math.PI * u);

/**
 * Centred moving average of an odd length, in place of `data`; near the ends it averages what is there. A cascade of
 * four has zeros of the fourth order at all multiples of rate/length.
 */
export function movingAverage(data: Float64Array, length: number): Float64Array {
  const half = (length - 1) / 2;
  const n = data.length;
  const out = new Float64Array(n);
  let sum = 0;
  let count = 0;
  for (let i = 0; i < Math.min(half, n); i++) {
    sum += data[i];
    count++;
  }
  for (let i = 0; i < n; i++) {
    if (i + half < n) {
      sum += data[i + half];
      count++;
    }
    if (i - half - 1 >= 0) {
      sum -= data[i - half - 1];
      count--;
    }
    out[i] = sum / count;
  }
  return out;
}
