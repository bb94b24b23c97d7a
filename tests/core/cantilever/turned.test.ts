import { describe, expect, it } from 'vitest';
import { faceEdge, type ShankProfile } from '../../../core/cantilever/turned.ts';
import { normalCdf } from '../../../core/uncertainty/distributions.ts';

/** Light across a shank of 40 px, blurred by 1.6 px, with a little even ripple. */
function profile(light: (t: number) => number): ShankProfile {
  const width = 40;
  const u = Float64Array.from({ length: 2 * width + 1 }, (_, i) => i / 2);
  return { u, width, grey: u.map((v) => light((2 * v) / width - 1) + 0.002 * Math.sin(1.7 * v)) };
}
const FIELD = 0.1;
const SIGMA = 1.6;
const soft = SIGMA / 20;

/** A square rod turned by t shows its faces at cos t and sin t: their edge lies at (cos t - sin t)/(cos t + sin t). */
const faces = (turnDeg: number, one: number, other: number): ShankProfile => {
  const t = (turnDeg * Math.PI) / 180;
  const at = (Math.cos(t) - Math.sin(t)) / (Math.cos(t) + Math.sin(t));
  return profile((v) => one + (other - one) * normalCdf((v - at) / soft));
};

/** The same in two parts of the shank's height, as an edge along it is. */
const twice = (one: ShankProfile): ShankProfile[] => [one, one];

describe('a diamond turned about its own axis', () => {
  it('shows two faces, and by how much it is turned', () => {
    for (const turnDeg of [20, 30, 44]) {
      const found = faceEdge(twice(faces(turnDeg, 0.6, 0.35)), FIELD, SIGMA);
      expect(found, `${turnDeg}`).not.toBeNull();
      expect(Math.abs(found!.turnDeg - turnDeg)).toBeLessThan(4);
    }
    expect(faceEdge(twice(faces(30, 0.6, 0.35)), FIELD, SIGMA)!.brighter).toBe(-1);
    expect(faceEdge(twice(faces(30, 0.3, 0.55)), FIELD, SIGMA)!.brighter).toBe(1);
  });

  it('is not seen in one face, a round rod lit from the side, a bright line, or a middle that is off', () => {
    const sound: Record<string, (t: number) => number> = {
      'one face': () => 0.5,
      'a face lit from one side': (t) => 0.5 + 0.15 * t,
      'a round rod': (t) => 0.3 + 0.3 * Math.sqrt(Math.max(0, 1 - 0.9 * t * t)) * (1 + 0.4 * t),
      'a bright line': (t) => 0.45 + 0.25 * Math.exp(-0.5 * ((t - 0.3) / 0.09) ** 2),
      'a round rod with two lamps mirrored in it': (t) =>
        0.44 + 0.26 * Math.exp(-(((t + 0.35) / 0.2) ** 2)) + 0.2 * Math.exp(-(((t - 0.35) / 0.2) ** 2)),
      'a clear round rod before light from behind': (t) => 0.21 + 0.09 * (1 - (t - 0.03) ** 2) ** 3,
      'rims, the middle off by a pixel': (t) => 0.35 + 0.3 * Math.exp(-(((t - 0.05) / 0.6) ** 2)),
    };
    for (const [name, light] of Object.entries(sound))
      expect(faceEdge(twice(profile(light)), FIELD, SIGMA), name).toBeNull();
  });

  it('is not seen where only one half of the height steps, or both step elsewhere or the other way round', () => {
    const even = profile(() => 0.5);
    const one = faces(30, 0.6, 0.35);
    expect(faceEdge([one, even], FIELD, SIGMA), 'glue on one half').toBeNull();
    expect(faceEdge([one, faces(44, 0.6, 0.35)], FIELD, SIGMA), 'a slanting course').toBeNull();
    expect(faceEdge([one, faces(30, 0.35, 0.6)], FIELD, SIGMA), 'the other way round').toBeNull();
    expect(faceEdge([], FIELD, SIGMA), 'a shank too short').toBeNull();
    const cloudy = [0.5, 0.42, 0.35, 0.2].map((other) => faces(30, 0.6, other));
    expect(faceEdge(cloudy, FIELD, SIGMA), 'clouds').toBeNull();
    // Glue on the lowest part, or the point in the last one, hides nothing of the others.
    expect(faceEdge([even, one, one, one], FIELD, SIGMA)).not.toBeNull();
    expect(faceEdge([one, one, one, even], FIELD, SIGMA)).not.toBeNull();
    expect(faceEdge([one, even, one, one], FIELD, SIGMA), 'a gap').toBeNull();
  });

  it('is seen in faces that differ by little, and not in a strip that the blur swallows', () => {
    expect(faceEdge(twice(faces(40, 0.78, 0.84)), FIELD, SIGMA)).not.toBeNull();
    expect(faceEdge(twice(faces(16, 0.6, 0.35)), FIELD, SIGMA)).not.toBeNull();
    expect(faceEdge(twice(faces(5, 0.6, 0.35)), FIELD, SIGMA)).toBeNull();
  });

  it('cannot be told from faces that look alike', () => {
    expect(faceEdge(twice(faces(30, 0.5, 0.5)), FIELD, SIGMA)).toBeNull();
  });
});
