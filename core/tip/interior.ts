import { WIDE } from './blurred-edge.ts';
import { normalBoth } from './normal-table.ts';

/**
 * Depth profiles of a part's inside as a picture shows them: unblurred, a ramp u and a hump 4 u (1 - u) with
 * u = min((z + e)/D, 1) of the depth z below the edge, both 0 outside; here blurred with PSF = (1+w) G(sigma) - w G(1.6
 * sigma). Multiplying an unblurred profile with the blurred silhouette instead would leave out the light that the
 * inside sheds over the edge; a lit part's rim, dark at the edge, then looks like a wider blur of an edge further in.
 *
 * e is what a flat has taken away above the place as far as the shading knows: a body of revolution is dark towards its
 * limb because the surface turns away there, and a flat cuts that dark limb off, so right behind the cut the part is as
 * bright as it was at that depth before. With A1(z) = z Phi + sigma phi and A2(z) = (z^2 + sigma^2) Phi + z sigma phi
 * (blurred z+ and z+^2), v = z + e - D, q = e/D:
 *   ramp = q Phi(z) + (A1(z) - A1(v)) / D
 *   hump = 4 q (1 - q) Phi(z) + 4 ((1 - 2q) A1(z) + A1(v)) / D - 4 (A2(z) - A2(v)) / D^2.
 *
 * The rim is sqrt(u): just below the limb of a rounded surface of radius R the cosine between normal and line of sight is
 * sqrt(2 z / R), and light from the camera's side grows with it. Neither ramp nor hump begins so steeply; without the
 * rim that beginning is taken for an edge further in, where the limb is still there, and not where a flat cut it off.
 * It is drawn in straight pieces, sum of m_i (u - u_i)+, within 0.05 of the root and far closer once blurred:
 *   rim = sum of m_i / D times  A1(z + e - u_i D)  where u_i D > e,  (e - u_i D) Phi(z) + A1(z)  elsewhere.
 */
export const RAMP = 0;
export const HUMP = 5;
export const RIM = 10;
/** Value, d/dz, d/dsigma, d/dw, d/de of the ramp, then the same of hump and rim. */
export const PROFILE_SIZE = 15;

/** The rim's root is drawn in so many straight pieces, which end at u = (i / RIM_PIECES)^2. */
const RIM_PIECES = 5;

/** Which of its numbers a caller wants; what is not wanted stays as it was. */
export type Wanted = { readonly slopes: boolean; readonly hump: boolean };

const normal = { cdf: 0, density: 0 };

function add(
  z: number,
  e: number,
  depth: number,
  sigma: number,
  { slopes, hump }: Wanted,
  out: Float64Array,
): void {
  const q = e / depth;
  const v = z + e - depth;
  normalBoth(z / sigma, normal);
  const { cdf: cdfZ, density: phiZ } = normal;
  normalBoth(v / sigma, normal);
  const { cdf: cdfV, density: phiV } = normal;
  const a1z = z * cdfZ + sigma * phiZ;
  const a1v = v * cdfV + sigma * phiV;
  const inv = 1 / depth;
  const byStep = phiZ / sigma;
  const byStepSigma = (-phiZ * z) / (sigma * sigma);
  out[RAMP] = q * cdfZ + inv * (a1z - a1v);
  if (slopes) {
    out[RAMP + 1] = q * byStep + inv * (cdfZ - cdfV);
    out[RAMP + 2] = q * byStepSigma + inv * (phiZ - phiV);
    out[RAMP + 4] = inv * (cdfZ - cdfV);
  }
  if (!hump) return;
  const a2z = (z * z + sigma * sigma) * cdfZ + z * sigma * phiZ;
  const a2v = (v * v + sigma * sigma) * cdfV + v * sigma * phiV;
  const left = 1 - 2 * q;
  out[HUMP] = 4 * q * (1 - q) * cdfZ + 4 * inv * (left * a1z + a1v) - 4 * inv * inv * (a2z - a2v);
  addRim(z, e, depth, sigma, { cdf: cdfZ, density: phiZ }, slopes, out);
  if (!slopes) return;
  const bend = 4 * inv * (left * cdfZ + cdfV) - 8 * inv * inv * (a1z - a1v);
  out[HUMP + 1] = 4 * q * (1 - q) * byStep + bend;
  out[HUMP + 2] =
    4 * q * (1 - q) * byStepSigma + 4 * inv * (left * phiZ + phiV) - 8 * inv * inv * sigma * (cdfZ - cdfV);
  out[HUMP + 4] = bend;
}

function addRim(
  z: number,
  e: number,
  depth: number,
  sigma: number,
  here: { readonly cdf: number; readonly density: number },
  slopes: boolean,
  out: Float64Array,
): void {
  let value = 0;
  let byZ = 0;
  let bySigma = 0;
  let byE = 0;
  for (let i = 0, before = 0; i <= RIM_PIECES; i++) {
    // pieces grow like 1, 3, 5 ..., each a fifth higher; after the last the profile stays level
    const steep = i < RIM_PIECES ? RIM_PIECES / ((2 * i + 1) * depth) : 0;
    const change = steep - before;
    before = steep;
    const from = ((i * i) / (RIM_PIECES * RIM_PIECES)) * depth - e;
    if (from > 0) {
      const v = z - from;
      normalBoth(v / sigma, normal);
      value += change * (v * normal.cdf + sigma * normal.density);
      byZ += change * normal.cdf;
      bySigma += change * normal.density;
      byE += change * normal.cdf;
    } else {
      value += change * (-from * here.cdf + z * here.cdf + sigma * here.density);
      byZ += change * ((-from * here.density) / sigma + here.cdf);
      bySigma += change * ((from * here.density * z) / (sigma * sigma) + here.density);
      byE += change * here.cdf;
    }
  }
  out[RIM] = value;
  if (!slopes) return;
  out[RIM + 1] = byZ;
  out[RIM + 2] = bySigma;
  out[RIM + 4] = byE;
}

/**
 * Fills `out` (PROFILE_SIZE) with what is `wanted` for a depth z, um (negative outside), and e, um, 0..D. `depth` is D, um.
 */
export function depthProfiles(
  sigma: number,
  weight: number,
  depth: number,
  wanted: Wanted = { slopes: true, hump: true },
): (z: number, e: number, out: Float64Array) => void {
  const narrow = new Float64Array(PROFILE_SIZE);
  const wide = new Float64Array(PROFILE_SIZE);
  return (z, e, out) => {
    add(z, e, depth, sigma, wanted, narrow);
    add(z, e, depth, WIDE * sigma, wanted, wide);
    for (let i = RAMP; i <= (wanted.hump ? RIM : RAMP); i += HUMP - RAMP) {
      out[i] = (1 + weight) * narrow[i] - weight * wide[i];
      if (!wanted.slopes) continue;
      out[i + 1] = (1 + weight) * narrow[i + 1] - weight * wide[i + 1];
      out[i + 2] = (1 + weight) * narrow[i + 2] - weight * WIDE * wide[i + 2];
      out[i + 3] = narrow[i] - wide[i];
      out[i + 4] = (1 + weight) * narrow[i + 4] - weight * wide[i + 4];
    }
  };
}
