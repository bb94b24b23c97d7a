import { beforeAll, describe, expect, it } from 'vitest';
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
});
