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
 */
export const RAMP = 0;
export const HUMP = 5;
/** Value, d/dz, d/dsigma, d/dw, d/de of the ramp, then the same of the hump. */
export const PROFILE_SIZE = 10;

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
  if (!slopes) return;
  const bend = 4 * inv * (left * cdfZ + cdfV) - 8 * inv * inv * (a1z - a1v);
  out[HUMP + 1] = 4 * q * (1 - q) * byStep + bend;
  out[HUMP + 2] =
    4 * q * (1 - q) * byStepSigma + 4 * inv * (left * phiZ + phiV) - 8 * inv * inv * sigma * (cdfZ - cdfV);
  out[HUMP + 4] = bend;
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
    for (let i = RAMP; i <= (wanted.hump ? HUMP : RAMP); i += HUMP - RAMP) {
      out[i] = (1 + weight) * narrow[i] - weight * wide[i];
      if (!wanted.slopes) continue;
      out[i + 1] = (1 + weight) * narrow[i + 1] - weight * wide[i + 1];
      out[i + 2] = (1 + weight) * narrow[i + 2] - weight * WIDE * wide[i + 2];
      out[i + 3] = narrow[i] - wide[i];
      out[i + 4] = (1 + weight) * narrow[i + 4] - weight * wide[i + 4];
    }
  };
}
