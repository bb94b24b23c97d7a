import { normalCdf, normalDensity, WIDE } from './blurred-edge.ts';

/**
 * Depth profiles of a part's inside as a picture shows them: unblurred, a ramp min(z/D, 1) and a hump 4 u (1 - u),
 * u = min(z/D, 1), of the depth z below the edge, both 0 outside; here blurred with PSF = (1+w) G(sigma) - w G(1.6
 * sigma). Multiplying an unblurred profile with the blurred silhouette instead would leave out the light that the
 * inside sheds over the edge; a lit part's rim, dark at the edge, then looks like a wider blur of an edge further in.
 * With A1(z) = z Phi + sigma phi and A2(z) = (z^2 + sigma^2) Phi + z sigma phi (blurred z+ and z+^2), v = z - D:
 *   ramp = (A1(z) - A1(v)) / D,   hump = 4 (A1(z) + A1(v)) / D - 4 (A2(z) - A2(v)) / D^2.
 */
export const RAMP = 0;
export const HUMP = 4;
/** Value, d/dz, d/dsigma, d/dw of the ramp, then the same of the hump. */
export const PROFILE_SIZE = 8;

function add(z: number, depth: number, sigma: number, factor: number, out: Float64Array): void {
  const v = z - depth;
  const phiZ = normalDensity(z / sigma);
  const phiV = normalDensity(v / sigma);
  const cdfZ = normalCdf(z / sigma);
  const cdfV = normalCdf(v / sigma);
  const a1z = z * cdfZ + sigma * phiZ;
  const a1v = v * cdfV + sigma * phiV;
  const a2z = (z * z + sigma * sigma) * cdfZ + z * sigma * phiZ;
  const a2v = (v * v + sigma * sigma) * cdfV + v * sigma * phiV;
  const inv = factor / depth;
  const inv2 = (4 * inv) / depth;
  out[0] += inv * (a1z - a1v);
  out[1] += inv * (cdfZ - cdfV);
  out[2] += inv * (phiZ - phiV);
  out[4] += 4 * inv * (a1z + a1v) - inv2 * (a2z - a2v);
  out[5] += 4 * inv * (cdfZ + cdfV) - inv2 * 2 * (a1z - a1v);
  out[6] += 4 * inv * (phiZ + phiV) - inv2 * 2 * sigma * (cdfZ - cdfV);
}

/** Fills `out` (PROFILE_SIZE) for a depth z, um (negative outside). `depth` is D, um. */
export function depthProfiles(
  sigma: number,
  weight: number,
  depth: number,
): (z: number, out: Float64Array) => void {
  const narrow = new Float64Array(PROFILE_SIZE);
  const wide = new Float64Array(PROFILE_SIZE);
  return (z, out) => {
    narrow.fill(0);
    wide.fill(0);
    add(z, depth, sigma, 1, narrow);
    add(z, depth, WIDE * sigma, 1, wide);
    for (const i of [RAMP, HUMP]) {
      out[i] = (1 + weight) * narrow[i] - weight * wide[i];
      out[i + 1] = (1 + weight) * narrow[i + 1] - weight * wide[i + 1];
      out[i + 2] = (1 + weight) * narrow[i + 2] - weight * WIDE * wide[i + 2];
      out[i + 3] = narrow[i] - wide[i];
    }
  };
}
