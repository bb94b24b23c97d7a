import { beforeAll, expect, it, vi } from 'vitest';
import { buildHost, temporaryFolder, testHost } from './support.ts';

beforeAll(buildHost);

it('a collection is tended once, however often the host is started', async () => {
  const host = await testHost(temporaryFolder());
  const said = vi.spyOn(process.stderr, 'write');
  await host.start();
  await host.start();
  await new Promise((resolve) => void setTimeout(resolve, 50));
  // The backup of the first start waits still; a second one has nothing to complain about.
  expect(said.mock.calls.join()).not.toContain('automatic backup');
  said.mockRestore();
});
