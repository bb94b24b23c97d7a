import { beforeAll, describe, expect, it } from 'vitest';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from './support.ts';

beforeAll(buildHost);

describe('pictures', () => {
  it('are not asked for what their view cannot show, and keep no finding of it', async () => {
    const host = await testHost(temporaryFolder());
    const { id: stylusId } = await host.ask('stylus.create', DRAFT);
    const below = await addPicture(host, stylusId, await picture(30), { view: 'below' });
    const front = await addPicture(host, stylusId, await picture(40));
    const ends = await Promise.all(
      [50, 60].map(async (grey) => addPicture(host, stylusId, await picture(grey), { view: 'end-on' })),
    );
    await expect(host.ask('capture.examine', { id: below.id, jobId: 'a' })).rejects.toThrow(
      /^tip-not-found: This is a cantilever view: .* Measure the cantilever instead/,
    );
    await expect(host.ask('capture.cantilever', { id: front.id, jobId: 'b' })).rejects.toThrow(
      /^cantilever-not-found: /,
    );
    const [baselineId, laterId] = ends.map(({ id }) => id);
    await expect(host.ask('comparison.run', { baselineId, laterId, jobId: 'c' })).rejects.toThrow(
      /^registration-failed: .* Examine each end-on picture by itself/,
    );
    const page = await host.ask('stylus.page', { id: stylusId });
    expect(page.comparisons).toEqual([]);
    for (const one of page.captures) expect([one.examination, one.cantilever]).toEqual([null, null]);
  });
});
