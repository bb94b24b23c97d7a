/** Reading a signal between its samples: Kaiser-windowed sinc, 32 taps, flat to four fifths of half the sampling rate. */
const HALF_TAPS = 16;
const BETA = 8;
const STEPS = 512;

function besselI0(x: number): number {
  let sum = 1;
  let term = 1;
  for (let k = 1; term > 1e-12 * sum; k++) {
    term *= (x / (2 * k)) ** 2;
    sum += term;
  }
  return sum;
}

/** One row of taps for each of STEPS places between two samples. */
const TAPS: Float64Array = (() => {
  const taps = new Float64Array((STEPS + 1) * 2 * HALF_TAPS);
  const norm = besselI0(BETA);
  for (let step = 0; step <= STEPS; step++)
    for (let tap = 0; tap < 2 * HALF_TAPS; tap++) {
      const x = tap - HALF_TAPS + 1 - step / STEPS;
      const edge = 1 - (x / HALF_TAPS) ** 2;
      const window = edge <= 0 ? 0 : besselI0(BETA * Math.sqrt(edge)) / norm;
      const sinc = x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
      taps[step * 2 * HALF_TAPS + tap] = sinc * window;
    }
  return taps;
})();

/** Value at a fractional sample number; 0 outside the signal. */
export function valueAt(signal: Float64Array, at: number): number {
  const whole = Math.floor(at);
  const step = (at - whole) * STEPS;
  const row = Math.floor(step);
  const share = step - row;
  const first = row * 2 * HALF_TAPS;
  let sum = 0;
  for (let tap = 0; tap < 2 * HALF_TAPS; tap++) {
    const i = whole + tap - HALF_TAPS + 1;
    if (i < 0 || i >= signal.length) continue;
    const weight = TAPS[first + tap] * (1 - share) + TAPS[first + 2 * HALF_TAPS + tap] * share;
    sum += weight * signal[i];
  }
  return sum;
}
