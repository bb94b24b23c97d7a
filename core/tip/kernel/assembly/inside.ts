import { put } from './memory';
import { cdf, density, normalBoth } from './normal';

/** Ramp and hump of the inside by its depth, five numbers each; see `interior.ts`. d/dw is left to the caller. */
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
