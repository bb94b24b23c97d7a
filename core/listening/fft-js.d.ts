/** The part of fft.js that this house uses; the package ships no declarations. Checked in tests/core/listening. */
declare class FFT {
  /** `size`: a power of two above 1. */
  constructor(size: number);
  /** Interleaved real and imaginary parts in and out, 2 size numbers each; the two must be different arrays. */
  transform(out: Float64Array, data: Float64Array): void;
  /** Divides by size. */
  inverseTransform(out: Float64Array, data: Float64Array): void;
  /** `size` real numbers in; the first half of the spectrum out, interleaved. */
  realTransform(out: Float64Array, data: Float64Array): void;
  completeSpectrum(spectrum: Float64Array): void;
}
export default FFT;
