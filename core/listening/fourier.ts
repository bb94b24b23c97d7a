import FFT from 'fft.js';

/** Thin coat over the library: powers of two, typed arrays, one plan kept for each size. */
const plans = new Map<number, FFT>();

function planFor(size: number): FFT {
  let plan = plans.get(size);
  if (plan === undefined) {
    plan = new FFT(size);
    plans.set(size, plan);
  }
  return plan;
}

export const powerOfTwoFrom = (least: number): number => 2 ** Math.max(1, Math.ceil(Math.log2(least)));

/**
 * Power |X(k)|^2 of a real signal, k = 0 .. size/2. `samples` is zero-padded to `size`, a power of two.
 */
export function powerSpectrum(samples: ArrayLike<number>, size: number): Float64Array {
  const input = new Float64Array(size);
  for (let i = 0; i < Math.min(size, samples.length); i++) input[i] = samples[i];
  const out = new Float64Array(2 * size);
  planFor(size).realTransform(out, input);
  const power = new Float64Array(size / 2 + 1);
  for (let k = 0; k <= size / 2; k++) power[k] = out[2 * k] ** 2 + out[2 * k + 1] ** 2;
  return power;
}

/** Spectrum of a real signal, zero-padded to `size`: interleaved real and imaginary parts. */
export function spectrum(samples: ArrayLike<number>, size: number): Float64Array {
  const input = new Float64Array(size);
  for (let i = 0; i < Math.min(size, samples.length); i++) input[i] = samples[i];
  const out = new Float64Array(2 * size);
  const plan = planFor(size);
  plan.realTransform(out, input);
  plan.completeSpectrum(out);
  return out;
}

/**
 * Cross-correlation r(lag) = sum over n of a(n) b(n + lag) of two real signals, by their spectra (of one size, padded
 * so that nothing wraps). Index lag for lag >= 0, size + lag below zero.
 */
export function correlate(spectrumA: Float64Array, spectrumB: Float64Array): Float64Array {
  const size = spectrumA.length / 2;
  const product = new Float64Array(2 * size);
  for (let k = 0; k < 2 * size; k += 2) {
    const [ar, ai, br, bi] = [spectrumA[k], spectrumA[k + 1], spectrumB[k], spectrumB[k + 1]];
    product[k] = ar * br + ai * bi;
    product[k + 1] = ar * bi - ai * br;
  }
  return inverse(product);
}

/** Real part of the inverse transform of an interleaved spectrum. */
export function inverse(spectrum: Float64Array): Float64Array {
  const size = spectrum.length / 2;
  const out = new Float64Array(2 * size);
  planFor(size).inverseTransform(out, spectrum);
  const real = new Float64Array(size);
  for (let n = 0; n < size; n++) real[n] = out[2 * n];
  return real;
}
