import { beforeAll, describe, expect, it } from 'vitest';
import type { MarkDraft } from '../../shared/index.ts';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from './support.ts';

beforeAll(buildHost);

async function withPicture(folder = temporaryFolder()) {
  const host = await testHost(folder);
  const { id: stylusId } = await host.ask('stylus.create', DRAFT);
  const capture = await addPicture(host, stylusId, await picture(10));
  const draft: MarkDraft = {
    stylusId,
    view: 'front',
    captureId: capture.id,
    kind: 'chip',
    state: 'confirmed',
    frame: 'tip',
    unit: 'um',
    shape: { type: 'line', from: [3, 17], to: [6, 14.5] },
    size: { value: 3.9, expanded: 0.6, unit: 'um', source: 'drawn' },
    note: 'seen under both lights',
    seenBy: 'the owner',
    seenOn: '2024-06-01',
    proposed: { kind: 'chip', angleDeg: 75, sizeUm: 4, depthUm: 1.2 },
  };
  return { host, folder, stylusId, capture, draft };
}

describe('marks in the collection', () => {
  it('come back whole, on the page of their stylus too, and after the program was started again', async () => {
    const { host, folder, stylusId, draft } = await withPicture();
    const mark = await host.ask('mark.add', { draft });
    expect(mark).toMatchObject(draft);
    expect((await host.ask('stylus.page', { id: stylusId })).marks).toEqual([mark]);
    await host.close();
    const again = await testHost(folder);
    expect(await again.ask('mark.list', { stylusId })).toEqual([mark]);
  });

  it('are taken back by what was done: an answer to a suspicion is no new mark', async () => {
    const { host, draft } = await withPicture();
    const title = async (change: Partial<MarkDraft>): Promise<string> => {
      await host.ask('mark.add', { draft: { ...draft, ...change } });
      return (await host.ask('history.undo', { number: null })).title;
    };
    expect(await title({ state: 'rejected' })).toBe('rejecting a suspicion');
    expect(await title({ state: 'confirmed' })).toBe('confirming a suspicion');
    expect(await title({ state: 'suspected' })).toBe('keeping a suspicion');
    expect(await title({ state: 'rejected', proposed: null })).toBe('new mark');
  });

  it('change as a whole and keep their id', async () => {
    const { host, stylusId, draft } = await withPicture();
    const { id } = await host.ask('mark.add', { draft });
    const state = 'rejected' as const;
    const changed = await host.ask('mark.update', { id, draft: { ...draft, state, size: null } });
    expect(changed).toMatchObject({ id, state, size: null });
    expect(await host.ask('mark.list', { stylusId })).toEqual([changed]);
  });

  it('go into the bin and come back from it', async () => {
    const { host, stylusId, draft } = await withPicture();
    const { id } = await host.ask('mark.add', { draft });
    await host.ask('bin.put', { kind: 'mark', id });
    expect(await host.ask('mark.list', { stylusId })).toEqual([]);
    await host.ask('bin.takeBack', { kind: 'mark', id });
    expect(await host.ask('mark.list', { stylusId })).toHaveLength(1);
  });

  it('are away as long as their picture is in the bin', async () => {
    const { host, stylusId, capture, draft } = await withPicture();
    await host.ask('mark.add', { draft });
    await host.ask('bin.put', { kind: 'capture', id: capture.id });
    expect(await host.ask('mark.list', { stylusId })).toEqual([]);
    await host.ask('bin.takeBack', { kind: 'capture', id: capture.id });
    expect(await host.ask('mark.list', { stylusId })).toHaveLength(1);
  });

  it('are refused with a sentence on a picture of another stylus or view', async () => {
    const { host, draft } = await withPicture();
    const other = await host.ask('stylus.create', { ...DRAFT, name: 'Another' });
    await expect(host.ask('mark.add', { draft: { ...draft, stylusId: other.id } })).rejects.toThrow(
      /different styluses/,
    );
    await expect(host.ask('mark.add', { draft: { ...draft, view: 'side' } })).rejects.toThrow(
      /different views/,
    );
    await expect(host.ask('mark.add', { draft: { ...draft, captureId: 'nosuchcapture' } })).rejects.toThrow(
      /not in the/,
    );
  });

  it('stand on the condition sheet with who saw them; rejected ones do not, and a note stays text', async () => {
    const { host, stylusId, draft } = await withPicture();
    const note = '<b>edge</b> only under ring light';
    await host.ask('mark.add', { draft: { ...draft, note } });
    await host.ask('mark.add', { draft: { ...draft, state: 'rejected', kind: 'crack' } });
    const { html } = await host.ask('sheet.html', { stylusId, comparisonId: null, paper: 'A4' });
    expect(html).toContain('Marked by whoever looked');
    expect(html).toContain('3.90\u00A0±\u00A00.60\u00A0µm');
    expect(html).toContain('1\u00A0Jun\u00A02024, the owner');
    expect(html).toContain('&lt;b&gt;edge&lt;/b&gt;');
    expect(html).not.toContain('Crack');
  });
});
