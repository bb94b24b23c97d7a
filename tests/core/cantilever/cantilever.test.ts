import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { measureCantilever, type DecodedPicture } from '../../../core/index.ts';
import { bendChange, skewAgainst } from '../../../core/cantilever/index.ts';
import { randomCantileverSpec } from '../../../fixtures/render/cantilever-random.ts';
import { type CantileverSpec, renderCantilever } from '../../../fixtures/render/cantilever.ts';
import { randomFrontPair } from '../../../fixtures/render/front-random.ts';
import { cantileverReportSchema } from '../../../shared/index.ts';
import { type CantileverTrial, plainControl, summarise, tryCantilever } from './laboratory.ts';

/** CANTILEVER_TRIALS=100 makes the long run; the table is printed either way. */
const TRIALS = Number(process.env['CANTILEVER_TRIALS'] ?? 12);
const FIRST_SEED = 4000;

const measure = (picture: DecodedPicture, spec: Pick<CantileverSpec, 'view' | 'umPerPx'>) =>
  measureCantilever(
    { view: spec.view, picture, scale: { umPerPx: spec.umPerPx, standardUmPerPx: 0.001 * spec.umPerPx } },
    plainControl,
  );

/** One even, ring-lit or backlit specimen whose parts can be changed one by one. */
function specimen(change: Partial<CantileverSpec> = {}): CantileverSpec {
  return {
    ...randomCantileverSpec(77, {
      view: 'side',
      light: 'backlit',
      bendDeg: 5,
      rotationDeg: 20,
      diamond: 'present',
    }),
    ...change,
  };
}

describe('cantilevers of the laboratory', () => {
  const bent: CantileverTrial[] = [];
  const straight: CantileverTrial[] = [];
  beforeAll(async () => {
    for (let k = 0; k < TRIALS; k++) bent.push(await tryCantilever(FIRST_SEED + k));
    for (let k = 0; k < TRIALS / 2; k++)
      straight.push(await tryCantilever(FIRST_SEED + 500 + k, { bendDeg: 0 }));
    console.table([
      summarise(
        '0-12 degrees, backlit',
        bent.filter((t) => t.light === 'backlit'),
      ),
      summarise(
        '0-12 degrees, ring-lit',
        bent.filter((t) => t.light === 'ring'),
      ),
      summarise('straight', straight),
    ]);
  }, 600_000);

  it('are all answered, within 0.3 degrees, and the interval covers', () => {
    const all = summarise('all', [...bent, ...straight]);
    expect(all.refused).toBe(0);
    expect(all.worstDeg).toBeLessThan(0.3);
    // The bar is 95 %; with n trials four binomial deviations less may turn up by chance.
    expect(all.coverage).toBeGreaterThan(0.95 - 4 * Math.sqrt((0.95 * 0.05) / all.trials));
    expect(all.medianUDeg).toBeLessThan(0.2);
    expect(all.wrongWay).toBe(0);
    expect(all.straightnessCoverage).toBeGreaterThan(0.95 - 4 * Math.sqrt((0.95 * 0.05) / all.trials));
  });

  it('of which no straight one is called bent', () => {
    for (const { report, seed } of straight) {
      expect(report.ok, `seed ${seed}`).toBe(true);
      if (!report.ok) continue;
      expect(report.cantilever.bendToward, `seed ${seed}`).toBe('none');
      expect(report.suspicions.map((s) => s.kind)).not.toContain('bent-cantilever');
    }
  });

  it('show whether the diamond is there', () => {
    expect(summarise('all', [...bent, ...straight]).diamondWrong).toBe(0);
  });
});

describe('a cantilever', () => {
  it('has the same bend in every quadrant and mirrored, and the turn is seen going from root to tip', async () => {
    for (const [rotationDeg, mirrored] of [
      [-170, false],
      [-100, true],
      [-30, true],
      [45, false],
      [90, true],
    ] as const) {
      const base = randomCantileverSpec(78, { view: 'side', light: 'backlit', bendDeg: 4, rotationDeg });
      const spec = { ...base, pose: { ...base.pose, mirrored } };
      const report = await measure(renderCantilever(spec), spec);
      if (!report.ok) throw new Error(`${rotationDeg}: ${report.reason.message}`);
      expect(cantileverReportSchema.safeParse(report).success).toBe(true);
      expect(Math.abs(report.cantilever.bendAngleDeg.value - 4)).toBeLessThan(0.2);
      // Positive is towards +y, which lies to the right of the way unless mirrored.
      expect(report.cantilever.bendToward).toBe(mirrored ? 'left' : 'right');
    }
  }, 90_000);

  it.each(['missing', 'leaning'] as const)(
    'with its diamond %s is said to be so, from the side only',
    async (state) => {
      const base = specimen({ bendDeg: 0 });
      const spec = { ...base, diamond: { ...base.diamond, state, leanDeg: 18 } };
      const side = await measure(renderCantilever(spec), spec);
      const above = await measure(renderCantilever({ ...spec, view: 'above' }), { ...spec, view: 'above' });
      if (!side.ok || !above.ok) throw new Error('expected answers');
      expect(side.suspicions.map((s) => s.kind)).toEqual([`${state}-diamond`]);
      expect(above.suspicions).toEqual([]);
      expect(above.warnings.map((w) => w.code)).toContain('diamond-not-judged');
    },
  );

  it('needs no scale for its angle, and says what the lengths then mean', async () => {
    const spec = specimen();
    const report = await measureCantilever(
      { view: 'side', picture: renderCantilever(spec), scale: null },
      plainControl,
    );
    if (!report.ok) throw new Error(report.reason.message);
    expect(Math.abs(report.cantilever.bendAngleDeg.value - 5)).toBeLessThan(0.2);
    expect(report.cantilever.lengthUm).toBeCloseTo(100, 6);
    expect(report.unit).toBe('percent-of-length');
    expect(report.warnings.map((w) => w.code)).toContain('scale-missing');
  });

  it('of 16 bits and in colour is measured as well', async () => {
    const spec = specimen();
    const picture = renderCantilever({ ...spec, camera: { ...spec.camera, mosaic: false } });
    const wide = Uint16Array.from(picture.data, (v) => v * 257);
    const colour = new Uint8Array(picture.data.length * 3);
    picture.data.forEach((v, i) => colour.fill(v, 3 * i, 3 * i + 3));
    const grey = await measure(picture, spec);
    for (const other of [
      await measure({ ...picture, data: wide }, spec),
      await measure({ ...picture, channels: 3, data: colour }, spec),
    ]) {
      if (!grey.ok || !other.ok) throw new Error('expected answers');
      expect(other.cantilever.bendAngleDeg.value).toBeCloseTo(grey.cantilever.bendAngleDeg.value, 5);
    }
  });

  it('has a skew against a line that the person gave', () => {
    const axis = Array.from({ length: 12 }, (_, i): [number, number] => [
      10 * i,
      100 - 10 * i * Math.tan(0.1),
    ]);
    // 0.1 rad upwards on screen is anticlockwise: 5.73 degrees; the line's sense does not matter.
    expect(skewAgainst(axis, { from: [0, 0], to: [50, 0] }, 0.05).value).toBeCloseTo(5.7296, 3);
    expect(skewAgainst(axis, { from: [50, 0], to: [0, 0] }, 0.05).value).toBeCloseTo(5.7296, 3);
    expect(skewAgainst(axis, { from: [0, 0], to: [0, 50] }, 0.05).value).toBeCloseTo(-84.2704, 3);
    expect(skewAgainst(axis, { angleDeg: 185 }, 0.05).value).toBeCloseTo(0.7296, 3);
    // Two points of 1 px over 50 px: sqrt(2)/50 rad = 1.62 degrees, twice with the axis' own 0.05.
    expect(skewAgainst(axis, { from: [0, 0], to: [50, 0] }, 0.05).expanded).toBeCloseTo(3.243, 2);
  });

  it('changes against its baseline with both uncertainties', () => {
    const bend = (value: number, bendToward: string) => ({
      bendAngleDeg: { value, expanded: 0.3 },
      bendToward,
    });
    expect(bendChange(bend(1, 'left'), bend(2.5, 'left')).value).toBeCloseTo(-1.5, 12);
    expect(bendChange(bend(1, 'left'), bend(2, 'right')).value).toBeCloseTo(3, 12);
    expect(bendChange({ ...bend(0.1, 'none'), signedBendDeg: -0.1 }, bend(2, 'right')).value).toBeCloseTo(
      2.1,
    );
    expect(bendChange(bend(0.1, 'none'), bend(2, 'right')).expanded).toBeCloseTo(0.3 * Math.SQRT2, 12);
  });

  it('stops when the person cancels', async () => {
    const spec = specimen();
    const control = {
      ...plainControl,
      check: () => {
        throw new Error('cancelled here');
      },
    };
    await expect(
      measureCantilever({ view: 'side', picture: renderCantilever(spec), scale: null }, control),
    ).rejects.toThrow('cancelled here');
  });
});

describe('no answer', () => {
  const code = async (picture: DecodedPicture, view: 'side' | 'front' = 'side') => {
    const report = await measureCantilever(
      { view, picture, scale: { umPerPx: 1, standardUmPerPx: null } },
      plainControl,
    );
    return report.ok ? `answered ${JSON.stringify(report.cantilever)}` : report.reason.code;
  };

  it('to an empty field, noise, the wrong view, or a diamond seen from the front', async () => {
    const width = 640;
    const height = 480;
    const even = new Uint8Array(width * height).fill(180);
    const noise = even.map((_, i) => 100 + ((i * 7919) % 61));
    expect(await code({ width, height, channels: 1, data: even })).toBe('cantilever-not-found');
    expect(await code({ width, height, channels: 1, data: noise })).toBe('cantilever-not-found');
    expect(await code(renderCantilever(specimen()), 'front')).toBe('cantilever-not-found');
    for (const seed of [2, 7])
      expect(await code(randomFrontPair(seed).baseline)).toBe('cantilever-not-found');
  });

  it('to a rod that leaves the picture on both sides', async () => {
    const width = 800;
    const height = 600;
    const data = new Uint8Array(width * height).fill(200);
    for (let y = 280; y < 330; y++) data.fill(20, y * width, (y + 1) * width);
    expect(await code({ width, height, channels: 1, data })).toBe('tip-outside-frame');
  });

  it("to photographs of anything else (scikit-image's pictures)", async () => {
    const folder = '/usr/lib/python3/dist-packages/skimage/data';
    if (!existsSync(folder)) {
      console.warn('not run: photographs of anything else (python3-skimage is not installed)');
      return;
    }
    const names = readdirSync(folder).filter(
      (name) => /^[a-z].*\.(png|jpg)$/.test(name) && !/^(truncated|foo)/.test(name),
    );
    expect(names.length).toBeGreaterThan(15);
    for (const name of names) {
      const { data, info } = await sharp(join(folder, name))
        .flatten()
        .toColourspace('b-w')
        .raw()
        .toBuffer({ resolveWithObject: true });
      expect(
        await code({ width: info.width, height: info.height, channels: 1, data: new Uint8Array(data) }),
        name,
      ).toMatch(/^(cantilever-not-found|tip-outside-frame|too-blurred|too-coarse)$/);
    }
  }, 180_000);
});
