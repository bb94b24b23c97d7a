import { cdfs, densities, normalPair } from './normal';

/**
 * Ramp, hump and rim of the inside by its depth, five numbers each; see `interior.ts`. d/dw is left to the caller. Of both
 * widths of the blur side by side, `sigma` holding the two: `out` gets fifteen pairs.
 */
export function depthProfiles(
  depthBelow: f64,
  e: f64,
  depth: f64,
  sigma: v128,
  slopes: bool,
  hump: bool,
  out: usize,
): void {
  const q = e / depth;
  const inv = 1 / depth;
  const z = f64x2.splat(depthBelow);
  const v = f64x2.splat(depthBelow + e - depth);
  normalPair(f64x2.div(z, sigma));
  const cdfZ = cdfs;
  const phiZ = densities;
  normalPair(f64x2.div(v, sigma));
  const cdfV = cdfs;
  const phiV = densities;
  const a1z = f64x2.add(f64x2.mul(z, cdfZ), f64x2.mul(sigma, phiZ));
  const a1v = f64x2.add(f64x2.mul(v, cdfV), f64x2.mul(sigma, phiV));
  const byStep = f64x2.div(phiZ, sigma);
  const variance = f64x2.mul(sigma, sigma);
  const byStepSigma = f64x2.div(f64x2.mul(f64x2.neg(phiZ), z), variance);
  const both = times(inv, f64x2.sub(cdfZ, cdfV));
  v128.store(out, f64x2.add(times(q, cdfZ), times(inv, f64x2.sub(a1z, a1v))));
  if (slopes) {
    v128.store(out, f64x2.add(times(q, byStep), both), 16);
    v128.store(out, f64x2.add(times(q, byStepSigma), times(inv, f64x2.sub(phiZ, phiV))), 32);
    v128.store(out, both, 64);
  }
  if (!hump) return;
  const left = 1 - 2 * q;
  const half = 4 * q * (1 - q);
  const bent = 8 * inv * inv;
  const zPhi = f64x2.mul(f64x2.mul(z, sigma), phiZ);
  const vPhi = f64x2.mul(f64x2.mul(v, sigma), phiV);
  const a2z = f64x2.add(f64x2.mul(f64x2.add(f64x2.mul(z, z), variance), cdfZ), zPhi);
  const a2v = f64x2.add(f64x2.mul(f64x2.add(f64x2.mul(v, v), variance), cdfV), vPhi);
  const humps = f64x2.add(times(half, cdfZ), times(4 * inv, f64x2.add(times(left, a1z), a1v)));
  v128.store(out, f64x2.sub(humps, times(4 * inv * inv, f64x2.sub(a2z, a2v))), 80);
  rim(z, e, depth, sigma, cdfZ, phiZ, slopes, out);
  if (!slopes) return;
  const sums = times(4 * inv, f64x2.add(times(left, cdfZ), cdfV));
  const bend = f64x2.sub(sums, times(bent, f64x2.sub(a1z, a1v)));
  v128.store(out, f64x2.add(times(half, byStep), bend), 96);
  const bySigma = times(4 * inv, f64x2.add(times(left, phiZ), phiV));
  const spread = f64x2.mul(times(bent, sigma), f64x2.sub(cdfZ, cdfV));
  v128.store(out, f64x2.sub(f64x2.add(times(half, byStepSigma), bySigma), spread), 112);
  v128.store(out, bend, 144);
}

function times(factor: f64, pair: v128): v128 {
  return f64x2.mul(f64x2.splat(factor), pair);
}

const RIM_PIECES: i32 = 5;

function rim(
  z: v128,
  e: f64,
  depth: f64,
  sigma: v128,
  cdfZ: v128,
  phiZ: v128,
  slopes: bool,
  out: usize,
): void {
  let value = f64x2.splat(0);
  let byZ = f64x2.splat(0);
  let bySigma = f64x2.splat(0);
  let byE = f64x2.splat(0);
  let before: f64 = 0;
  for (let i = 0; i <= RIM_PIECES; i++) {
    const steep: f64 = i < RIM_PIECES ? <f64>RIM_PIECES / (<f64>(2 * i + 1) * depth) : 0;
    const change = steep - before;
    before = steep;
    const from = (<f64>(i * i) / <f64>(RIM_PIECES * RIM_PIECES)) * depth - e;
    if (from > 0) {
      const v = f64x2.sub(z, f64x2.splat(from));
      normalPair(f64x2.div(v, sigma));
      const c = cdfs;
      const phi = densities;
      value = f64x2.add(value, times(change, f64x2.add(f64x2.mul(v, c), f64x2.mul(sigma, phi))));
      byZ = f64x2.add(byZ, times(change, c));
      bySigma = f64x2.add(bySigma, times(change, phi));
      byE = f64x2.add(byE, times(change, c));
    } else {
      const step = times(-from, cdfZ);
      const rise = f64x2.add(f64x2.add(step, f64x2.mul(z, cdfZ)), f64x2.mul(sigma, phiZ));
      value = f64x2.add(value, times(change, rise));
      byZ = f64x2.add(byZ, times(change, f64x2.add(f64x2.div(times(-from, phiZ), sigma), cdfZ)));
      const shed = f64x2.div(f64x2.mul(times(from, phiZ), z), f64x2.mul(sigma, sigma));
      bySigma = f64x2.add(bySigma, times(change, f64x2.add(shed, phiZ)));
      byE = f64x2.add(byE, times(change, cdfZ));
    }
  }
  v128.store(out, value, 160);
  if (!slopes) return;
  v128.store(out, byZ, 176);
  v128.store(out, bySigma, 192);
  v128.store(out, byE, 224);
}
