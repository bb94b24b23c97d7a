import { describe, expect, it } from 'vitest';
import { comparePair, examineCapture } from '../../../core/index.ts';
import { randomFrontPair } from '../../../fixtures/render/front-random.ts';
import { otherKinds, renderOther, renderSpoiled, type SpoiledKind } from '../../../fixtures/render/others.ts';
import { comparisonReportSchema, examinationReportSchema } from '../../../shared/index.ts';
import { summarise, trial, CONDITIONS } from '../../truth/lab.ts';

/**
 * The laboratory's short form: rendered pairs with known truth (own renderer, fixed seeds). The long form and its
 * table come from `npm run truth`.
 */
const control = { progress: () => undefined, check: () => undefined, now: () => performance.now() };
const scaleOf = (umPerPx: number): { umPerPx: number; standardUmPerPx: null } => ({
  umPerPx,
  standardUmPerPx: null,
});

describe('pairs at 1 um/px, blur 1.6 um, ordinary noise', () => {
  it('brings flats back within 0.3 um rms and rotation within 0.05 degrees over 50 random poses', async () => {
    const easy = CONDITIONS.find((c) => c.name === 'easy, backlit');
    if (!easy) throw new Error('the laboratory has no easy condition');
    const trials = [];
    for (let seed = 0; seed < 50; seed++) trials.push(await trial(easy, 5000 + seed));
    const row = summarise(easy.name, trials);
    expect(row.refused).toBe(0);
    expect(row.rmsUm).toBeLessThan(0.3);
    expect(Math.abs(row.biasUm)).toBeLessThan(0.1);
    expect(row.worstUm).toBeLessThan(1.5);
    expect(row.rotationRmsDeg).toBeLessThan(0.05);
    expect(row.coverage).toBeGreaterThan(0.9);
    // tip-up pictures were among them
    expect(trials.length).toBe(50);
  }, 400_000);

  it('states how well it knows the rotation', async () => {
    let inside = 0;
    for (let seed = 0; seed < 8; seed++) {
      const { baseline, later, truth } = randomFrontPair(5100 + seed, { easy: true });
      const report = await comparePair(
        {
          view: 'front',
          baseline,
          later,
          baselineScale: scaleOf(baseline.truth.umPerPx),
          laterScale: scaleOf(later.truth.umPerPx),
        },
        control,
      );
      if (!report.ok) throw new Error(report.reason.message);
      const { rotationDeg, rotationDegExpanded = Infinity } = report.registration;
      const off = ((((rotationDeg - truth.rotationDeg + 180) % 360) + 360) % 360) - 180;
      expect(rotationDegExpanded).toBeLessThan(0.15);
      if (Math.abs(off) <= rotationDegExpanded) inside++;
    }
    expect(inside).toBeGreaterThanOrEqual(7);
  }, 60_000);

  it('calls no unchanged pair changed, chipped or dirty', async () => {
    const same = CONDITIONS.find((c) => c.name === 'backlit, unchanged');
    if (!same) throw new Error('the laboratory has no unchanged condition');
    for (let seed = 0; seed < 8; seed++) {
      const t = await trial(same, 6000 + seed);
      expect(t.refused).toBeNull();
      expect(t.suspicions).toEqual([]);
      expect(t.later.filter((r) => r.truth === 0 && r.detected)).toEqual([]);
      for (const r of t.change) expect(Math.abs(r.value)).toBeLessThanOrEqual(r.expanded * 1.5);
    }
  }, 200_000);

  it('answers in per cent of the shank where no scale is known', async () => {
    const { baseline, later } = randomFrontPair(11, { easy: true, laterFlatsUm: [9, 12] });
    const report = await comparePair(
      { view: 'front', baseline, later, baselineScale: null, laterScale: null },
      control,
    );
    expect(comparisonReportSchema.parse(report)).toBeTruthy();
    if (!report.ok) throw new Error(report.reason.message);
    expect(report.unit).toBe('percent-of-shank');
    const shank = baseline.truth.tip.shankWidthUm;
    for (const side of ['left', 'right'] as const) {
      const expected = (100 * later.truth.flats[side].widthUm) / shank;
      expect(Math.abs(report.flats[side].laterUm.value - expected)).toBeLessThan(
        0.05 * expected + (100 * 0.4) / shank,
      );
    }
  }, 180_000);
});

describe('chips and residue', () => {
  it.each(['chip', 'residue'] as const)(
    'finds a %s and calls it by its name',
    async (kind) => {
      const condition = CONDITIONS.find((c) => c.name === `${kind}, backlit`);
      if (!condition) throw new Error(`the laboratory has no ${kind}`);
      let found = 0;
      for (let seed = 0; seed < 4; seed++) {
        const t = await trial(condition, 7000 + seed);
        const wrong = kind === 'chip' ? 'residue' : 'chip';
        expect(t.suspicions.filter((s) => s.startsWith(wrong))).toEqual([]);
        if (t.suspicions.some((s) => s.startsWith(kind))) found++;
      }
      // large residue on a small tip may be refused instead (see core/README.md, known weak): three of four must be named
      expect(found).toBeGreaterThanOrEqual(3);
    },
    300_000,
  );
});

describe('a lump with a foot, a chip that splits a flank', () => {
  const of = async (name: string, seed: number) => {
    const condition = CONDITIONS.find((c) => c.name === name);
    if (!condition) throw new Error(`the laboratory has no ${name}`);
    return trial(condition, seed);
  };

  it.each([61004, 61007])(
    'reads the walls beside a lump (seed %i)',
    async (seed) => {
      // the fit once leaned on the lump's foot: walls 5 to 6.6 um too wide, with a U of 0.9
      const t = await of('second renderer, residue', seed);
      expect(t.refused).toBeNull();
      expect(t.suspicions.every((s) => s.startsWith('residue'))).toBe(true);
      expect(t.suspicions.length).toBeGreaterThan(0);
      for (const r of t.later) expect(Math.abs(r.value - r.truth)).toBeLessThanOrEqual(r.expanded);
      for (const r of t.later) expect(Math.abs(r.value - r.truth)).toBeLessThan(2);
    },
    60_000,
  );

  it('finds the tip behind a notch in its flank', async () => {
    // the axis never came to rest, and the tip was looked for 22 pixels beside itself
    const t = await of('chip, backlit', 62018);
    expect(t.refused).toBeNull();
    expect(t.suspicions).toEqual([expect.stringMatching(/^chip 5\.\d um at -1(7[5-9]|80) deg$/)]);
    for (const r of t.later) expect(Math.abs(r.value - r.truth)).toBeLessThanOrEqual(r.expanded);
  }, 60_000);

  it('takes no lump on the apex for a pointed tip between two wide flats', async () => {
    const t = await of('second renderer, residue', 62010);
    expect(t.refused).toBeNull();
    expect(t.suspicions).toEqual([expect.stringMatching(/^residue 3\.\d um at 9\d deg$/)]);
    for (const r of t.later) expect(Math.abs(r.value - r.truth)).toBeLessThanOrEqual(r.expanded);
  }, 60_000);

  it('reads a tip with a lump as large as itself', async () => {
    const t = await of('second renderer, residue', 1004);
    expect(t.suspicions).toEqual([expect.stringMatching(/^residue 8\.\d um at 8\d deg$/)]);
    for (const r of t.later) expect(Math.abs(r.value - r.truth)).toBeLessThanOrEqual(r.expanded);
  }, 60_000);
});

describe('refusals', () => {
  it.each(otherKinds)(
    'does not invent a tip in a picture of %s',
    async (kind) => {
      const picture = renderOther(kind, 21);
      const report = await examineCapture({ view: 'front', picture, scale: scaleOf(1) }, control);
      // a wire that runs through the whole picture may be a shank whose tip lies outside
      expect(report.ok ? 'answered' : report.reason.code).toBe(
        kind === 'rod' ? 'tip-outside-frame' : 'tip-not-found',
      );
    },
    180_000,
  );

  it.each<[SpoiledKind, string[]]>([
    ['hopeless-blur', ['too-blurred']],
    ['tip-outside', ['tip-outside-frame']],
    ['over-exposed', ['over-exposed']],
    ['too-coarse', ['too-coarse', 'tip-not-found']],
  ])(
    'refuses %s for the right reason',
    async (kind, codes) => {
      for (const seed of [31, 32, 33]) {
        const picture = renderSpoiled(kind, seed);
        const report = await examineCapture(
          { view: 'front', picture, scale: scaleOf(picture.truth.umPerPx) },
          control,
        );
        expect(report.ok ? `answered at seed ${seed}` : report.reason.code).toSatisfy((c: string) =>
          codes.includes(c),
        );
      }
    },
    180_000,
  );

  it('tells another part from a worn one', async () => {
    for (const seed of [41, 42, 43]) {
      const { baseline, later } = randomFrontPair(seed, { easy: true, otherPart: true });
      const report = await comparePair(
        {
          view: 'front',
          baseline,
          later,
          baselineScale: scaleOf(baseline.truth.umPerPx),
          laterScale: scaleOf(later.truth.umPerPx),
        },
        control,
      );
      expect(report.ok ? `answered at seed ${seed}` : report.reason.code).toBe('not-the-same-part');
    }
  }, 180_000);

  it('wants a scale for absolute widths', async () => {
    const { baseline } = randomFrontPair(12, { easy: true });
    const report = await examineCapture({ view: 'front', picture: baseline, scale: null }, control);
    expect(report.ok ? 'answered' : report.reason.code).toBe('scale-missing');
    expect(examinationReportSchema.parse(report)).toBeTruthy();
  }, 180_000);
});
