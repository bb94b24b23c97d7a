import { describe, expect, it } from 'vitest';
import { examineCapture } from '../../../core/index.ts';
import { greyOfRgba, type Plane } from '../../../core/live/planes.ts';
import { readLight, type LightReading } from '../../../core/live/reading.ts';
import { renderFront, type FrontSpec } from '../../../fixtures/render/front.ts';
import { liveSpec, rgbaOf } from './frames.ts';

const SIZE = { widthPx: 640, heightPx: 480 };
const at = (rotationDeg: number) => ({ tipXPx: 320, tipYPx: 240, rotationDeg });
const sharpness = (blurSigmaUm: number) => ({ blurSigmaUm, fullWellElectrons: 5000, readNoiseElectrons: 6 });
const spec = (part: Partial<FrontSpec> = {}) => liveSpec({ ...SIZE, pose: at(-8), ...part });

function planeOf(from: FrontSpec): Plane {
  const picture = renderFront(from);
  return greyOfRgba(rgbaOf(picture), picture.width, picture.height);
}
function read(plane: Plane): LightReading {
  const reading = readLight(plane);
  if (!reading.ok) throw new Error(reading.reason.message);
  return reading.value;
}
const wrapped = (degrees: number): number => ((((degrees + 180) % 360) + 360) % 360) - 180;
const degrees = (radians: number): number => (radians * 180) / Math.PI;

describe('the light reading of a frame', () => {
  it.each([0, 35, 90, 160, -60, -125])('finds pose and shape, tip turned by %i degrees', (rotationDeg) => {
    const { flanks } = read(planeOf(spec({ pose: at(rotationDeg) })));
    expect(Math.abs(wrapped(degrees(flanks.rotation) - rotationDeg))).toBeLessThan(0.1);
    expect(Math.hypot(flanks.xPx - 320, flanks.yPx - 240)).toBeLessThan(0.6);
    expect(Math.abs(flanks.radiusPx - 18)).toBeLessThan(0.5);
    expect(Math.abs(degrees(flanks.halfLeft) - 27)).toBeLessThan(0.2);
  });

  it.each([1.2, 2, 3, 4.5])('measures the edge width of a blur of %f um', (blurSigmaUm) => {
    const { edgePx } = read(planeOf(spec({ camera: sharpness(blurSigmaUm) })));
    // 10-90 % of a Gaussian edge = 2.5631 sigma (mathematics); the pixel's own width adds 1/12 to the variance.
    const expected = 2.5631 * Math.sqrt(blurSigmaUm ** 2 + 1 / 12);
    expect(edgePx).toBeGreaterThan(0.93 * expected);
    expect(edgePx).toBeLessThan(1.12 * expected);
  });

  it('is not led astray by wear: flats leave pose and edge width where they were', () => {
    const tip = { ...spec().tip, flats: { left: { widthUm: 12 }, right: { widthUm: 9 } } };
    const fresh = read(planeOf(spec()));
    const worn = read(planeOf(spec({ tip })));
    expect(Math.abs(degrees(worn.flanks.rotation - fresh.flanks.rotation))).toBeLessThan(0.05);
    expect(Math.abs(worn.flanks.vertexX - fresh.flanks.vertexX)).toBeLessThan(0.2);
    expect(Math.abs(worn.flanks.vertexY - fresh.flanks.vertexY)).toBeLessThan(0.2);
    expect(worn.edgePx! / fresh.edgePx!).toBeCloseTo(1, 1);
  });

  it.each([1.2, 2, 4.5])(
    'states about the same smallest flat as examining the picture would, blur %f um',
    async (blurSigmaUm) => {
      const picture = renderFront(spec({ camera: sharpness(blurSigmaUm) }));
      const scale = { umPerPx: 1, standardUmPerPx: 0 };
      const control = { progress: () => undefined, check: () => undefined, now: () => 0 };
      const examined = await examineCapture({ view: 'front', picture, scale }, control);
      if (!examined.ok || examined.flats === undefined) throw new Error('not examined');
      const { limitPx } = read(greyOfRgba(rgbaOf(picture), picture.width, picture.height));
      const stated = examined.flats.left.detectionLimitUm;
      expect(limitPx! / stated).toBeGreaterThan(0.8);
      expect(limitPx! / stated).toBeLessThan(1.25);
    },
  );

  it('sees noise and clipping as they are', () => {
    const usual = read(planeOf(spec()));
    // Shot noise of 5000 electrons at the field's level, with the read noise: about 3 grey levels of 255.
    expect(255 * usual.noise).toBeGreaterThan(2.5);
    expect(255 * usual.noise).toBeLessThan(3.7);
    expect(usual.clipped).toBeLessThan(0.001);
    const bright = read(planeOf(spec({ camera: { ...sharpness(1.6), exposure: 1.6 } })));
    expect(bright.clipped).toBeGreaterThan(0.3);
  });

  it('reads a frame of 5 megapixels with its small tip', () => {
    const { flanks } = read(
      planeOf(
        spec({ widthPx: 2592, heightPx: 1944, pose: { tipXPx: 1300, tipYPx: 1200, rotationDeg: 170 } }),
      ),
    );
    expect(Math.abs(wrapped(degrees(flanks.rotation) - 170))).toBeLessThan(0.1);
    expect(Math.hypot(flanks.xPx - 1300, flanks.yPx - 1200)).toBeLessThan(0.6);
  });

  it('follows a part lit from the front', () => {
    const { flanks, edgePx } = read(planeOf(spec({ light: 'ring' })));
    expect(Math.abs(wrapped(degrees(flanks.rotation) + 8))).toBeLessThan(0.6);
    expect(edgePx).not.toBeNull();
  });

  it('refuses an empty field and a tip that is cut off, with a sentence', () => {
    const empty = { width: 640, height: 480, data: new Float32Array(640 * 480).fill(0.7) };
    expect(readLight(empty)).toMatchObject({ ok: false, reason: { code: 'tip-not-found' } });
    const cut = readLight(planeOf(spec({ pose: { tipXPx: 320, tipYPx: 478, rotationDeg: 0 } })));
    expect(cut.ok).toBe(false);
  });
});
