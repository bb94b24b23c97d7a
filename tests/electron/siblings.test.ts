import { beforeAll, describe, expect, it } from 'vitest';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomFrontPair } from '../../fixtures/render/front-random.ts';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from './support.ts';

beforeAll(buildHost, 120_000);

describe('an unworn sibling', () => {
  it('is offered as a baseline while it had hardly played, and for its own type only', async () => {
    const host = await testHost(temporaryFolder());
    const worn = await host.ask('stylus.create', { ...DRAFT, name: 'Worn', cartridge: 'One type ' });
    const fresh = { ...DRAFT, startHours: 0, startDate: '2024-01-01' };
    const twin = await host.ask('stylus.create', {
      ...fresh,
      name: 'Twin',
      cartridge: 'one type',
      profile: '',
    });
    const other = await host.ask('stylus.create', {
      ...fresh,
      name: 'Other',
      cartridge: 'another',
      profile: '',
    });
    const stand = await addPicture(host, twin.id, await picture(90), { isBaseline: true });
    await addPicture(host, other.id, await picture(100), { isBaseline: true });
    const later = await addPicture(host, worn.id, await picture(110), {});
    const siblings = async () =>
      (await host.ask('stylus.page', { id: worn.id })).siblings.map(({ id }) => id);
    expect(await siblings()).toEqual([stand.id]);
    const played = { amount: 40, unit: 'hours', minutesPerSide: 20, hours: 40, estimated: false } as const;
    const entry = await host.ask('entry.add', {
      stylusId: twin.id,
      kind: 'playing',
      date: '2024-02-01',
      played,
      text: '',
    });
    // The picture was taken after those forty hours.
    expect(await siblings()).toEqual([]);
    await expect(
      host.ask('comparison.run', { baselineId: stand.id, laterId: later.id, jobId: 'j1' }),
    ).rejects.toThrow(/not that of an unworn stylus/);
    await host.ask('bin.put', { kind: 'entry', id: entry.id });
    expect(await siblings()).toEqual([stand.id]);
  });

  it('has the spread between specimens in the report and on the sheet, line by line', async () => {
    const host = await testHost(temporaryFolder());
    const pair = randomFrontPair(71, {
      easy: true,
      flats: { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 12, laterRightUm: 10 },
    });
    const worn = await host.ask('stylus.create', { ...DRAFT, name: 'Worn', cartridge: 'One type' });
    const twin = await host.ask('stylus.create', {
      ...DRAFT,
      name: 'Twin',
      cartridge: 'one type',
      startHours: 0,
    });
    const add = async (stylusId: string, which: 'baseline' | 'later') =>
      addPicture(host, stylusId, await encodeCapture(pair[which]), {
        scale: { umPerPx: pair.truth[which].umPerPx, standardUmPerPx: 0.001, source: 'typed' },
        isBaseline: which === 'baseline',
      });
    const stand = await add(twin.id, 'baseline');
    const later = await add(worn.id, 'later');
    const run = { baselineId: stand.id, laterId: later.id, jobId: 'pair' };
    const { report } = await host.ask('comparison.run', run);
    if (!report.ok) throw new Error(report.reason.message);
    const { flats, tip, contour } = report;
    const { areaLostUm2, areaGainedUm2, largestRecessionUm, largestGrowthUm } = contour.budgets!;
    const budgets = [
      flats.left.budget,
      flats.left.changeBudget,
      flats.right.budget,
      flats.right.changeBudget,
    ];
    for (const lines of [
      ...budgets,
      tip.budget,
      areaLostUm2,
      areaGainedUm2,
      largestRecessionUm,
      largestGrowthUm,
    ])
      expect(lines?.at(-1)?.source).toBe('spread between specimens');
    // The picture of the twin is what it is: only what is said of this stylus rests on the likeness.
    expect(flats.left.baselineBudget?.map((line) => line.source)).not.toContain('spread between specimens');
    const { html } = await host.ask('sheet.html', { stylusId: worn.id, comparisonId: null, paper: 'A4' });
    expect(html.match(/spread between specimens [\d.]+/g)?.length).toBe(9);
    expect(html).toContain('own assumption, no source');
  }, 60_000);
});
