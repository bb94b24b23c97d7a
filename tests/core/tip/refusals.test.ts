import { describe, expect, it } from 'vitest';
import { comparePair, examineCapture } from '../../../core/index.ts';
import { renderFront, type FrontPicture, type FrontSpec } from '../../../fixtures/render/front.ts';
import { randomFrontSpecs } from '../../../fixtures/render/front-random.ts';
import { createRandom } from '../../../fixtures/render/random.ts';
import type { DecodedPicture } from '../../../core/index.ts';

/** Pictures that must be refused, and with the reason that helps: what is wrong decides what a person does next. */
const control = { progress: () => undefined, check: () => undefined, now: () => performance.now() };
const scaleOf = (umPerPx: number): { umPerPx: number; standardUmPerPx: null } => ({
  umPerPx,
  standardUmPerPx: null,
});
const BARS = { largestRadiusUm: 25, umPerPx: [0.7, 1.3], blurSigmaUm: [1, 2] } satisfies Parameters<
  typeof randomFrontSpecs
>[1];

async function examined(picture: DecodedPicture, umPerPx: number): Promise<string> {
  const report = await examineCapture({ view: 'front', picture, scale: scaleOf(umPerPx) }, control);
  return report.ok ? 'answered' : report.reason.code;
}

async function compared(baseline: FrontPicture, later: DecodedPicture, umPerPx: number): Promise<string> {
  const report = await comparePair(
    {
      view: 'front',
      baseline,
      later,
      baselineScale: scaleOf(baseline.truth.umPerPx),
      laterScale: scaleOf(umPerPx),
    },
    control,
  );
  return report.ok ? 'answered' : report.reason.code;
}

/** The same stylus pushed over an edge or a corner of the frame: its apex ends `beyond` tip radii outside. */
function pushedOut(spec: FrontSpec, towardsDeg: number, leanDeg: number, beyond: number): FrontSpec {
  const radians = (degrees: number): number => (degrees * Math.PI) / 180;
  const [nx, ny] = [Math.cos(radians(towardsDeg)), Math.sin(radians(towardsDeg))];
  const [dx, dy] = [Math.cos(radians(towardsDeg + leanDeg)), Math.sin(radians(towardsDeg + leanDeg))];
  const radius = spec.tip.radiusUm / spec.umPerPx;
  const place = (n: number, size: number, share: number): number =>
    Math.abs(n) < 0.1 ? share * size : n > 0 ? size - 1 + beyond * radius : -beyond * radius;
  return {
    ...spec,
    pose: {
      tipXPx: place(nx, spec.widthPx, 0.4) - radius * dx,
      tipYPx: place(ny, spec.heightPx, 0.6) - radius * dy,
      rotationDeg: (Math.atan2(dx, dy) * 180) / Math.PI,
    },
  };
}

describe('a tip outside the frame', () => {
  it.each([0, 45, 90, 135, 180, 225, 270, 315])(
    'is called so where its cone is cut (towards %i degrees)',
    async (towards) => {
      for (const light of ['backlit', 'ring'] as const)
        for (const [lean, beyond] of [
          [0, 0.3],
          [24, 1.5],
          [-24, 3],
        ]) {
          const { later } = randomFrontSpecs(330100 + towards, { ...BARS, light });
          const cut = pushedOut(later, towards, lean, beyond);
          const picture = renderFront(cut);
          const what = `${light}, lean ${lean}, ${beyond} R beyond`;
          expect(await examined(picture, cut.umPerPx), what).toBe('tip-outside-frame');
        }
    },
    120_000,
  );
});

describe('a tip outside the frame of the later picture', () => {
  it.each([0, 90])(
    'is called so (towards %i degrees)',
    async (towards) => {
      const { baseline, later } = randomFrontSpecs(330200 + towards, { ...BARS, light: 'backlit' });
      const cut = pushedOut(later, towards, 24, 1.5);
      expect(await compared(renderFront(baseline), renderFront(cut), cut.umPerPx)).toBe('tip-outside-frame');
    },
    60_000,
  );
});

describe('another part', () => {
  it.each([
    [330601, 0.82],
    [330602, 1.2],
    [330603, 0.88],
    [330604, 1.4],
  ])(
    'with the same flanks and shank is told by how far its apex reaches (seed %i, radius times %f)',
    async (seed, times) => {
      const { baseline, later } = randomFrontSpecs(seed, { ...BARS, light: 'backlit', laterFlatsUm: [0, 8] });
      const tip = { ...later.tip, radiusUm: times * later.tip.radiusUm };
      const other = { ...later, tip, interiorSeed: later.interiorSeed + 1 };
      const first = renderFront(baseline);
      expect(await compared(first, renderFront(other), other.umPerPx)).toBe('not-the-same-part');
      // worn itself it is still the same
      expect(await compared(first, renderFront(later), later.umPerPx)).toBe('answered');
    },
    60_000,
  );
});

describe('the same part at a scale that is not quite right', () => {
  it.each([0.95, 1.05])('is answered and warned of (stated %d times too large)', async (wrong) => {
    for (const seed of [330701, 330702]) {
      const specs = randomFrontSpecs(seed, { ...BARS, light: 'backlit', laterFlatsUm: [8, 12] });
      const [baseline, later] = [renderFront(specs.baseline), renderFront(specs.later)];
      const report = await comparePair(
        {
          view: 'front',
          baseline,
          later,
          baselineScale: scaleOf(baseline.truth.umPerPx),
          laterScale: scaleOf(wrong * later.truth.umPerPx),
        },
        control,
      );
      expect(report.warnings?.map((warning) => warning.code)).toContain('scales-disagree');
    }
  });
});

describe('a hopelessly soft picture of the same part', () => {
  it.each(['backlit', 'ring'] as const)(
    'is refused for its softness and for nothing else (%s)',
    async (light) => {
      for (const [seed, blurSigmaUm] of [
        [330701, 8.5],
        [330702, 13],
        [330703, 20],
      ]) {
        const { baseline, later } = randomFrontSpecs(seed, { ...BARS, largestRadiusUm: 18, light });
        const soft = { ...later, camera: { ...later.camera, blurSigmaUm } };
        const code = await compared(renderFront(baseline), renderFront(soft), soft.umPerPx);
        expect(code, `seed ${seed}`).toBe('too-blurred');
      }
    },
    60_000,
  );
});

describe('a burnt-out tip', () => {
  it.each([330301, 330302, 330303])(
    'lit from the front is refused for its exposure (seed %i)',
    async (seed) => {
      const { baseline, later } = randomFrontSpecs(seed, { ...BARS, light: 'ring' });
      const burnt = { ...later, camera: { ...later.camera, exposure: 3.5 } };
      const picture = renderFront(burnt);
      expect(await examined(picture, burnt.umPerPx)).toBe('over-exposed');
      expect(await compared(renderFront(baseline), picture, burnt.umPerPx)).toBe('over-exposed');
    },
    60_000,
  );
});

describe('what is no tip', () => {
  const widthPx = 640;
  const heightPx = 480;
  const draw = (grey: (x: number, y: number) => number): DecodedPicture => {
    const data = new Uint8Array(widthPx * heightPx);
    for (let y = 0; y < heightPx; y++)
      for (let x = 0; x < widthPx; x++)
        data[y * widthPx + x] = Math.max(0, Math.min(255, Math.round(255 * grey(x, y))));
    return { width: widthPx, height: heightPx, channels: 1, data };
  };

  it.each([1, 2, 3, 4])('nothing but noise holds none (seed %i)', async (seed) => {
    const random = createRandom(330400 + seed);
    const spread = 0.04 * 2 ** seed;
    expect(
      await examined(
        draw(() => random.uniform(0, 1)),
        1,
      ),
    ).toBe('tip-not-found');
    expect(
      await examined(
        draw(() => random.normal(0.5, spread)),
        1,
      ),
    ).toBe('tip-not-found');
    // waves as wide as a tip
    const waves = Array.from({ length: 24 }, () => ({
      x: random.normal(0, 0.06),
      y: random.normal(0, 0.06),
      phase: random.uniform(0, 2 * Math.PI),
    }));
    const cloudy = draw((x, y) =>
      waves.reduce((sum, w) => sum + 0.05 * Math.sin(w.x * x + w.y * y + w.phase), 0.5),
    );
    expect(await examined(cloudy, 1)).toBe('tip-not-found');
  });

  it('a wedge that ends in a point is no stylus, however fine the picture', async () => {
    const random = createRandom(330500);
    const slope = Math.tan((26 * Math.PI) / 180);
    const inside = (x: number, y: number): number => {
      const off = Math.abs(x - 320) - Math.min(90, Math.max(0, 330 - y) * slope);
      return Math.max(0, Math.min(1, 0.5 - off * Math.cos((26 * Math.PI) / 180)));
    };
    const picture = draw((x, y) => 0.8 - 0.72 * inside(x, y) + random.normal(0, 0.01));
    expect(await examined(picture, 0.8)).toBe('tip-not-found');
  });
});
