import { beforeAll, describe, expect, it } from 'vitest';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomFrontSpecs } from '../../fixtures/render/front-random.ts';
import { renderFront } from '../../fixtures/render/front.ts';
import type { Capture } from '../../shared/index.ts';
import { DRAFT, addPicture, buildHost, temporaryFolder, testHost } from './support.ts';
import type { TestHost } from './support.ts';

/** A repeatability study through the host: rendered pictures of one tip with known flats, laid down anew each time. */
beforeAll(buildHost);

const specs = randomFrontSpecs(71, {
  easy: true,
  flats: { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 11, laterRightUm: 9 },
});

/** The worn tip once more: shifted, turned in the picture, with its own noise. */
async function placed(k: number) {
  const { later } = specs;
  const { pose } = later;
  const rendered = renderFront({
    ...later,
    seed: later.seed + 100 * k,
    pose: {
      tipXPx: pose.tipXPx + 7.3 * ((k % 3) - 1),
      tipYPx: pose.tipYPx + 2.7 * ((k % 2) - 0.5),
      rotationDeg: pose.rotationDeg + 1.7 * (k - 2),
    },
  });
  return { bytes: await encodeCapture(rendered), umPerPx: rendered.truth.umPerPx };
}
const facts = (umPerPx: number) => ({
  microscope: 'my scope',
  scale: { umPerPx, standardUmPerPx: 0.001, source: 'typed' as const },
});

async function lookAt(host: TestHost, capture: Capture): Promise<Capture> {
  return host.ask('capture.examine', { id: capture.id, jobId: `look-${capture.id}` });
}

async function studied(host: TestHost, stylusId: string, count: number, from = 0) {
  const study = await host.ask('study.create', {
    stylusId,
    day: '2024-03-02',
    who: 'A. Listener',
    microscope: 'my scope',
    notes: '',
  });
  for (let k = from; k < from + count; k++) {
    const { bytes, umPerPx } = await placed(k);
    const capture = await addPicture(host, stylusId, bytes, { ...facts(umPerPx), studyId: study.id });
    await lookAt(host, capture);
  }
  return study;
}
const choose = (host: TestHost, ids: string[]) => host.ask('study.choose', { microscope: 'My scope ', ids });
const sources = (lines: readonly { source: string }[] | undefined) => (lines ?? []).map((one) => one.source);

describe('a repeatability study', () => {
  it('is kept off the timeline, says what one reading is worth, and counts once it is chosen', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const baseline = await placedBaseline(host, stylus.id);
    const worn = await placed(9);
    const later = await addPicture(host, stylus.id, worn.bytes, facts(worn.umPerPx));
    const pair = { baselineId: baseline.id, laterId: later.id };
    const before = await host.ask('comparison.run', { ...pair, jobId: 'pair' });
    await lookAt(host, later);
    const study = await studied(host, stylus.id, 4);
    await expect(choose(host, [study.id])).rejects.toThrow(/fewer than 5/);
    const fifth = await placed(4);
    const last = await addPicture(host, stylus.id, fifth.bytes, {
      ...facts(fifth.umPerPx),
      studyId: study.id,
    });
    await lookAt(host, last);

    const { seen, captures } = await host.ask('study.page', { id: study.id });
    expect([seen.pictures, seen.readings]).toEqual([5, 5]);
    const { result } = seen;
    expect(result?.left?.degreesOfFreedom).toBe(4);
    expect(Math.abs(result!.left!.mean - 11)).toBeLessThan(0.6);
    expect(Math.abs(result!.right!.mean - 9)).toBeLessThan(0.6);
    expect(result!.left!.single).toBeGreaterThan(0);
    expect(result!.left!.single).toBeLessThan(0.6);
    const page = await host.ask('stylus.page', { id: stylus.id });
    expect(page.captures.map((one) => one.id).toSorted()).toEqual([baseline.id, later.id].toSorted());
    const [card] = await host.ask('stylus.list', {});
    expect(card.captureCount).toBe(2);

    // Not chosen yet: nothing counts, and nothing that was measured is out of date.
    expect(await host.ask('study.list', {})).toMatchObject({ counted: [], outdated: 0 });
    const chosen = await choose(host, [study.id]);
    expect(chosen.counted).toMatchObject([{ studyIds: [study.id], problem: null }]);
    expect(chosen.outdated).toBe(2);
    const stale = await host.ask('comparison.read', { id: before.id });
    expect(stale.report.warnings?.map((one) => one.code)).toContain('repeatability-changed');

    const redone = await host.ask('study.redo', { jobId: 'redo' });
    expect(redone).toEqual({ redone: 2, refused: 0 });
    const again = await host.ask('stylus.page', { id: stylus.id });
    const after = await host.ask('comparison.read', { id: again.comparisons[0].id });
    if (!after.report.ok || !before.report.ok) throw new Error('refused');
    const flat = after.report.flats.left;
    for (const lines of [flat.budget, flat.baselineBudget, flat.changeBudget, after.report.tip.budget])
      expect(sources(lines)).toContain('repeatability');
    expect(flat.budget?.find((one) => one.source === 'repeatability')).toMatchObject({
      standard: result!.left!.single,
      degreesOfFreedom: 4,
    });
    expect(flat.laterUm.value).toBeCloseTo(before.report.flats.left.laterUm.value, 6);
    expect(flat.laterUm.expanded).toBeGreaterThanOrEqual(before.report.flats.left.laterUm.expanded);
    const looked = await host.ask('capture.read', { id: later.id });
    expect(looked.examination?.ok === true && looked.examination.repeatability?.study).toBe(study.id);
    expect((await host.ask('study.list', {})).outdated).toBe(0);

    // The study's own pictures are read without it, or it would feed on itself.
    const own = await lookAt(host, captures[0]);
    expect(own.examination?.ok === true && own.examination.repeatability).toBeUndefined();

    // A picture taken out leaves four: nothing counts any more, until it is taken back.
    await host.ask('bin.put', { kind: 'capture', id: captures[2].id });
    const four = await host.ask('study.list', {});
    expect(four.counted[0].given).toBeNull();
    expect(four.counted[0].problem).toContain('fewer than 5');
    expect(four.outdated).toBe(2);
    await host.ask('history.undo', { number: null });
    expect((await host.ask('study.list', {})).outdated).toBe(0);

    // It goes along with its stylus, and counts nowhere by itself.
    const packed = await host.ask('stylus.export', { id: stylus.id, jobId: 'export' });
    const second = await host.ask('stylus.import', { bytes: packed.bytes, jobId: 'import' });
    const all = await host.ask('study.list', {});
    const copy = all.studies.find((one) => one.study.stylusId === second.stylusId);
    expect(copy?.study.counts).toBe(false);
    expect(copy?.result).toEqual(result);
    expect(all.counted).toMatchObject([{ studyIds: [study.id], problem: null }]);
    expect((await host.ask('stylus.page', { id: second.stylusId })).captures).toHaveLength(2);

    // None may count, too.
    expect((await choose(host, [])).counted).toEqual([]);
    const plain = await host.ask('comparison.run', { ...pair, jobId: 'plain' });
    if (!plain.report.ok) throw new Error('refused');
    expect(sources(plain.report.flats.left.budget)).not.toContain('repeatability');
    expect(plain.report.flats.left.laterUm).toEqual(before.report.flats.left.laterUm);
  }, 240_000);

  it('is pooled with another of the same person, with both their degrees of freedom', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const first = await studied(host, stylus.id, 5);
    const second = await studied(host, stylus.id, 6, 6);
    const { counted } = await choose(host, [first.id, second.id]);
    expect(counted[0]).toMatchObject({ who: 'A. Listener', problem: null });
    expect(counted[0].given?.left.degreesOfFreedom).toBe(9);
    expect(counted[0].test!.ratio).toBeLessThan(counted[0].test!.limit);
    const pages = [first, second].map(({ id }) => host.ask('study.page', { id }));
    const [a, b] = (await Promise.all(pages)).map(({ seen }) => seen.result!.left!.single);
    expect(counted[0].given?.left.standardUm).toBeCloseTo(Math.sqrt((4 * a * a + 5 * b * b) / 9), 9);
  }, 120_000);

  it('takes its pictures along into the bin and back, but not one that was taken out before', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const study = await studied(host, stylus.id, 2);
    const { captures } = await host.ask('study.page', { id: study.id });
    await host.ask('bin.put', { kind: 'capture', id: captures[0].id });
    await host.ask('bin.put', { kind: 'study', id: study.id });
    expect((await host.ask('study.list', {})).studies).toEqual([]);
    expect((await host.ask('stylus.page', { id: stylus.id })).captures).toEqual([]);
    await host.ask('bin.takeBack', { kind: 'study', id: study.id });
    const back = await host.ask('study.page', { id: study.id });
    expect(back.captures.map((one) => one.id)).toEqual([captures[1].id]);
    await host.ask('bin.put', { kind: 'study', id: study.id });
    const { things } = await host.ask('bin.empty', {});
    expect(things).toBe(3);
    expect((await host.ask('stylus.page', { id: stylus.id })).captures).toEqual([]);
  }, 120_000);

  it('refuses the same picture twice, a baseline, another stylus, and studies of two people', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const other = await host.ask('stylus.create', { ...DRAFT, name: 'Other' });
    const draft = { stylusId: stylus.id, day: '2024-03-02', who: 'A', microscope: 'my scope', notes: '' };
    const study = await host.ask('study.create', draft);
    const second = await host.ask('study.create', { ...draft, who: 'B' });
    const { bytes, umPerPx } = await placed(0);
    const add = (stylusId: string, more: object) =>
      addPicture(host, stylusId, bytes, { ...facts(umPerPx), studyId: study.id, ...more });
    await add(stylus.id, {});
    await expect(add(stylus.id, {})).rejects.toThrow(/in this study already/);
    await expect(add(stylus.id, { isBaseline: true })).rejects.toThrow(/none of them is a baseline/);
    await expect(add(other.id, {})).rejects.toThrow(/its own stylus/);
    await expect(choose(host, [study.id, second.id])).rejects.toThrow(/different people/);
    await expect(choose(host, ['0123456789abcdef0123'])).rejects.toThrow(/not of that microscope/);
  }, 60_000);
});

async function placedBaseline(host: TestHost, stylusId: string): Promise<Capture> {
  const rendered = renderFront(specs.baseline);
  return addPicture(host, stylusId, await encodeCapture(rendered), {
    ...facts(rendered.truth.umPerPx),
    isBaseline: true,
  });
}
