import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { InputOf, OfferDraft, PassageDraft } from '../../shared/index.ts';
import { harmonicsFor, makePassage, makeTone, playPassage } from '../core/listening/signals.ts';
import { addPicture, buildHost, DRAFT, picture, sha256, temporaryFolder, testHost } from './support.ts';
import type { TestHost } from './support.ts';
import { wavFile } from './sound/wav-file.ts';

const BAND: PassageDraft = {
  kind: 'tone',
  name: '1 kHz, left and right',
  place: 'own test record, side A, band 2',
  groove: 'outer',
  toneHz: 1000,
  cutOn: 'both',
  notes: '',
};
const tone = (thd: number, seed: number): Uint8Array<ArrayBuffer> => {
  const make = { sampleRate: 48_000, seconds: 3, hz: 1000, harmonics: harmonicsFor(thd), speedError: 0.004 };
  const channel = makeTone({ ...make, snrDb: 60, seed });
  return wavFile({ channels: [channel, channel.map((x) => 0.9 * x)], format: 'int24' });
};

async function record(
  host: TestHost,
  bytes: Uint8Array<ArrayBuffer>,
  facts: Omit<InputOf<'recording.add'>, 'token' | 'cleaning' | 'notes'>,
) {
  const offered = await host.ask('sound.offer', { fileName: 'C:\\takes\\a.wav', bytes });
  return host.ask('recording.add', { ...facts, token: offered.token, cleaning: 'none', notes: '' });
}

describe('listening through the host', () => {
  it('keeps a recording as it came, measures it in a thread, and compares then with now', async () => {
    buildHost();
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const band = await host.ask('passage.add', BAND);
    const about = { stylusId: stylus.id, passageId: band.id };
    const bytes = tone(0.004, 1);
    const first = await record(host, bytes, { ...about, recordedOn: '2024-01-02' });
    expect(first).toMatchObject({ fileName: 'a.wav', bits: 24, channelCount: 2, tone: null });
    const stored = join(folder, 'originals', `${sha256(bytes)}.wav`);
    expect(Buffer.from(bytes).equals(readFileSync(stored))).toBe(true);
    expect(readdirSync(join(folder, 'incoming'))).toEqual([]);

    const stages: number[] = [];
    host.listen((name, event) => {
      if (name === 'progress') stages.push((event as { fraction: number }).fraction);
    });
    const measured = await host.ask('recording.measure', { id: first.id, jobId: 'a' });
    if (!measured.tone?.ok) throw new Error('no answer');
    expect(measured.tone.value.channels[0].thdPercent.value).toBeCloseTo(0.4, 1);
    expect(measured.tone.value.balanceDb?.value).toBeCloseTo(0.915, 1);
    expect(stages.length).toBeGreaterThan(0);

    // A worn tip distorts more: the advice sees it, and asks for the other causes first.
    const second = await record(host, tone(0.02, 2), { ...about, recordedOn: '2025-01-02' });
    await host.ask('recording.measure', { id: second.id, jobId: 'b' });
    const advice = await host.ask('advice.of', { stylusId: stylus.id });
    const step = advice.steps.find((one) => one.rule === 'recorded');
    expect(step).toMatchObject({ state: 'speaks', outcome: 'check-set-up' });
    expect(step?.inputs[0].value).toMatch(/^0\.(399|400|401)\d* ± .*%, now (2\.00|1\.99)/);

    // Another frequency: what was measured is no longer this band's.
    await host.ask('passage.update', { id: band.id, draft: { ...BAND, toneHz: 3150 } });
    const page = await host.ask('listening.page', { stylusId: stylus.id });
    expect(page.recordings.map((one) => one.tone)).toEqual([null, null]);
    await host.ask('bin.put', { kind: 'recording', id: first.id });
    expect((await host.ask('listening.page', { stylusId: stylus.id })).recordings).toHaveLength(1);
    await host.ask('bin.takeBack', { kind: 'recording', id: first.id });
    expect((await host.ask('listening.page', { stylusId: stylus.id })).recordings).toHaveLength(2);
  }, 90_000);

  it('refuses what is no recording, keeps nothing of it, and cancels', async () => {
    buildHost();
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const bad = new TextEncoder().encode('ID3 this is something else');
    await expect(host.ask('sound.offer', { fileName: 'x.mp3', bytes: bad })).rejects.toThrow(
      /unreadable-sound: The file is an MP3 file/,
    );
    expect(readdirSync(join(folder, 'incoming'))).toEqual([]);
    const stylus = await host.ask('stylus.create', DRAFT);
    const passage = await host.ask('passage.add', { ...BAND, kind: 'passage', name: 'song', toneHz: null });
    const about = { stylusId: stylus.id, passageId: passage.id };
    const music = makePassage(8, 5);
    const take = (seed: number, start: number) =>
      wavFile({
        sampleRate: 44_100,
        channels: [playPassage(music, 44_100, 6, (t) => start + 1.004 * t, { sigma: 1e-3, seed })],
      });
    const early = await record(host, take(1, 0.2), { ...about, recordedOn: '2024-01-02' });
    const late = await record(host, take(2, 0.5), { ...about, recordedOn: '2025-01-02' });
    await expect(host.ask('recording.measure', { id: early.id, jobId: 'c' })).rejects.toThrow(/test band/);
    const pair = { earlierId: early.id, laterId: late.id };
    const running = host.ask('recording.compare', { ...pair, jobId: 'd' });
    await host.ask('job.cancel', { jobId: 'd' });
    await expect(running).rejects.toThrow(/cancelled/);
    expect((await host.ask('listening.page', { stylusId: stylus.id })).comparisons).toEqual([]);
    const compared = await host.ask('recording.compare', { ...pair, jobId: 'e' });
    if (!compared.report.ok) throw new Error(compared.report.reason.message);
    expect(compared.report.value.offsetSeconds).toBeCloseTo(-0.3 / 1.004, 3);
    expect(compared.report.value.residualSamples).toBeLessThan(1);
  }, 120_000);
});

describe('advice through the host', () => {
  it('carries a confirmed chip, a bent cantilever and a turned diamond into "take it off now"', async () => {
    buildHost();
    const host = await testHost(temporaryFolder());
    for (const [kind, rule] of [
      ['chip', 'chip'],
      ['bent-cantilever', 'bent-cantilever'],
      ['turned-diamond', 'diamond'],
    ] as const) {
      const stylus = await host.ask('stylus.create', { ...DRAFT, name: kind });
      const capture = await addPicture(host, stylus.id, await picture(40 + kind.length));
      const before = await host.ask('advice.of', { stylusId: stylus.id });
      expect(before.outcome).toBe('cannot-tell');
      const draft: InputOf<'mark.add'>['draft'] = {
        stylusId: stylus.id,
        view: 'front',
        captureId: capture.id,
        kind,
        state: 'suspected',
        frame: 'picture',
        unit: 'px',
        shape: { type: 'point', at: [10, 12] },
        size: null,
        note: '',
        seenBy: '',
        seenOn: '2024-03-01',
        proposed: null,
      };
      const mark = await host.ask('mark.add', { draft });
      const open = await host.ask('advice.of', { stylusId: stylus.id });
      expect(open.outcome).toBe('look-again');
      await host.ask('mark.update', { id: mark.id, draft: { ...draft, state: 'confirmed' } });
      const after = await host.ask('advice.of', { stylusId: stylus.id });
      expect(after.outcome, kind).toBe('take-off');
      expect(after.steps.find((step) => step.rule === rule)?.state).toBe('speaks');
      await host.ask('mark.update', { id: mark.id, draft: { ...draft, state: 'rejected' } });
      expect((await host.ask('advice.of', { stylusId: stylus.id })).outcome).toBe('cannot-tell');
    }
  }, 60_000);

  it('says replace when the history is unknown, and asks for other causes before it blames the stylus', async () => {
    buildHost();
    const host = await testHost(temporaryFolder());
    const unknown = await host.ask('stylus.create', { ...DRAFT, startHours: null });
    expect((await host.ask('advice.of', { stylusId: unknown.id })).outcome).toBe('order-one');
    const stylus = await host.ask('stylus.create', DRAFT);
    const stylusId = stylus.id;
    await host.ask('entry.add', {
      stylusId,
      kind: 'listening',
      date: '2024-05-01',
      played: null,
      text: 'Sibilants splash on the last song.',
      listening: { cleaning: 'after', passageIds: [], heard: [], verdict: 'worse' },
    });
    const advice = () => host.ask('advice.of', { stylusId });
    expect(await advice()).toMatchObject({ outcome: 'check-set-up' });
    expect((await advice()).ruleOutFirst).toHaveLength(6);
    const answer = (cause: InputOf<'cause.answer'>['cause'], given: InputOf<'cause.answer'>['answer']) =>
      host.ask('cause.answer', { stylusId, cause, answer: given, date: '2024-05-02', note: '' });
    for (const cause of ['dirt', 'alignment', 'tracking-force', 'azimuth', 'record'] as const)
      await answer(cause, 'in-order');
    expect((await advice()).ruleOutFirst).toEqual(['anti-skating']);
    await answer('anti-skating', 'found');
    expect((await advice()).steps.find((one) => one.rule === 'set-up-found')?.state).toBe('speaks');
    await answer('anti-skating', 'put-right');
    expect(await advice()).toMatchObject({ outcome: 'order-one', ruleOutFirst: [] });
    await answer('record', 'found');
    expect((await advice()).outcome).not.toBe('order-one');
  }, 60_000);
});

describe('residue', () => {
  it('that is still there after a cleaning is a finding of its own; gone from the next picture it is none', async () => {
    buildHost();
    const host = await testHost(temporaryFolder());
    const { id: stylusId } = await host.ask('stylus.create', DRAFT);
    const rule = async (name: string) =>
      (await host.ask('advice.of', { stylusId })).steps.find((step) => step.rule === name)?.state;
    const lookOn = async (day: string, shade: number, withResidue: boolean) => {
      const taken = { wall: day, offset: null, source: 'person' as const };
      const capture = await addPicture(host, stylusId, await picture(shade), { taken });
      if (!withResidue) return;
      await host.ask('mark.add', {
        draft: {
          stylusId,
          view: 'front',
          captureId: capture.id,
          kind: 'residue',
          state: 'confirmed',
          frame: 'picture',
          unit: 'px',
          shape: { type: 'point', at: [1, 1] },
          size: null,
          note: '',
          seenBy: '',
          seenOn: day,
          proposed: null,
        },
      });
    };
    await lookOn('2024-03-01', 30, true);
    expect([await rule('residue'), await rule('residue-stays')]).toEqual(['speaks', 'silent']);
    const cleaning = {
      stylusId,
      kind: 'cleaning' as const,
      date: '2024-03-02',
      played: null,
      text: 'Brush.',
    };
    await host.ask('entry.add', cleaning);
    await lookOn('2024-03-03', 60, true);
    expect([await rule('residue'), await rule('residue-stays')]).toEqual(['silent', 'speaks']);
    await lookOn('2024-06-03', 90, false);
    expect([await rule('residue'), await rule('residue-stays')]).toEqual(['silent', 'silent']);
  }, 60_000);
});

describe('a used turntable on offer', () => {
  const OFFER: OfferDraft = {
    title: 'Belt-driven deck, invented',
    day: '2024-06-01',
    seller: 'a flea market',
    cartridge: 'as found',
    price: 120,
    currency: 'EUR',
    checks: [{ part: 'lead-and-plug', answer: 'faulty', note: 'two cores, cracked' }],
    statements: [{ about: 'hours', said: 'hardly used', finding: '', verdict: 'open' }],
    costs: [{ what: 'New stylus', amount: 60 }],
    notes: '',
  };

  it('is kept with a stylus of unknown history, changed and put into the bin', async () => {
    buildHost();
    const host = await testHost(temporaryFolder());
    const offer = await host.ask('offer.create', OFFER);
    expect((await host.ask('stylus.page', { id: offer.stylusId })).stylus.startHours).toBeNull();
    await addPicture(host, offer.stylusId, await picture());
    const draft = { ...OFFER, price: 80 };
    await host.ask('offer.update', { id: offer.id, draft });
    expect(await host.ask('offer.page', { id: offer.id })).toMatchObject({
      offer: { price: 80, checks: OFFER.checks },
      captures: [{ stylusId: offer.stylusId }],
    });
    await host.ask('bin.put', { kind: 'offer', id: offer.id });
    expect(await host.ask('offer.list', {})).toEqual([]);
    await host.ask('bin.takeBack', { kind: 'offer', id: offer.id });
    expect(await host.ask('offer.list', {})).toHaveLength(1);
  }, 60_000);
});
