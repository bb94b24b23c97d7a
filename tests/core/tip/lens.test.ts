import { describe, expect, it } from 'vitest';
import { frameOf } from '../../../core/edge/read-edges.ts';
import { flanksTurnedByLens, outwardByLens } from '../../../core/tip/lens.ts';
import { prepareCapture } from '../../../core/tip/prepare.ts';
import { shankTurn } from '../../../core/tip/shank-turn.ts';
import { fitSingle, type SingleFit } from '../../../core/tip/single.ts';
import { renderFront, type FrontSpec } from '../../../fixtures/render/front.ts';

/**
 * What a lens does to edges: radial distortion, x' = x (1 + k1 r^2), first term of the model of D. C. Brown, "Decentering
 * distortion of lenses", Photogrammetric Engineering 32 (1966), which OpenCV's calibration uses as well.
 */

const spec = (distortion: number, pose: FrontSpec['pose']): FrontSpec => ({
  seed: 5,
  interiorSeed: 5,
  widthPx: 640,
  heightPx: 480,
  umPerPx: 1,
  tip: {
    radiusUm: 18,
    ellipticity: 0,
    halfAngleLeftDeg: 27,
    halfAngleRightDeg: 27,
    shankWidthUm: 160,
    flats: { left: { widthUm: 0 }, right: { widthUm: 0 } },
  },
  pose,
  light: 'backlit',
  camera: { blurSigmaUm: 1.2, distortion },
});
const fitted = (one: FrontSpec): SingleFit => {
  const prepared = prepareCapture(renderFront(one), one.umPerPx);
  if (!prepared.ok) throw new Error(prepared.reason.message);
  return fitSingle(prepared.value);
};

describe('a lens that bends lines', () => {
  const upright = fitted(spec(0, { tipXPx: 320, tipYPx: 400, rotationDeg: 0 }));
  const frame = frameOf(upright.prepared, upright.fitted.p);
  const turned = (x: number, y: number): [number, number] => [
    frame.c * x + frame.s * y,
    frame.c * y - frame.s * x,
  ];
  const r2 = (639 ** 2 + 479 ** 2) / 4;

  it.each([
    [80, -300, 1, 0],
    [-80, -200, -1, 0],
    [0, 18, 0, 1],
    [60, -100, Math.cos(0.47), Math.sin(0.47)],
  ])('shows an edge at (%d, %d) um further out, as far as its law says', (x, y, nx, ny) => {
    const [du, dv] = turned(x, y);
    const [nu, nv] = turned(nx, ny);
    const [u, v] = [frame.x0 - 319.5 + du, frame.y0 - 239.5 + dv];
    const expected = ((u * u + v * v) / r2) * (u * nu + v * nv);
    const got = outwardByLens(upright.prepared, frame, { x, y, nx, ny });
    // half the diagonal is counted from the outer pixels' middles or rims
    expect(Math.abs(got - expected)).toBeLessThan(0.006 * Math.abs(expected) + 0.2);
  });

  it('does not turn a tip that points at the middle', () => {
    expect(Math.abs(flanksTurnedByLens(upright))).toBeLessThan(0.01);
  });

  it.each([
    { tipXPx: 470, tipYPx: 350, rotationDeg: 20 },
    { tipXPx: 150, tipYPx: 330, rotationDeg: -35 },
    { tipXPx: 480, tipYPx: 160, rotationDeg: 150 },
  ])(
    'turns a tip at ($tipXPx, $tipYPx), turned by $rotationDeg degrees, as a fit of its picture finds it',
    (pose) => {
      const k = 0.005;
      // the renderer takes a picture's place to the scene's, so that a picture of its -k is one of k here
      const [straight, bent] = [fitted(spec(0, pose)), fitted(spec(-k, pose))];
      // a single picture does not tell a turned part from one whose flanks differ: the turn is that of both flanks' mean
      const turn = ({ fitted: { p } }: SingleFit): number => p[10] + (p[2] - p[3]) / 2;
      const found = turn(bent) - turn(straight);
      const expected = k * flanksTurnedByLens(straight);
      expect(Math.abs(expected)).toBeGreaterThan(0.0002);
      expect(Math.abs(found - expected)).toBeLessThan(0.2 * Math.abs(expected) + 0.0002);
      // nothing has turned but the picture of the flanks, and the shank tells
      const seen = shankTurn(straight, bent);
      if (!seen) throw new Error('no turn');
      const since = bent.fitted.p[10] - straight.fitted.p[10];
      const ofPart = since + seen.part.radians + seen.part.follows * (found - since - seen.radians);
      expect(Math.abs(ofPart)).toBeLessThan(0.6 * Math.abs(found));
      expect(Math.abs(ofPart)).toBeLessThan(2.5 * seen.part.standard);
    },
  );
});
