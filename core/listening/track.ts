import { powerOfTwoFrom, powerSpectrum } from './fourier.ts';
import { blackmanHarris, movingAverage } from './windows.ts';

/**
 * Follows a test tone through its speed errors, wow and flutter. Harmonics are then looked for at whole multiples of the
 * phase that was found, so that a record played 1 % fast, or a warped one, measures like a perfect one.
 */
export type Track = {
  /** Phase of the fundamental, radians, growing; one for each sample from `from` on. */
  readonly phase: Float64Array;
  /** Amplitude of the fundamental, in the signal's unit. */
  readonly amplitude: Float64Array;
  /** First sample that belongs to the track. */
  readonly from: number;
};

/** How far from its nominal value a tone is looked for: pitch controls reach 8 %. */
const SEARCH = 0.1;

/** Strongest line within 10 % of the nominal frequency, Hz; null when it does not stand 20 dB above what is around. */
export function findTone(signal: Float64Array, sampleRate: number, nominalHz: number): number | null {
  // About a fifth of a second around the middle: wow then smears the line over less than a bin or two.
  const size = Math.min(
    powerOfTwoFrom(sampleRate * Math.max(0.15, 60 / nominalHz)),
    powerOfTwoFrom(signal.length + 1) / 2,
  );
  const start = Math.max(0, (signal.length - size) >> 1);
  const windowed = signal
    .slice(start, start + size)
    .map((value, i, all) => value * blackmanHarris(i / all.length));
  const power = powerSpectrum(windowed, size);
  const bin = (hz: number): number => Math.round((hz * size) / sampleRate);
  const [low, high] = [
    Math.max(5, bin(nominalHz * (1 - SEARCH))),
    Math.min(bin(nominalHz * (1 + SEARCH)), size / 2 - 2),
  ];
  let best = low;
  for (let k = low; k <= high; k++) if (power[k] > power[best]) best = k;
  const around = [];
  for (let k = Math.max(1, low >> 1); k < Math.min(size / 2, high + (low >> 1)); k++)
    if (Math.abs(k - best) > 12) around.push(power[k]);
  around.sort((a, b) => a - b);
  const floor = around[around.length >> 1] ?? 0;
  if (!(power[best] > 0) || power[best] < 100 * floor) return null;
  const [a, b, c] = [power[best - 1], power[best], power[best + 1]].map((p) => Math.log(Math.max(p, 1e-300)));
  const shift = a - 2 * b + c === 0 ? 0 : (0.5 * (a - c)) / (a - 2 * b + c);
  return ((best + Math.max(-0.5, Math.min(0.5, shift))) * sampleRate) / size;
}

/** Cycles that one of the four averages spans: whole cycles, so that harmonics and offset fall on its zeros. */
const CYCLES = 8;

/**
 * Demodulates with the assumed phase, smooths, and adds what is left: twice, the second time along the phase just found.
 * Follows changes up to about 1/20 of the tone's frequency within CYCLES cycles: wow, and flutter up to some 15 Hz at 1 kHz.
 */
export function trackTone(
  signal: Float64Array,
  sampleRate: number,
  frequencyHz: number,
  check: () => void = () => undefined,
): Track {
  const n = signal.length;
  const phase = new Float64Array(n);
  for (let i = 0; i < n; i++) phase[i] = (2 * Math.PI * frequencyHz * i) / sampleRate;
  const span = (Math.round((CYCLES * sampleRate) / frequencyHz) >> 1) * 2 + 1;
  const amplitude = new Float64Array(n);
  for (let pass = 0; pass < 3; pass++) {
    check();
    let re = new Float64Array(n);
    let im = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      re[i] = signal[i] * Math.cos(phase[i]);
      im[i] = -signal[i] * Math.sin(phase[i]);
    }
    for (let times = 0; times < 4; times++) {
      re = movingAverage(re, span) as Float64Array<ArrayBuffer>;
      im = movingAverage(im, span) as Float64Array<ArrayBuffer>;
    }
    let before = 0;
    let turns = 0;
    for (let i = 0; i < n; i++) {
      const angle = Math.atan2(im[i], re[i]);
      if (angle - before > Math.PI) turns--;
      else if (angle - before < -Math.PI) turns++;
      before = angle;
      phase[i] += angle + 2 * Math.PI * turns;
      amplitude[i] = 2 * Math.hypot(re[i], im[i]);
    }
  }
  // Near the ends the averages are short and let harmonics through.
  const margin = Math.min(2 * span, n >> 2);
  return {
    phase: phase.slice(margin, n - margin),
    amplitude: amplitude.slice(margin, n - margin),
    from: margin,
  };
}

/** Longest stretch in which the tone keeps within 3 dB of its middle level: leaves out the lead-in and the next band. */
export function steadyStretch(track: Track): { readonly from: number; readonly to: number } {
  const { amplitude } = track;
  // The level that most of the track has: its upper quartile, so that silence on both sides does not pull it down.
  const sample = amplitude.filter((_, i) => i % 64 === 0).sort();
  const usual = sample[Math.floor(sample.length * 0.75)] ?? 0;
  let best = { from: 0, to: 0 };
  let from = 0;
  for (let i = 0; i <= amplitude.length; i++) {
    const steady =
      i < amplitude.length && amplitude[i] > usual * Math.SQRT1_2 && amplitude[i] < usual * Math.SQRT2;
    if (steady) continue;
    if (i - from > best.to - best.from) best = { from, to: i };
    from = i + 1;
  }
  return best;
}

/** Mean frequency in Hz and the root mean square of its departure from that, per cent, over part of a track. */
export function frequencyOf(
  { phase }: Track,
  sampleRate: number,
  from: number,
  to: number,
): { readonly meanHz: number; readonly wowPercent: number } {
  const meanHz = ((phase[to - 1] - phase[from]) * sampleRate) / (2 * Math.PI * (to - 1 - from));
  const step = Math.max(1, Math.round(sampleRate / 200));
  let sum = 0;
  let count = 0;
  for (let i = from; i + step < to; i += step) {
    const hz = ((phase[i + step] - phase[i]) * sampleRate) / (2 * Math.PI * step);
    sum += (hz / meanHz - 1) ** 2;
    count++;
  }
  return { meanHz, wowPercent: count === 0 ? 0 : 100 * Math.sqrt(sum / count) };
}
