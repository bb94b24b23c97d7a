import { describe, expect, it } from 'vitest';
import { measureCantilever } from '../../../core/index.ts';
import type { Rendered } from '../../../fixtures/render/camera.ts';
import type { CantileverTruth } from '../../../fixtures/render/cantilever.ts';
import { randomCantileverRaster } from '../../../fixtures/render/cantilever-raster.ts';
import { randomCantileverVaried } from '../../../fixtures/render/cantilever-varied.ts';
import { throughFile } from '../../../fixtures/render/encode.ts';
import { plainControl } from './laboratory.ts';

/** Rendered pictures that once misled the measurement, each for a reason of its own. */
async function measured(rendered: Rendered<CantileverTruth>) {
  const picture = await throughFile(rendered);
  const { truth } = picture;
  const scale = { umPerPx: truth.umPerPx, standardUmPerPx: 0.001 * truth.umPerPx };
  const report = await measureCantilever({ view: truth.view, picture, scale }, plainControl);
  if (!report.ok) return { refused: true, error: NaN, expanded: NaN, toward: 'none', said: [] as string[] };
  const clockwise = truth.bendOnScreen === 'clockwise' ? 1 : -1;
  return {
    refused: false,
    error: (report.cantilever.signedBendDeg ?? NaN) - clockwise * truth.bendAngleDeg,
    expanded: report.cantilever.bendAngleDeg.expanded,
    toward: report.cantilever.bendToward,
    said: report.suspicions.map((s) => s.kind) as string[],
  };
}

describe('a bend is measured', () => {
  /** What is left of the tolerance, 0.3 degrees or what is stated; NaN where nothing is answered. */
  const left = async (rendered: Rendered<CantileverTruth>): Promise<number> => {
    const { error, expanded } = await measured(rendered);
    return Math.min(0.3, expanded) - Math.abs(error);
  };

  it('before a lamp that is brighter or darker about the tube than its smooth course says', async () => {
    expect(await left(randomCantileverVaried(150047))).toBeGreaterThan(0);
    expect(await left(randomCantileverVaried(150051))).toBeGreaterThan(0);
    expect(await left(randomCantileverVaried(150012, { view: 'side' }))).toBeGreaterThan(0);
  }, 120_000);

  it('of a tube that flares at the block, by the middle of its edges', async () => {
    expect(await left(randomCantileverRaster(150018))).toBeGreaterThan(0);
  }, 120_000);

  it('of a straight tube whose two sides do not flare alike, without the flare', async () => {
    // off by 0.39 degrees with it
    expect(await left(randomCantileverRaster(31005, { bendDeg: 0 }))).toBeGreaterThan(0);
    // bent ones, which a width taken askew must not cut where they bend: off by 1.1 and 0.95 degrees if it does
    for (const seed of [31054, 31078])
      expect(await left(randomCantileverRaster(seed)), `${seed}`).toBeGreaterThan(-0.05);
  }, 120_000);

  it('by the clear edge, where the other one lies in the dark', async () => {
    // off by 0.55 degrees where both count nearly alike
    expect(await left(randomCantileverRaster(31081, { bendDeg: 0 }))).toBeGreaterThan(0);
  }, 120_000);

  it('without a short stretch whose edge is a step from shadow to light', async () => {
    // off by 2.7 degrees with the stretch beside the collar, 0.3 stated
    expect(await left(randomCantileverRaster(33001))).toBeGreaterThan(0);
  }, 120_000);

  it('of a straight tube whose edges wave with the blocks of its file', async () => {
    expect(await left(randomCantileverRaster(160011, { bendDeg: 0 }))).toBeGreaterThan(0);
  }, 120_000);

  it('of which the last part shows in one clean edge beside glue', async () => {
    expect(await left(randomCantileverVaried(150037))).toBeGreaterThan(0);
  }, 120_000);

  it('of a tube that carries a long rod, up to the tip', async () => {
    const found = await measured(randomCantileverVaried(150036));
    expect(Math.abs(found.error)).toBeLessThan(0.1);
    expect(found.said).not.toContain('leaning-diamond');
  }, 120_000);

  it('or refused, but not invented, where dirt and a pressed end bow one edge only', async () => {
    const straight = await measured(randomCantileverRaster(7063, { bendDeg: 0 }));
    expect(straight.toward).toBe('none');
    for (const found of [straight, await measured(randomCantileverRaster(7034))])
      expect(found.refused || Math.abs(found.error) <= found.expanded).toBe(true);
    // a tube that flares bulges as well, and keeps its answer
    const flared = await measured(randomCantileverRaster(7025));
    expect(Math.abs(flared.error)).toBeLessThan(0.1);
  }, 120_000);

  it('behind whose rim a lamp is mirrored or the limb is dark, and which looks twice as blurred as it is', async () => {
    expect(await left(randomCantileverRaster(180012, { bendDeg: 0 }))).toBeGreaterThan(0);
    expect(await left(randomCantileverRaster(170019))).toBeGreaterThan(-0.05);
    for (const seed of [420014, 420019])
      expect(
        await left(
          randomCantileverRaster(seed, { view: 'side', light: 'ring', diamond: 'present', bendDeg: 0 }),
        ),
        `${seed}`,
      ).toBeGreaterThan(0);
  }, 240_000);

  it('from the block, be it hardly brighter than the field', async () => {
    expect(await left(randomCantileverVaried(150043, { view: 'side' }))).toBeGreaterThan(0);
  }, 120_000);
});

describe('the interval tells', () => {
  it('that a limb as dark as the field leaves the edge open', async () => {
    // off by 0.47 degrees, of which 0.43 were stated as long as only lamps beside the edges counted
    const found = await measured(randomCantileverRaster(33002, { view: 'side', diamond: 'turned' }));
    expect(found.refused || Math.abs(found.error) < found.expanded).toBe(true);
  }, 120_000);

  it('how little of a bend would show in the piece behind it', async () => {
    // bends up to where the tube narrows, and then shows 22 points of one edge: off by 0.34 degrees, of which 0.27 were stated
    const found = await measured(randomCantileverRaster(35060, { view: 'side', diamond: 'turned' }));
    expect(found.refused || Math.abs(found.error) < found.expanded).toBe(true);
  }, 120_000);
});

describe('no bend is told', () => {
  it('that neither proves one nor rules one out', async () => {
    const picture = await throughFile(randomCantileverRaster(7067, { bendDeg: 0 }));
    const { view, umPerPx } = picture.truth;
    const scale = { umPerPx, standardUmPerPx: 0.001 * umPerPx };
    const report = await measureCantilever({ view, picture, scale }, plainControl);
    expect(report.ok ? '' : report.reason.message).toMatch(/leaves open whether it is bent/);
  }, 120_000);

  it('where the tube turns up to where glue and diamond begin', async () => {
    const found = await measured(randomCantileverVaried(150079));
    expect(found.refused || Math.abs(found.error) < found.expanded).toBe(true);
  }, 120_000);

  it('of a straight tube with a lump on one side of its wide end', async () => {
    expect((await measured(randomCantileverVaried(150002, { bendDeg: 0 }))).toward).toBe('none');
    expect((await measured(randomCantileverRaster(150046, { bendDeg: 0 }))).toward).toBe('none');
    expect((await measured(randomCantileverRaster(150060, { bendDeg: 0 }))).toward).toBe('none');
  }, 120_000);
});

describe('a sound diamond is not suspected', () => {
  it('of leaning, where a fibre lies beside or across it', async () => {
    expect(
      (await measured(randomCantileverRaster(150028, { view: 'side', diamond: 'present' }))).said,
    ).toEqual(['bent-cantilever']);
    expect((await measured(randomCantileverRaster(150005))).said).not.toContain('leaning-diamond');
  }, 120_000);

  it('of missing, where it is so clear that its rims alone stand out', async () => {
    const { said } = await measured(randomCantileverRaster(150015, { bendDeg: 0 }));
    expect(said).not.toContain('missing-diamond');
  }, 120_000);

  it('of missing, where only a stricter outline tells the axis', async () => {
    const { said } = await measured(randomCantileverRaster(150059, { view: 'side', diamond: 'present' }));
    expect(said).not.toContain('missing-diamond');
  }, 120_000);
});
