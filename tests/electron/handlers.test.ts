import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { cleanText } from '../../electron/host/clean.ts';
import { plainFileName } from '../../electron/host/incoming.ts';
import { hostMethods, type ComparisonAnswer, type InputOf, type MethodName } from '../../shared/index.ts';
import {
  DRAFT,
  FACTS,
  addPicture,
  buildHost,
  picture,
  temporaryFolder,
  testHost,
  type TestHost,
} from './support.ts';

beforeAll(buildHost);

const m = (value: number) => ({ value, expanded: 0.5 });
const flat = (value: number) => ({
  baselineUm: m(0),
  laterUm: m(value),
  changeUm: m(value),
  decisionThresholdUm: 4,
  detectionLimitUm: 5,
  detected: true,
});
const ANSWER: ComparisonAnswer = {
  ok: true,
  reportVersion: 1,
  engineVersion: 'double',
  suspicions: [],
  warnings: [],
  timingMs: 1,
  registration: { rotationDeg: 0, scaleRatio: 1, residualUm: 0.1 },
  sharpness: { baselineEdgeUm: 4, laterEdgeUm: 4 },
  tip: { radiusUm: m(18), arcDeg: 70 },
  contour: { areaLostUm2: m(1), areaGainedUm2: m(0), largestRecessionUm: m(1), largestGrowthUm: m(0) },
  flats: { left: flat(7), right: flat(6) },
};

/** A thread that looks at every picture the same way and gives one fixed answer: these tests are about the rest. */
function doubleWorker(): string {
  const file = join(temporaryFolder(), 'double.mjs');
  writeFileSync(
    file,
    `import { parentPort, workerData } from 'node:worker_threads';
    const flag = new Int32Array(workerData.cancelFlag);
    parentPort.on('message', ({ number, kind, input }) => {
      const done = (output) => parentPort.postMessage({ number, type: 'done', output, spoilt: false });
      if (kind === 'inspect') return done({ ok: true, value: { mediaType: 'image/png', widthPx: 64, heightPx: 48, taken: null, warnings: [] } });
      if (kind !== 'compare') return done({ ok: true, value: { ok: false, reason: { code: 'failed', message: 'Not here.' } } });
      parentPort.postMessage({ number, type: 'progress', stage: 'Working', fraction: 0.5 });
      if (input.laterScale?.umPerPx === 9) {
        while (Atomics.load(flag, 0) === 0);
        return parentPort.postMessage({ number, type: 'cancelled' });
      }
      done({ ok: true, value: ${JSON.stringify(ANSWER)} });
    });`,
  );
  return file;
}

const played = (hours: number) => ({
  amount: hours,
  unit: 'hours' as const,
  minutesPerSide: 22,
  hours,
  estimated: false,
});
const playing = (stylusId: string, date: string, hours: number): InputOf<'entry.add'> => ({
  stylusId,
  kind: 'playing',
  date,
  played: played(hours),
  text: '',
});

type Pair = { host: TestHost; stylusId: string; baselineId: string; laterId: string };
async function pairOf(laterFacts: Partial<InputOf<'capture.add'>> = {}): Promise<Pair> {
  const host = await testHost(temporaryFolder(), { workerFile: doubleWorker() });
  const { id: stylusId } = await host.ask('stylus.create', DRAFT);
  const baseline = await addPicture(host, stylusId, await picture(10), {
    isBaseline: true,
    taken: { wall: '2024-01-10', offset: null, source: 'person' },
  });
  const later = await addPicture(host, stylusId, await picture(20), {
    taken: { wall: '2024-06-10T20:00', offset: null, source: 'person' },
    ...laterFacts,
  });
  return { host, stylusId, baselineId: baseline.id, laterId: later.id };
}

describe('hours', () => {
  it('count from the start, up to the day of the picture, the bin left out', async () => {
    const { host, stylusId, baselineId, laterId } = await pairOf();
    await host.ask('entry.add', playing(stylusId, '2024-03-01', 40));
    await host.ask('entry.add', playing(stylusId, '2024-06-10', 5));
    await host.ask('entry.add', playing(stylusId, '2024-07-01', 100));
    const binned = await host.ask('entry.add', playing(stylusId, '2024-03-02', 1000));
    await host.ask('bin.put', { kind: 'entry', id: binned.id });
    await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    const page = await host.ask('stylus.page', { id: stylusId });
    // 10 at the start + 40 + 5 up to the evening of the picture; 100 more until now.
    expect(page.comparisons[0]?.hoursAtLater).toBe(55);
    expect(page.hoursNow).toBe(155);
  });

  it('stay unknown when the history is, and for an undated picture', async () => {
    const { host, stylusId, baselineId, laterId } = await pairOf({ taken: null });
    await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    expect((await host.ask('stylus.page', { id: stylusId })).comparisons[0]?.hoursAtLater).toBeNull();
    await host.ask('stylus.update', { id: stylusId, draft: { ...DRAFT, startHours: null } });
    await host.ask('entry.add', playing(stylusId, '2024-03-01', 40));
    expect((await host.ask('stylus.page', { id: stylusId })).hoursNow).toBeNull();
  });

  it('want an amount', async () => {
    const { host, stylusId } = await pairOf();
    const empty = host.ask('entry.add', { ...playing(stylusId, '2024-03-01', 1), played: null });
    await expect(empty).rejects.toThrow('Playing time wants an amount');
  });
});

describe('comparisons', () => {
  it('go on the timeline with the engine’s version, are told, and survive a restart', async () => {
    const { host, stylusId, baselineId, laterId } = await pairOf();
    const events: unknown[] = [];
    host.listen((name, event) => events.push([name, event]));
    const made = await host.ask('comparison.run', { baselineId, laterId, jobId: 'j1' });
    expect(made).toMatchObject({ engineVersion: expect.any(String) as unknown, report: { ok: true } });
    expect(events).toContainEqual(['progress', { jobId: 'j1', stage: 'Working', fraction: 0.5 }]);
    expect(events).toContainEqual(['changed', { stylusId }]);
    const folder = host.collectionFolder;
    await host.close();
    const again = await testHost(folder);
    expect((await again.ask('stylus.page', { id: stylusId })).comparisons).toEqual([made]);
    const [{ lastFlats }] = await again.ask('stylus.list', {});
    expect(lastFlats).toMatchObject({ leftUm: 7, rightUm: 6, unit: 'um' });
  });

  it('leave everything as it was when they are cancelled', async () => {
    const nine = { umPerPx: 9, standardUmPerPx: null, source: 'typed' as const };
    const { host, stylusId, baselineId, laterId } = await pairOf({ scale: nine });
    const before = await host.ask('stylus.page', { id: stylusId });
    host.listen((name) => name === 'progress' && void host.ask('job.cancel', { jobId: 'j' }));
    await expect(host.ask('comparison.run', { baselineId, laterId, jobId: 'j' })).rejects.toThrow(
      'cancelled: ',
    );
    expect(await host.ask('stylus.page', { id: stylusId })).toEqual(before);
  });

  it('of different views or of a mirrored picture are refused, and the refusal is kept', async () => {
    const { host, baselineId, laterId } = await pairOf({ view: 'side' });
    const views = await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    expect(views.report).toMatchObject({ ok: false, reason: { code: 'views-differ' } });
    await host.ask('capture.update', { id: laterId, ...FACTS, mirrored: true });
    const mirrored = await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    expect(mirrored.report).toMatchObject({ ok: false, reason: { code: 'views-differ' } });
  });

  it('of the same pair replace the earlier one, which lies in the bin', async () => {
    const { host, stylusId, baselineId, laterId } = await pairOf();
    const first = await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    // The same question again has the same answer, without measuring; another scale is another question.
    expect(await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' })).toEqual(first);
    const scale = { umPerPx: 1.1, standardUmPerPx: null, source: 'typed' as const };
    await host.ask('capture.update', { id: laterId, ...FACTS, scale });
    const second = await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    expect(second.id).not.toBe(first.id);
    const ids = async () => (await host.ask('stylus.page', { id: stylusId })).comparisons.map((c) => c.id);
    expect(await ids()).toEqual([second.id]);
    await host.ask('bin.takeBack', { kind: 'comparison', id: first.id });
    expect(await ids()).toHaveLength(2);
  });

  it('say so when a scale was corrected afterwards', async () => {
    const { host, stylusId, baselineId, laterId } = await pairOf();
    await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    const scale = { umPerPx: 1.1, standardUmPerPx: null, source: 'typed' as const };
    await host.ask('capture.update', { id: laterId, ...FACTS, scale });
    const [comparison] = (await host.ask('stylus.page', { id: stylusId })).comparisons;
    expect(comparison?.report.warnings?.map((warning) => warning.code)).toEqual(['inputs-changed']);
  });

  it('need two pictures of one stylus', async () => {
    const { host, baselineId, laterId } = await pairOf();
    const other = await host.ask('stylus.create', DRAFT);
    const theirs = await addPicture(host, other.id, await picture(30));
    for (const ids of [
      { baselineId, laterId: baselineId },
      { baselineId, laterId: theirs.id },
    ])
      await expect(host.ask('comparison.run', { ...ids, jobId: 'j' })).rejects.toThrow('bad-input');
    await expect(
      host.ask('comparison.run', { baselineId: 'a'.repeat(20), laterId, jobId: 'j' }),
    ).rejects.toThrow('not-found');
  });

  it('vanish with a picture that goes into the bin and come back with it', async () => {
    const { host, stylusId, baselineId, laterId } = await pairOf();
    await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    await host.ask('bin.put', { kind: 'capture', id: laterId });
    const without = await host.ask('stylus.page', { id: stylusId });
    expect([without.captures.length, without.comparisons.length]).toEqual([1, 0]);
    await host.ask('bin.takeBack', { kind: 'capture', id: laterId });
    const back = await host.ask('stylus.page', { id: stylusId });
    expect([back.captures.length, back.comparisons.length]).toEqual([2, 1]);
  });
});

describe('captures', () => {
  it('have one baseline for each view', async () => {
    const { host, stylusId, baselineId, laterId } = await pairOf();
    await host.ask('capture.update', { id: laterId, ...FACTS, isBaseline: true });
    const marked = async () =>
      (await host.ask('stylus.page', { id: stylusId })).captures.filter((c) => c.isBaseline).map((c) => c.id);
    expect(await marked()).toEqual([laterId]);
    await host.ask('capture.update', { id: baselineId, ...FACTS, view: 'side', isBaseline: true });
    expect(new Set(await marked())).toEqual(new Set([baselineId, laterId]));
  });

  it('are listed oldest first, undated last', async () => {
    const { host, stylusId } = await pairOf();
    const undated = await addPicture(host, stylusId, await picture(40), { taken: null });
    const oldest = await addPicture(host, stylusId, await picture(50), {
      taken: { wall: '2020-01-01', offset: null, source: 'person' },
    });
    const ids = (await host.ask('stylus.page', { id: stylusId })).captures.map((c) => c.id);
    expect([ids[0], ids.at(-1)]).toEqual([oldest.id, undated.id]);
  });

  it('that are in already are named when they are offered again', async () => {
    const { host, baselineId } = await pairOf();
    const bytes = new Uint8Array(await picture(10));
    const offered = await host.ask('picture.offer', { fileName: 'again.png', bytes });
    expect(offered.duplicateOf).toEqual({ captureId: baselineId, stylusName: DRAFT.name });
  });

  it('can be added once for each offer', async () => {
    const { host, stylusId } = await pairOf();
    const offered = await host.ask('picture.offer', {
      fileName: 'a.png',
      bytes: new Uint8Array(await picture(99)),
    });
    const facts = { ...FACTS, token: offered.token, stylusId };
    const both = await Promise.allSettled([host.ask('capture.add', facts), host.ask('capture.add', facts)]);
    expect(both.map((result) => result.status).toSorted()).toEqual(['fulfilled', 'rejected']);
  });

  it.each([
    ['C:\\Users\\a\\left.jpg', 'left.jpg'],
    ['../../etc/passwd', 'passwd'],
    ['a\u0000b\n\u202Egpj.exe', 'abgpj.exe'],
    ['   ', 'picture'],
    ['=HYPERLINK("x")', '=HYPERLINK("x")'],
    ['<img src=x onerror=alert(1)>.png', '<img src=x onerror=alert(1)>.png'],
  ])('keep a plain file name: %j', (name, plain) => expect(plainFileName(name)).toBe(plain));
});

describe('styluses', () => {
  it('end with a reason and a successor, which is another one', async () => {
    const { host, stylusId } = await pairOf();
    const next = await host.ask('stylus.create', DRAFT);
    const end = { id: stylusId, date: '2024-09-01', reason: 'worn', successorId: next.id };
    expect((await host.ask('stylus.retire', end)).retired).toEqual({
      date: '2024-09-01',
      reason: 'worn',
      successorId: next.id,
    });
    await expect(host.ask('stylus.retire', { ...end, successorId: stylusId })).rejects.toThrow('bad-input');
  });

  it('go into the bin and come back whole', async () => {
    const { host, stylusId } = await pairOf();
    const before = await host.ask('stylus.page', { id: stylusId });
    await host.ask('bin.put', { kind: 'stylus', id: stylusId });
    expect(await host.ask('stylus.list', {})).toEqual([]);
    await host.ask('bin.takeBack', { kind: 'stylus', id: stylusId });
    expect(await host.ask('stylus.page', { id: stylusId })).toEqual(before);
  });
});

describe('the demo collection', () => {
  const demo = {
    styluses: [
      {
        draft: { ...DRAFT, name: 'Demo' },
        captures: [0, 1].map((i) => ({
          ...FACTS,
          key: `k${i}`,
          file: `${i}.png`,
          fileName: `${i}.png`,
          isBaseline: i === 0,
          taken: { wall: `2024-0${i + 1}-01`, offset: null, source: 'invented' },
        })),
        entries: [{ kind: 'note', date: '2024-01-01', played: null, text: 'x' }],
        compare: [['k0', 'k1']],
      },
    ],
  };

  async function demoHost() {
    const demoFolder = temporaryFolder();
    writeFileSync(join(demoFolder, 'demo.json'), JSON.stringify(demo));
    for (const i of [0, 1]) writeFileSync(join(demoFolder, `${i}.png`), await picture(i * 50 + 10));
    const host = await testHost(temporaryFolder(), { workerFile: doubleWorker(), demoFolder });
    await host.start();
    return host;
  }

  it('fills a new collection once, and is measured by the engine in the background', async () => {
    const host = await demoHost();
    const [card] = await host.ask('stylus.list', {});
    expect(card).toMatchObject({ captureCount: 2, stylus: { demo: true, name: 'Demo' } });
    const page = () => host.ask('stylus.page', { id: card.stylus.id });
    await expect.poll(async () => (await page()).comparisons.length, { timeout: 20_000 }).toBe(1);
    await host.start();
    expect(await host.ask('stylus.list', {})).toHaveLength(1);
  });

  it('goes away without taking anything of a person’s, and comes back as it was', async () => {
    const host = await demoHost();
    await host.ask('stylus.create', DRAFT);
    await host.ask('demo.remove', {});
    expect((await host.ask('stylus.list', {})).map((card) => card.stylus.demo)).toEqual([false]);
    expect((await host.ask('app.info', {})).demoPresent).toBe(false);
    await host.start();
    expect((await host.ask('app.info', {})).demoPresent).toBe(false);
    await host.ask('demo.add', {});
    await host.ask('demo.add', {});
    expect((await host.ask('stylus.list', {})).filter((card) => card.stylus.demo)).toHaveLength(1);
  });
});

describe('whatever is asked', () => {
  const names = Object.keys(hostMethods) as MethodName[];

  it('gets an answer or a refusal with a sentence, and nothing is changed by nonsense', async () => {
    const { host, stylusId } = await pairOf();
    const before = await host.ask('stylus.page', { id: stylusId });
    // Methods without an argument do what they say on any object, so they are not asked here.
    const asked = names.filter((name) => !['demo.add', 'demo.remove'].includes(name));
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...asked),
        fc.anything({ withBigInt: true, withTypedArray: true }),
        async (name, input) => {
          const reply = await host.call(name, input);
          if (reply.ok) return;
          expect(reply.error.code).toMatch(/^[a-z-]+$/);
          expect(reply.error.message).toMatch(/\S.*[.:]/);
          expect(reply.error.message).not.toMatch(/\bat .*:\d+:\d+|undefined|\[object/);
        },
      ),
      { numRuns: 300 },
    );
    expect(await host.ask('stylus.page', { id: stylusId })).toEqual(before);
  });

  it('in the right shape with wild values is stored as it was said, or refused', async () => {
    const { host } = await pairOf();
    const text = fc.string({ unit: 'binary', maxLength: 40 });
    await fc.assert(
      fc.asyncProperty(text, text, fc.double({ noNaN: true }), async (name, notes, startHours) => {
        const draft = { ...DRAFT, name, notes, startHours };
        const valid = hostMethods['stylus.create'].input.safeParse(cleanText(draft));
        const reply = await host.call('stylus.create', draft);
        expect(reply.ok).toBe(valid.success);
        if (!reply.ok || !valid.success) return;
        const { id } = reply.value as { id: string };
        const { stylus } = await host.ask('stylus.page', { id });
        expect(stylus).toMatchObject({
          notes: valid.data.notes,
          startHours: (valid.data.startHours ?? 0) + 0,
        });
      }),
      { numRuns: 100 },
    );
  });

  it.each(['', 'constructor', '__proto__', 'toString', 'no.such'])(
    'by a name that is no method is refused: %j',
    async (name) => {
      const { host } = await pairOf();
      expect(await host.call(name, {})).toMatchObject({ ok: false, error: { code: 'no-such-method' } });
    },
  );

  it('after closing gets a refusal', async () => {
    const { host } = await pairOf();
    onTestFinished(() => undefined);
    await host.close();
    expect(await host.call('app.info', {})).toMatchObject({ ok: false, error: { code: 'closing' } });
  });
});
