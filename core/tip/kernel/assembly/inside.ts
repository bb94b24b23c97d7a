import { put } from './memory';
import { cdf, density, normalBoth } from './normal';

/** Ramp, hump and rim of the inside by its depth, five numbers each; see `interior.ts`. d/dw is left to the caller. */
export function depthProfile(
  z: f64,
  e: f64,
  depth: f64,
  sigma: f64,
  slopes: bool,
  hump: bool,
  out: usize,
): void {
  const q = e / depth;
  const v = z + e - depth;
  normalBoth(z / sigma);
  const cdfZ = cdf;
  const phiZ = density;
  normalBoth(v / sigma);
  const cdfV = cdf;
  const phiV = density;
  const a1z = z * cdfZ + sigma * phiZ;
  const a1v = v * cdfV + sigma * phiV;
  const inv = 1 / depth;
  const byStep = phiZ / sigma;
  const byStepSigma = (-phiZ * z) / (sigma * sigma);
  put(out, 0, q * cdfZ + inv * (a1z - a1v));
  if (slopes) {
    put(out, 1, q * byStep + inv * (cdfZ - cdfV));
    put(out, 2, q * byStepSigma + inv * (phiZ - phiV));
    put(out, 4, inv * (cdfZ - cdfV));
  }
  if (!hump) return;
  const a2z = (z * z + sigma * sigma) * cdfZ + z * sigma * phiZ;
  const a2v = (v * v + sigma * sigma) * cdfV + v * sigma * phiV;
  const left = 1 - 2 * q;
  put(out, 5, 4 * q * (1 - q) * cdfZ + 4 * inv * (left * a1z + a1v) - 4 * inv * inv * (a2z - a2v));
  rim(z, e, depth, sigma, cdfZ, phiZ, slopes, out);
  if (!slopes) return;
  const bend = 4 * inv * (left * cdfZ + cdfV) - 8 * inv * inv * (a1z - a1v);
  put(out, 6, 4 * q * (1 - q) * byStep + bend);
  put(
    out,
    7,
    4 * q * (1 - q) * byStepSigma + 4 * inv * (left * phiZ + phiV) - 8 * inv * inv * sigma * (cdfZ - cdfV),
  );
  put(out, 9, bend);
}

const RIM_PIECES: i32 = 5;

function rim(z: f64, e: f64, depth: f64, sigma: f64, cdfZ: f64, phiZ: f64, slopes: bool, out: usize): void {
  let value: f64 = 0;
  let byZ: f64 = 0;
  let bySigma: f64 = 0;
  let byE: f64 = 0;
  let before: f64 = 0;
  for (let i = 0; i <= RIM_PIECES; i++) {
    const steep: f64 = i < RIM_PIECES ? <f64>RIM_PIECES / (<f64>(2 * i + 1) * depth) : 0;
    const change = steep - before;
    before = steep;
    const from = (<f64>(i * i) / <f64>(RIM_PIECES * RIM_PIECES)) * depth - e;
    if (from > 0) {
      const v = z - from;
      normalBoth(v / sigma);
      value += change * (v * cdf + sigma * density);
      byZ += change * cdf;
      bySigma += change * density;
      byE += change * cdf;
    } else {
      value += change * (-from * cdfZ + z * cdfZ + sigma * phiZ);
      byZ += change * ((-from * phiZ) / sigma + cdfZ);
      bySigma += change * ((from * phiZ * z) / (sigma * sigma) + phiZ);
      byE += change * cdfZ;
    }
  }
  put(out, 10, value);
  if (!slopes) return;
  put(out, 11, byZ);
  put(out, 12, bySigma);
  put(out, 14, byE);
}
