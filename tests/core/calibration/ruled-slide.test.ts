import { existsSync } from 'node:fs';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import {
  calibrateFromRuledSlide,
  pixelShape,
  type RuledSlideScale,
} from '../../../core/calibration/index.ts';
import {
  randomRuledSlideSpec,
  renderRuledSlide,
  type RuledSlideOptions,
  type RuledSlideSpec,
} from '../../../fixtures/render/ruled-slide.ts';
import { randomCantilever } from '../../../fixtures/render/cantilever-random.ts';
import { throughFile } from '../../../fixtures/render/encode.ts';

/** SLIDE_TRIALS=100 makes the long run. */
const TRIALS = Number(process.env['SLIDE_TRIALS'] ?? 10);

async function calibrate(spec: RuledSlideSpec): Promise<{ scale: RuledSlideScale; truth: number }> {
  const picture = await throughFile(renderRuledSlide(spec));
  const outcome = calibrateFromRuledSlide({ picture, pitchUm: spec.pitchUm, pitchRelativeStandard: 0 });
  if (!outcome.ok) throw new Error(`seed ${spec.seed}: ${outcome.reason.message}`);
  return { scale: outcome.value, truth: picture.truth.pitchUm / picture.truth.pitchPx };
}

const codes = (scale: RuledSlideScale): string[] => scale.warnings.map((w) => w.code);

describe('scale from a rendered ruled slide', () => {
  it('any orientation, uneven light, dirt, every fifth line missing: within 0.05 %, interval covers', async () => {
    const rows: { seed: number; errorPercent: number; expandedPercent: number; lines: number }[] = [];
    for (let seed = 100; seed < 100 + TRIALS; seed++) {
      const spec = randomRuledSlideSpec(seed, { everyFifthMissing: true });
      const { scale, truth } = await calibrate(spec);
      rows.push({
        seed,
        errorPercent: 100 * (scale.umPerPx / truth - 1),
        expandedPercent: (100 * scale.expandedUmPerPx) / truth,
        lines: scale.linesUsed,
      });
      // The angle across the lines is known modulo half a turn.
      const off = (scale.acrossDeg - spec.pose.rotationDeg) / 180;
      expect(Math.abs(off - Math.round(off)) * 180).toBeLessThan(0.02);
      expect(scale.linesMissing).toBeGreaterThan(0);
    }
    const rms = Math.sqrt(rows.reduce((sum, r) => sum + r.errorPercent ** 2, 0) / rows.length);
    console.table([
      {
        trials: rows.length,
        rmsPercent: rms,
        worstPercent: Math.max(...rows.map((r) => Math.abs(r.errorPercent))),
      },
    ]);
    for (const row of rows) expect(Math.abs(row.errorPercent), `seed ${row.seed}`).toBeLessThan(0.05);
    const covered = rows.filter((r) => Math.abs(r.errorPercent) <= r.expandedPercent).length;
    // The slide is exact here, so only the lines' scatter counts: 95 % less four binomial deviations.
    expect(covered / rows.length).toBeGreaterThan(0.95 - 4 * Math.sqrt((0.95 * 0.05) / rows.length));
  }, 300_000);

  it('warns when the lens bends the lines, and not otherwise', async () => {
    const base = {
      ...randomRuledSlideSpec(5, { pitchUm: 100 }),
      firstLine: -60,
      lastLine: 60,
      missing: [],
      dirt: 0,
    };
    const spec: RuledSlideSpec = {
      ...base,
      umPerPx: 2.5,
      lineWidthUm: 20,
      lineLengthUm: 3000,
      pose: { ...base.pose, rotationDeg: 4 },
    };
    const bent = await calibrate({ ...spec, camera: { ...spec.camera, distortion: 0.03 } });
    // r (1 + k r^2): over the frame's corner 3 %, a line at the side bends by several pixels.
    expect(codes(bent.scale)).toContain('lines-bend');
    expect(codes(bent.scale)).toContain('scale-varies');
    expect(bent.scale.lineBendPx).toBeGreaterThan(2);
    const plain = await calibrate(spec);
    expect(codes(plain.scale)).toEqual([]);
    expect(plain.scale.lineBendPx).toBeLessThan(0.2);
    // The scale is that in the middle, with the lens taken out; the corner is moved by 3 % inwards.
    expect(Math.abs(bent.scale.umPerPx / bent.truth - 1)).toBeLessThan(0.0005);
    expect(Math.abs(bent.scale.umPerPx - bent.truth)).toBeLessThan(bent.scale.expandedUmPerPx);
    expect(Math.abs(bent.scale.cornerPercent.value + 3)).toBeLessThan(0.1);
    expect(plain.scale.cornerPercent.value).toBe(0);
  }, 60_000);

  it('does not mind wide lines, steep light and a gap between them', async () => {
    const base = randomRuledSlideSpec(30, { pitchUm: 1000 });
    const { scale, truth } = await calibrate({
      ...base,
      umPerPx: 10,
      lineWidthUm: 300,
      lineLengthUm: 6000,
      firstLine: -5,
      lastLine: 5,
      missing: [-3, 2],
      dirt: 0,
      camera: { ...base.camera, gradient: { amount: 0.2, directionDeg: 30 } },
    });
    // 30 px wide lines, the light falling by a fifth: a running mean for the light drew them by 0.3 px.
    expect(scale.scatterPx).toBeLessThan(0.03);
    expect(Math.abs(scale.umPerPx / truth - 1)).toBeLessThan(0.0002);
  }, 60_000);

  it('of a bright ruling on dark ground is the same', async () => {
    const spec = { ...randomRuledSlideSpec(8), inverted: true };
    const { scale, truth } = await calibrate(spec);
    expect(Math.abs(scale.umPerPx / truth - 1)).toBeLessThan(0.0005);
  }, 60_000);

  it('finds pixels that are not square from two turned pictures', async () => {
    const at = async (rotationDeg: number, options: RuledSlideOptions) => {
      const base = randomRuledSlideSpec(12, { pitchUm: 100, ...options });
      const { scale } = await calibrate({
        ...base,
        umPerPx: 2.5,
        lineWidthUm: 20,
        missing: [],
        pose: { ...base.pose, rotationDeg },
      });
      return scale;
    };
    const oblong = pixelShape(await at(10, { pixelAspect: 1.012 }), await at(85, { pixelAspect: 1.012 }))!;
    expect(Math.abs(oblong.aspect - 1.012)).toBeLessThan(0.0005);
    expect(oblong.square).toBe(false);
    const square = pixelShape(await at(10, {}), await at(85, {}))!;
    expect(square.square).toBe(true);
    expect(pixelShape(await at(10, {}), await at(-12, {}))).toBeNull();
  }, 120_000);
});

describe('no scale', () => {
  const width = 640;
  const height = 480;
  const empty = { width, height, channels: 1 as const, data: new Uint8Array(width * height).fill(180) };

  it('from an empty field, from noise, from one line', () => {
    const noise = empty.data.map((_, i) => 100 + ((i * 7919 + ((i * i) % 97)) % 61));
    const one = empty.data.slice();
    for (let y = 0; y < height; y++) one.fill(30, y * width + 300, y * width + 306);
    for (const data of [empty.data, noise, one])
      expect(calibrateFromRuledSlide({ picture: { ...empty, data }, pitchUm: 100 }).ok).toBe(false);
  });

  it('from unevenly spaced lines', () => {
    const data = empty.data.slice();
    // Gaps grow by a tenth: no even rule goes through these.
    for (let x = 20, gap = 11; x < width - 10; x += Math.round((gap *= 1.13)))
      for (let y = 0; y < height; y++) data.fill(30, y * width + x, y * width + x + 4);
    const outcome = calibrateFromRuledSlide({ picture: { ...empty, data }, pitchUm: 100 });
    expect(outcome.ok ? 'answered' : outcome.reason.code).toBe('lines-irregular');
  });

  it("from photographs of anything else (scikit-image's pictures)", async () => {
    const folder = '/usr/lib/python3/dist-packages/skimage/data';
    if (!existsSync(folder)) {
      console.warn('not run: no scale from photographs (python3-skimage is not installed)');
      return;
    }
    for (const name of [
      'camera.png',
      'coins.png',
      'moon.png',
      'page.png',
      'text.png',
      'astronaut.png',
      'gravel.png',
    ]) {
      const { data, info } = await sharp(`${folder}/${name}`)
        .flatten()
        .toColourspace('b-w')
        .raw()
        .toBuffer({ resolveWithObject: true });
      const picture = {
        width: info.width,
        height: info.height,
        channels: 1 as const,
        data: new Uint8Array(data),
      };
      expect(calibrateFromRuledSlide({ picture, pitchUm: 100 }).ok, name).toBe(false);
    }
  });

  it('from lit cantilevers, whose highlights and edges run side by side', async () => {
    for (const seed of [23, 7019, 7022]) {
      const picture = await throughFile(randomCantilever(seed, { light: 'ring' }));
      expect(calibrateFromRuledSlide({ picture, pitchUm: 10 }).ok, `seed ${seed}`).toBe(false);
    }
  }, 60_000);

  it('for a pitch that is no distance', () => {
    expect(() => calibrateFromRuledSlide({ picture: empty, pitchUm: 0 })).toThrow(/pitchUm/);
  });
});
