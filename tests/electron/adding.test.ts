import { mkdirSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import type { InputOf, Offered } from '../../shared/index.ts';
import { DRAFT, FACTS, buildHost, picture, temporaryFolder, testHost } from './support.ts';
import type { TestHost } from './support.ts';

/** Many pictures at once: all of them or none, whatever happens on the way. */
beforeAll(buildHost);

async function offerSome(host: TestHost, count: number): Promise<Offered[]> {
  const offers: Offered[] = [];
  for (let i = 0; i < count; i++)
    offers.push(
      await host.ask('picture.offer', { fileName: `${i}.png`, bytes: new Uint8Array(await picture(30 + i)) }),
    );
  return offers;
}

const adding = (offers: readonly Offered[], stylusId: string): InputOf<'capture.addAll'> => ({
  jobId: 'adding',
  captures: offers.map(({ token }) => ({ ...FACTS, token, stylusId })),
});

const stored = (folder: string): string[] => {
  try {
    return readdirSync(join(folder, 'originals'));
  } catch {
    return [];
  }
};

describe('many pictures at once', () => {
  it('come in together, in their order, as one step of undo', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const offers = await offerSome(host, 4);
    const stages: string[] = [];
    host.listen((name, event) => {
      if (name === 'progress') stages.push((event as { stage: string }).stage);
    });
    const { ids } = await host.ask('capture.addAll', adding(offers, stylus.id));
    expect(ids).toHaveLength(4);
    expect(stages).toContain('Picture 4 of 4');
    expect(stored(folder)).toHaveLength(4);
    const page = await host.ask('stylus.page', { id: stylus.id });
    expect(page.captures.map((one) => one.fileName).toSorted()).toEqual(offers.map((one) => one.fileName));
    // Nothing waits any more: neither to be added again nor on the disk.
    expect(await host.call('capture.addAll', adding(offers, stylus.id))).toMatchObject({
      error: { code: 'no-such-picture' },
    });
    expect(readdirSync(join(folder, 'incoming'))).toEqual([]);
  }, 30_000);

  it('stay out together when one of them cannot be stored, and still wait', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const offers = await offerSome(host, 3);
    // The last one's waiting file is gone: the move fails after two have been moved.
    const waiting = join(folder, 'incoming', offers[2].token);
    rmSync(waiting);
    const reply = await host.call('capture.addAll', adding(offers, stylus.id));
    expect(reply.ok).toBe(false);
    expect(stored(folder)).toEqual([]);
    expect((await host.ask('stylus.page', { id: stylus.id })).captures).toEqual([]);
    writeFileSync(waiting, await picture(32));
    expect((await host.ask('capture.addAll', adding(offers, stylus.id))).ids).toHaveLength(3);
  }, 30_000);

  it('stay out together when it is cancelled on the way', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const stylus = await host.ask('stylus.create', DRAFT);
    const offers = await offerSome(host, 6);
    let cancelled = false;
    host.listen((name, event) => {
      if (cancelled || name !== 'progress') return;
      if ((event as { stage: string }).stage !== 'Picture 3 of 6') return;
      cancelled = true;
      void host.call('job.cancel', { jobId: 'adding' });
    });
    const reply = await host.call('capture.addAll', adding(offers, stylus.id));
    expect(cancelled).toBe(true);
    expect(reply).toMatchObject({ ok: false, error: { code: 'cancelled' } });
    expect(stored(folder)).toEqual([]);
    expect(readdirSync(join(folder, 'incoming')).toSorted()).toEqual(
      offers.map((one) => one.token).toSorted(),
    );
    expect((await host.ask('capture.addAll', adding(offers, stylus.id))).ids).toHaveLength(6);
  }, 30_000);

  it('leave files without rows to the bin when the program died in between', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    await host.close();
    mkdirSync(join(folder, 'originals'), { recursive: true });
    const orphan = `${'a'.repeat(64)}.png`;
    writeFileSync(join(folder, 'originals', orphan), await picture(50));
    const again = await testHost(folder);
    expect(stored(folder)).toEqual([]);
    expect(readdirSync(join(folder, 'bin'))).toEqual([orphan]);
    await again.close();
  }, 30_000);

  it('refuse a list that names a picture twice, a stylus that is not there, and an empty list', async () => {
    const host = await testHost(temporaryFolder());
    const stylus = await host.ask('stylus.create', DRAFT);
    const [one] = await offerSome(host, 1);
    const twice = await host.call('capture.addAll', adding([one, one], stylus.id));
    expect(twice).toMatchObject({ error: { code: 'bad-input' } });
    const nobody = await host.call('capture.addAll', adding([one], 'nobody00000'));
    expect(nobody).toMatchObject({ error: { code: 'not-found' } });
    expect(await host.call('capture.addAll', adding([], stylus.id))).toMatchObject({
      error: { code: 'bad-input' },
    });
    expect((await host.ask('capture.addAll', adding([one], stylus.id))).ids).toHaveLength(1);
  }, 30_000);
});

describe('an offered picture', () => {
  it('comes with a small copy and with guesses that say where they are from', async () => {
    const host = await testHost(temporaryFolder());
    const offered = await host.ask('picture.offer', {
      fileName: '2024-03-01 end-on ring.png',
      bytes: new Uint8Array(await picture(30)),
    });
    expect(offered.preview?.subarray(0, 3)).toEqual(new Uint8Array([0xff, 0xd8, 0xff]));
    expect(offered.guess).toMatchObject({
      view: { value: 'end-on', from: 'file-name' },
      light: { value: 'ring', from: 'file-name' },
      slide: false,
    });
  });
});
