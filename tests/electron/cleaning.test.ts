import { beforeAll, describe, expect, it } from 'vitest';
import { residueFate } from '../../core/wear/cleaning.ts';
import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomFrontSpecs } from '../../fixtures/render/front-random.ts';
import { renderFront } from '../../fixtures/render/front.ts';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from './support.ts';
import type { TestHost } from './support.ts';

/** A pair before and after cleaning: what became of the residue, and where that is kept. */
beforeAll(buildHost);

const at = (angleDeg: number) => ({ angleDeg, sizeUm: 8, depthUm: 5 });

describe('what became of the residue', () => {
  it.each([
    [[], [], 'none'],
    [[at(60)], [], 'gone'],
    [[at(60)], [at(66)], 'stays'],
    [[at(355)], [at(3)], 'stays'],
    [[at(60)], [at(140)], 'new'],
    [[], [at(140)], 'new'],
    [[at(60), at(100)], [at(101)], 'stays'],
  ] as const)('%j and then %j: %s', (before, after, fate) => {
    expect(residueFate(before, after)).toBe(fate);
  });

  it('cannot be told when one of the pictures gives no answer', () => {
    expect([residueFate(null, []), residueFate([at(60)], null)]).toEqual(['cannot-tell', 'cannot-tell']);
  });
});

type Tip = { readonly bytes: Uint8Array; readonly umPerPx: number };

/** A clean tip, the same with residue, and both once more as another picture of the same part. */
async function tips(seed: number): Promise<Record<'clean' | 'cleanAgain' | 'dirty' | 'dirtyAgain', Tip>> {
  const flats = { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 0, laterRightUm: 0 };
  const { baseline, later } = randomFrontSpecs(seed, { easy: true, residue: true, flats });
  const made = async (spec: typeof baseline): Promise<Tip> => {
    const rendered = renderFront(spec);
    return { bytes: await encodeCapture(rendered), umPerPx: rendered.truth.umPerPx };
  };
  const [clean, cleanAgain, dirty, dirtyAgain] = await Promise.all([
    made(baseline),
    made({ ...baseline, seed: baseline.seed + 1000 }),
    made(later),
    made({ ...later, seed: later.seed + 1000 }),
  ]);
  return { clean, cleanAgain, dirty, dirtyAgain };
}

async function add(host: TestHost, stylusId: string, tip: Tip, day: string, isBaseline = false) {
  return addPicture(host, stylusId, tip.bytes, {
    scale: { umPerPx: tip.umPerPx, standardUmPerPx: 0.001, source: 'typed' },
    taken: { wall: day, offset: null, source: 'person' },
    isBaseline,
  });
}

describe('a pair before and after cleaning', () => {
  it('finds residue gone and residue that stays, and the advice reads the finding', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const made = await tips(41);
    await add(host, stylus.id, made.clean, '2024-01-01', true);
    const before = await add(host, stylus.id, made.dirty, '2024-06-01');
    const clean = await add(host, stylus.id, made.cleanAgain, '2024-06-02');
    const still = await add(host, stylus.id, made.dirtyAgain, '2024-06-02');
    const judge = (afterId: string) =>
      host.ask('cleaning.judge', { beforeId: before.id, afterId, jobId: 'judge' });
    const gone = await judge(clean.id);
    expect([gone.residue, gone.before.length > 0, gone.after]).toEqual(['gone', true, []]);
    const stays = await judge(still.id);
    expect(stays.residue).toBe('stays');
    expect(stays.message).toMatch(/stays after cleaning/);
    const entry = await host.ask('entry.add', {
      stylusId: stylus.id,
      kind: 'cleaning',
      date: '2024-06-02',
      played: null,
      cleaned: stays,
      text: '',
    });
    expect(entry.cleaned).toEqual(stays);
    const page = await host.ask('stylus.page', { id: stylus.id });
    expect(page.entries.at(-1)?.cleaned?.residue).toBe('stays');
    const advice = await host.ask('advice.of', { stylusId: stylus.id });
    expect(JSON.stringify(advice)).toMatch(/stays after cleaning|stays-after-cleaning/);
  }, 180_000);

  it('says that nobody can tell, with the reason, when a picture shows no tip', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const made = await tips(42);
    const before = await add(host, stylus.id, made.dirty, '2024-06-01');
    const empty = await addPicture(host, stylus.id, await picture(219));
    const judged = await host.ask('cleaning.judge', { beforeId: before.id, afterId: empty.id, jobId: 'j' });
    expect(judged.residue).toBe('cannot-tell');
    expect(judged.message).toMatch(/^Nobody can tell from this pair\. The picture (before|after): .{20,}/);
  }, 120_000);

  it('refuses two views, one picture twice, and a view without a tip', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const front = await addPicture(host, stylus.id, await picture(40));
    const side = await addPicture(host, stylus.id, await picture(41), { view: 'side' });
    const below = await addPicture(host, stylus.id, await picture(42), { view: 'below' });
    const again = await addPicture(host, stylus.id, await picture(43), { view: 'below' });
    for (const [a, b] of [
      [front, side],
      [front, front],
      [below, again],
    ])
      expect(await host.call('cleaning.judge', { beforeId: a.id, afterId: b.id, jobId: 'j' })).toMatchObject({
        ok: false,
        error: { code: 'bad-input' },
      });
  }, 60_000);
});
