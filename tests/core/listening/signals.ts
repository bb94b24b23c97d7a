import { createRandom } from '../../../fixtures/render/random.ts';

/** Sounds of known make, for the checks: tones with stated harmonics, speed error, wow and noise; passages at two speeds. */
export type ToneMake = {
  readonly sampleRate: number;
  readonly seconds: number;
  readonly hz: number;
  /** Amplitudes of the 2nd, 3rd ... harmonic as shares of the fundamental. */
  readonly harmonics: readonly number[];
  /** 0.01: one per cent fast. */
  readonly speedError?: number;
  /** Peak share of the speed at 0.556 Hz (a centre hole that is off) and at 7 Hz. */
  readonly wow?: number;
  readonly flutter?: number;
  /** Ratio of the fundamental to white noise over the whole band, dB (both root mean square). */
  readonly snrDb?: number;
  readonly amplitude?: number;
  readonly seed?: number;
};

export const NOTHING = { progress: () => undefined, check: () => undefined };

/** Playing time of the record at a moment of the recording, s. */
export function recordTime(t: number, speedError: number, wow: number, flutter: number): number {
  const slow = 2 * Math.PI * 0.556;
  const fast = 2 * Math.PI * 7;
  return (
    (1 + speedError) * t +
    (wow / slow) * (1 - Math.cos(slow * t)) +
    (flutter / fast) * (1 - Math.cos(fast * t))
  );
}

export function makeTone(make: ToneMake): Float64Array {
  const { sampleRate, hz, harmonics, speedError = 0, wow = 0, flutter = 0, snrDb, amplitude = 0.3 } = make;
  const random = createRandom(make.seed ?? 1);
  const sigma = snrDb === undefined ? 0 : (amplitude / Math.SQRT2) * 10 ** (-snrDb / 20);
  return Float64Array.from({ length: Math.round(make.seconds * sampleRate) }, (_, n) => {
    const phase = 2 * Math.PI * hz * recordTime(n / sampleRate, speedError, wow, flutter);
    const distorted = harmonics.reduce(
      (sum, share, i) => sum + share * Math.cos((i + 2) * phase + 0.7 * (i + 1)),
      Math.cos(phase),
    );
    return amplitude * distorted + sigma * random.normal();
  });
}

/** Shares for the 2nd to 5th harmonic whose root sum of squares is `thd`. */
export function harmonicsFor(thd: number): number[] {
  const shape = [0.7, 0.6, 0.3, 0.25];
  const norm = Math.hypot(...shape);
  return shape.map((s) => (thd * s) / norm);
}

/**
 * A made-up passage as a function of the record's own time: struck notes with overtones that die away, and bursts of
 * many closely spaced partials up to 12 kHz for cymbals. Partials only, so that any moment can be computed exactly.
 */
export type Passage = readonly { at: number; hz: number; amplitude: number; decay: number; phase: number }[];

export function makePassage(seconds: number, seed: number): Passage {
  const random = createRandom(seed);
  const partials: { at: number; hz: number; amplitude: number; decay: number; phase: number }[] = [];
  for (let at = -0.3; at < seconds; at += random.uniform(0.12, 0.45)) {
    const root = 110 * 2 ** (random.integer(0, 36) / 12);
    for (let k = 1; k <= 10 && k * root < 9000; k++)
      partials.push({
        at,
        hz: k * root * (1 + 2e-4 * k * k),
        amplitude: random.uniform(0.3, 1) / k,
        decay: random.uniform(2, 6) + k,
        phase: random.uniform(0, 6.28),
      });
    if (random.chance(0.6))
      for (let k = 0; k < 30; k++)
        partials.push({
          at: at + random.uniform(0, 0.02),
          hz: random.uniform(4000, 12_500),
          amplitude: 0.06,
          decay: random.uniform(8, 20),
          phase: random.uniform(0, 6.28),
        });
  }
  return partials;
}

/** Samples of a passage, played by `timeOf` (moment of the recording to moment of the record). `treble` scales above 5 kHz. */
export function playPassage(
  passage: Passage,
  sampleRate: number,
  seconds: number,
  timeOf: (t: number) => number,
  noise: { readonly sigma: number; readonly seed: number },
  treble = 1,
): Float64Array {
  const samples = new Float64Array(Math.round(seconds * sampleRate));
  const times = Float64Array.from(samples, (_, n) => timeOf(n / sampleRate));
  for (const { at, hz, amplitude, decay, phase } of passage) {
    const level = amplitude * (hz > 5000 ? treble : 1) * 0.1;
    // Times grow: binary search for the attack.
    let [low, high] = [0, samples.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (times[middle] < at) low = middle + 1;
      else high = middle;
    }
    const end = at + 7 / decay;
    for (let n = low; n < samples.length && times[n] < end; n++) {
      const t = times[n] - at;
      samples[n] +=
        level * Math.min(1, t / 0.002) * Math.exp(-decay * t) * Math.sin(2 * Math.PI * hz * t + phase);
    }
  }
  const random = createRandom(noise.seed);
  return samples.map((x) => x + noise.sigma * random.normal());
}
