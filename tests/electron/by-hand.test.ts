import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { DRAFT, addPicture, buildHost, picture, temporaryFolder, testHost } from './support.ts';

beforeAll(buildHost);

/** A thread that refuses every pair and puts into the sentence with which placing it was asked. */
function echoingWorker(): string {
  const file = join(temporaryFolder(), 'echo.mjs');
  writeFileSync(
    file,
    `import { parentPort } from 'node:worker_threads';
    parentPort.on('message', ({ number, kind, input }) => {
      const done = (output) => parentPort.postMessage({ number, type: 'done', output, spoilt: false });
      if (kind === 'inspect') return done({ ok: true, value: { mediaType: 'image/png', widthPx: 64, heightPx: 48, taken: null, warnings: [] } });
      const message = JSON.stringify([input.baselinePoseHint ?? null, input.laterPoseHint ?? null]);
      done({ ok: true, value: { ok: false, reason: { code: 'registration-failed', message } } });
    });`,
  );
  return file;
}

const pose = (xPx: number) => ({ xPx, yPx: 20, rotationDeg: 1, umPerPx: 1.01 });

describe('a pair that was laid over each other by hand', () => {
  it('is measured from there, and how it was laid stays with the result, a refusal too', async () => {
    const host = await testHost(temporaryFolder(), { workerFile: echoingWorker() });
    const { id: stylusId } = await host.ask('stylus.create', DRAFT);
    const { id: baselineId } = await addPicture(host, stylusId, await picture(10), { isBaseline: true });
    const { id: laterId } = await addPicture(host, stylusId, await picture(20));
    const hand = { baseline: pose(30), later: pose(34) };
    const told = (made: { report: { ok: boolean } }) =>
      JSON.parse((made.report as unknown as { reason: { message: string } }).reason.message) as unknown;
    const helped = await host.ask('comparison.run', { baselineId, laterId, jobId: 'j', hand });
    expect(told(helped)).toEqual([hand.baseline, hand.later]);
    const kept = (await host.ask('stylus.page', { id: stylusId })).comparisons;
    expect(kept.map((one) => one.hand)).toEqual([hand]);
    const alone = await host.ask('comparison.run', { baselineId, laterId, jobId: 'j' });
    expect(told(alone)).toEqual([null, null]);
    expect(alone.hand).toBeNull();
  });
});
