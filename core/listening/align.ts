import { correlate, inverse, powerOfTwoFrom, spectrum } from './fourier.ts';
import { valueAt } from './resample.ts';
import { median } from './statistics.ts';
import { hann, movingAverage } from './windows.ts';

/**
 * Finds which moment of one recording is which moment of another one of the same passage, although the record ran at
 * another speed and with its own wow. First by the course of loudness, then by the waveform, in rounds.
 */
export type Alignment = {
  /** Moment in the second recording, s, that belongs to a moment of the first one, s. */
  readonly timeInSecond: (t: number) => number;
  /** Seconds of the second recording for each second of the first: below 1 when the second one runs faster. */
  readonly ratio: number;
  readonly offsetSeconds: number;
  /** Moments of the first recording that both hold, s. */
  readonly from: number;
  readonly to: number;
  /** Root mean square of what is left over short pieces that the fit did not use, s. */
  readonly residualSeconds: number;
  /** Median correlation of short pieces after the alignment, 0..1. */
  readonly likeness: number;
};

export type Mono = { readonly sampleRate: number; readonly samples: Float64Array };

const ENVELOPE_HZ = 200;
/** Pitch controls and unlocked decks: up to 4 % between the two. */
const MOST_RATIO = 0.04;
const COARSE_SECONDS = 40;

/** Course of loudness, 200 values a second: change of the logarithm against its surroundings, so that level does not matter. */
export function loudness({ sampleRate, samples }: Mono): Float64Array {
  const hop = sampleRate / ENVELOPE_HZ;
  const count = Math.floor(samples.length / hop);
  const level = new Float64Array(count);
  let overall = 0;
  for (let frame = 0; frame < count; frame++) {
    const [from, to] = [Math.floor(frame * hop), Math.floor((frame + 1) * hop)];
    let sum = 0;
    // Differences weigh the treble more: attacks are sharper there.
    for (let i = Math.max(1, from); i < to; i++) sum += (samples[i] - samples[i - 1]) ** 2;
    level[frame] = sum / (to - from);
    overall += level[frame] / count;
  }
  const logs = level.map((power) => Math.log(power + 1e-4 * overall + 1e-20));
  const surroundings = movingAverage(movingAverage(logs, 101), 101);
  return logs.map((value, i) => value - surroundings[i]);
}

const stretched = (signal: Float64Array, ratio: number): Float64Array =>
  Float64Array.from({ length: Math.floor((signal.length - 1) / ratio) }, (_, i) => {
    const at = i * ratio;
    const whole = Math.floor(at);
    return signal[whole] * (1 - at + whole) + signal[whole + 1] * (at - whole);
  });

type Guess = { readonly ratio: number; readonly offset: number; readonly score: number };

/** Best ratio and offset by loudness alone, good to some milliseconds; `score` is the correlation there. */
function coarse(a: Float64Array, b: Float64Array, check: () => void): Guess {
  const most = COARSE_SECONDS * ENVELOPE_HZ;
  const shortA = a.subarray(0, most);
  const size = powerOfTwoFrom(shortA.length + b.length * (1 + MOST_RATIO));
  const spectrumA = spectrum(shortA, size);
  const energy = (signal: Float64Array, from: number, to: number): number => {
    let sum = 0;
    for (let i = Math.max(0, from); i < Math.min(signal.length, to); i++) sum += signal[i] ** 2;
    return sum;
  };
  // At the ends of what is compared a step of the ratio moves by no more than three frames.
  const step = 6 / Math.max(400, Math.min(shortA.length, b.length));
  let best: Guess = { ratio: 1, offset: 0, score: 0 };
  for (let ratio = 1 - MOST_RATIO; ratio <= 1 + MOST_RATIO; ratio += step) {
    check();
    const other = stretched(b, ratio);
    const lags = correlate(spectrumA, spectrum(other, size));
    const candidates: number[] = [];
    for (let n = 0; n < size; n++)
      if (
        lags[n] > 0 &&
        (candidates.length < 3 || lags[n] > lags[candidates[2]]) &&
        lags[n] >= lags[(n + 1) % size]
      ) {
        candidates.push(n);
        candidates.sort((p, q) => lags[q] - lags[p]);
        candidates.length = Math.min(3, candidates.length);
      }
    for (const n of candidates) {
      const lag = n < size / 2 ? n : n - size;
      const [from, to] = [Math.max(0, -lag), Math.min(shortA.length, other.length - lag)];
      if (to - from < 2 * ENVELOPE_HZ) continue;
      const norm = Math.sqrt(energy(shortA, from, to) * energy(other, from + lag, to + lag));
      // A long overlap that fits is worth more than a short one that fits by chance.
      const score = (lags[n] / Math.max(norm, 1e-12)) * Math.min(1, (to - from) / (3 * ENVELOPE_HZ));
      if (score > best.score) best = { ratio, offset: (lag * ratio) / ENVELOPE_HZ, score };
    }
  }
  return best;
}

/** A place where a piece of the first recording fits the second one: s later than the map says, and how well, 0..1. */
type Fit = { readonly delay: number; readonly score: number };
type Piece = { readonly t: number; readonly fits: readonly Fit[] };
type Delay = { readonly t: number; readonly delay: number; readonly weight: number };

const PIECE_SECONDS = 0.2;
/** What both recordings hold well: no rumble, and not the treble, which is what may have changed. */
const BAND_HZ = [200, 8000] as const;
/** 1 would count every frequency alike (and noise with them), 0 let the loudest partial alone decide. */
const WHITENING = 0.5;
const MOST_FITS = 5;
/** Two recordings with noise 9 dB below the music still reach 0.33; different music stays near 0.2. */
const LEAST_LIKENESS = 0.28;

type Pair = {
  readonly a: Float64Array;
  readonly rateA: number;
  readonly b: Float64Array;
  readonly rateB: number;
};
type Range = { readonly from: number; readonly to: number; readonly hop: number; readonly most: number };

/** `count` values of the second recording where the map says that the first one's samples from `first` on lie. */
function mapped(pair: Pair, map: (t: number) => number, first: number, count: number): Float64Array {
  const { b, rateA, rateB } = pair;
  const out = new Float64Array(count);
  const STEP = 32;
  for (let i = 0; i < count; i += STEP) {
    const [start, end] = [map((first + i) / rateA) * rateB, map((first + i + STEP) / rateA) * rateB];
    for (let j = 0; j < STEP && i + j < count; j++)
      out[i + j] = valueAt(b, start + ((end - start) * j) / STEP);
  }
  return out;
}

/** Whitened cross-spectrum within the band, in place of `a`; returns the height that a perfect fit would have. */
function whitenedCross(a: Float64Array, b: Float64Array, binHz: number): number {
  const size = a.length / 2;
  let full = 0;
  for (let k = 0; k < size; k++) {
    const hz = Math.min(k, size - k) * binHz;
    const [ar, ai, br, bi] = [a[2 * k], a[2 * k + 1], b[2 * k], b[2 * k + 1]];
    const re = ar * br + ai * bi;
    const im = ar * bi - ai * br;
    const size2 = Math.hypot(re, im);
    const weight = hz < BAND_HZ[0] || hz > BAND_HZ[1] || size2 === 0 ? 0 : size2 ** -WHITENING;
    a[2 * k] = re * weight;
    a[2 * k + 1] = im * weight;
    full += size2 * weight;
  }
  return full / size;
}

/** Where each piece fits, by the peaks of its whitened correlation within `most` seconds around the map. */
function piecesOf(pair: Pair, map: (t: number) => number, range: Range, check: () => void): Piece[] {
  const { a, rateA } = pair;
  const count = Math.round(PIECE_SECONDS * rateA);
  const reach = Math.max(3, Math.ceil(range.most * rateA));
  const size = powerOfTwoFrom(count + 2 * reach + 2);
  const pieces: Piece[] = [];
  for (let t = range.from + PIECE_SECONDS / 2; t < range.to - PIECE_SECONDS / 2; t += range.hop) {
    check();
    const first = Math.round((t - PIECE_SECONDS / 2) * rateA);
    const piece = Float64Array.from({ length: count }, (_, i) => a[first + i] * hann(i / count));
    const total = count + 2 * reach;
    const other = mapped(pair, map, first - reach, total).map((value, i) => value * hann(i / total));
    const cross = spectrum(piece, size);
    const full = whitenedCross(cross, spectrum(other, size), rateA / size);
    const lags = inverse(cross);
    const fits: Fit[] = [];
    for (let lag = 1; lag < 2 * reach; lag++) {
      const [p, q, r] = [lags[lag - 1], lags[lag], lags[lag + 1]];
      if (!(q > p && q >= r && q > 0.15 * full)) continue;
      const vertex = (0.5 * (p - r)) / (p - 2 * q + r);
      fits.push({ delay: (lag - reach + vertex) / rateA, score: q / full });
    }
    fits.sort((x, y) => y.score - x.score);
    if (fits.length > 0) pieces.push({ t, fits: fits.slice(0, MOST_FITS) });
  }
  return pieces;
}

/**
 * One fit for each piece. A held note fits one period early nearly as well as in its place; so the whole chain is chosen
 * together: good fits that do not jump (dynamic programming). `still` is the jump per second that costs nothing much, s/s.
 */
function chainOf(pieces: readonly Piece[], still: number): Delay[] {
  const cost: number[][] = [];
  const from: number[][] = [];
  pieces.forEach((piece, i) => {
    cost.push([]);
    from.push([]);
    for (const fit of piece.fits) {
      const own = 1 - fit.score;
      if (i === 0) {
        cost[0].push(own);
        from[0].push(-1);
        continue;
      }
      const before = pieces[i - 1];
      const allowed = still * (piece.t - before.t) + 2e-5;
      let best = Infinity;
      let which = 0;
      before.fits.forEach((other, j) => {
        const jump = Math.min(1.5, (Math.abs(fit.delay - other.delay) / allowed) ** 2 * 0.1);
        if (cost[i - 1][j] + jump < best) {
          best = cost[i - 1][j] + jump;
          which = j;
        }
      });
      cost[i].push(best + own);
      from[i].push(which);
    }
  });
  const chain: Delay[] = [];
  let at = cost.length === 0 ? -1 : cost[cost.length - 1].indexOf(Math.min(...cost[cost.length - 1]));
  for (let i = pieces.length - 1; i >= 0; i--) {
    const fit = pieces[i].fits[at];
    chain.push({ t: pieces[i].t, delay: fit.delay, weight: fit.score ** 2 });
    at = from[i][at];
  }
  return chain.toReversed();
}

/** Line through delays that is not moved by a third of them being wrong: median of slopes, median of the rest. */
function robustLine(points: readonly Delay[]): { readonly at0: number; readonly slope: number } {
  const half = points.length >> 1;
  const slopes = points
    .slice(0, half)
    .map((p, i) => (points[i + half].delay - p.delay) / (points[i + half].t - p.t));
  const slope = median(slopes);
  return { at0: median(points.map((p) => p.delay - slope * p.t)), slope };
}

/** Local parabola, weights falling to 0 at `reach` seconds: follows wow, keeps noise out. */
function smoothed(points: readonly Delay[], t: number, reach: number): number {
  let [s0, s1, s2, s3, s4, y0, y1, y2] = [0, 0, 0, 0, 0, 0, 0, 0];
  for (const point of points) {
    const x = (point.t - t) / reach;
    if (Math.abs(x) >= 1) continue;
    const w = point.weight * (1 - x * x) ** 2;
    s0 += w;
    s1 += w * x;
    s2 += w * x * x;
    s3 += w * x ** 3;
    s4 += w * x ** 4;
    y0 += w * point.delay;
    y1 += w * x * point.delay;
    y2 += w * x * x * point.delay;
  }
  const det = s0 * (s2 * s4 - s3 * s3) - s1 * (s1 * s4 - s2 * s3) + s2 * (s1 * s3 - s2 * s2);
  if (Math.abs(det) > 1e-6 * s0 ** 3)
    return (y0 * (s2 * s4 - s3 * s3) - s1 * (y1 * s4 - s3 * y2) + s2 * (y1 * s3 - s2 * y2)) / det;
  if (s0 > 0) return y0 / s0;
  // A gap: the nearest piece that was found.
  return points.reduce((near, p) => (Math.abs(p.t - t) < Math.abs(near.t - t) ? p : near)).delay;
}

const KNOT = 0.05;

/** The map plus the smoothed delays, as a table that is read by cubic interpolation. */
function corrected(
  map: (t: number) => number,
  points: readonly Delay[],
  from: number,
  to: number,
  reach: number,
): (t: number) => number {
  const count = Math.ceil((to - from) / KNOT) + 4;
  const table = Float64Array.from({ length: count }, (_, i) =>
    smoothed(points, Math.min(to, Math.max(from, from + (i - 1) * KNOT)), reach),
  );
  return (t) => {
    const at = Math.max(1, Math.min(count - 3, (t - from) / KNOT + 1));
    const i = Math.min(count - 3, Math.floor(at));
    const x = at - i;
    const [p, q, r, s] = [table[i - 1], table[i], table[i + 1], table[i + 2]];
    const cubic = q + 0.5 * x * (r - p + x * (2 * p - 5 * q + 4 * r - s + x * (3 * (q - r) + s - p)));
    return map(t) + cubic;
  };
}

/** Pieces that lie far off their neighbours' line are not the same music (a click, a locked groove). */
function withoutStrays(points: readonly Delay[]): Delay[] {
  return points.filter((point, i) => {
    const near = points.slice(Math.max(0, i - 4), i + 5).map((p) => p.delay);
    const middle = median(near);
    const spread = median(near.map((d) => Math.abs(d - middle)));
    return Math.abs(point.delay - middle) <= 6 * spread + 2e-4;
  });
}

/** null when the two do not hold the same passage. `first` and `second` in mono; sampling rates may differ. */
export function alignRecordings(
  first: Mono,
  second: Mono,
  progress: (fraction: number) => void,
  check: () => void,
): Alignment | null {
  const guess = coarse(loudness(first), loudness(second), check);
  if (guess.score < 0.25) return null;
  progress(0.3);
  const pair: Pair = {
    a: first.samples,
    rateA: first.sampleRate,
    b: second.samples,
    rateB: second.sampleRate,
  };
  let map = (t: number): number => guess.offset + guess.ratio * t;
  const backwards = (s: number): number => (s - guess.offset) / guess.ratio;
  const from = Math.max(0, backwards(0)) + 0.03;
  const to = Math.min(pair.a.length / pair.rateA, backwards(pair.b.length / pair.rateB)) - 0.03;
  if (to - from < 2) return null;
  // Loudness leaves some frames; the first rounds take a line out, the later ones wow.
  for (const most of [0.03, 0.01]) {
    const points = chainOf(piecesOf(pair, map, { from, to, hop: 0.15, most }, check), 0.004);
    if (points.length < 8) return null;
    const { at0, slope } = robustLine(points);
    const before = map;
    map = (t) => before(t) + at0 + slope * t;
    progress(most === 0.03 ? 0.4 : 0.5);
  }
  const line = map;
  for (const [most, reach, still] of [
    [0.004, 0.5, 0.003],
    [0.0015, 0.3, 0.001],
    [0.0005, 0.25, 0.0005],
  ]) {
    const points = withoutStrays(chainOf(piecesOf(pair, map, { from, to, hop: 0.05, most }, check), still));
    if (points.length < 8) return null;
    map = corrected(map, points, from, to, reach);
    progress(0.6 + 0.05 / most / 500);
  }
  const left = chainOf(
    piecesOf(pair, map, { from: from + 0.03, to, hop: 0.17, most: 0.0005 }, check),
    0.0005,
  );
  const [t0, t1] = [from + 0.1 * (to - from), to - 0.1 * (to - from)];
  const expected = Math.floor((to - from - PIECE_SECONDS) / 0.17);
  if (left.length < Math.max(6, expected / 3)) return null;
  const likeness = median(left.map((p) => Math.sqrt(p.weight)));
  if (likeness < LEAST_LIKENESS) return null;
  return {
    timeInSecond: map,
    ratio: (line(t1) - line(t0)) / (t1 - t0),
    offsetSeconds: line(0),
    from,
    to,
    residualSeconds: Math.sqrt(left.reduce((sum, p) => sum + p.delay ** 2, 0) / left.length),
    likeness,
  };
}
