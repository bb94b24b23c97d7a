import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { fit } from '../../core/wear/index.ts';
import { createEngine } from '../../electron/host/engine.ts';
import { realDisk } from '../../electron/host/store/disk.ts';
import { fitOnce, isFitted, isLawOf, keepLaw, recallLaw, storeLaw } from '../../electron/host/wear/laws.ts';
import { buildHost, temporaryFolder, workerFile } from './support.ts';

beforeAll(buildHost);

const points = (count: number) =>
  Array.from({ length: count }, (_, i) => ({
    hours: 10 * (i + 1),
    hoursStandard: i + 1,
    widthUm: (4 + 9 * (i + 1)) ** (1 / 3.5) + 0.2 * Math.sin(7 * i),
    widthStandard: 0.3,
  }));

describe('a law fitted in a thread of its own', () => {
  it('is the very same, and is fitted once', async () => {
    const engine = createEngine({ workerFile, threads: 1 });
    onTestFinished(() => engine.close());
    const own = points(40);
    expect(isFitted(own, false)).toBe(false);
    const answer = await engine.run('law', { points: own, unknownStart: false }, { timeLimitMs: 60_000 });
    if (!answer.ok) throw new Error(answer.reason.message);
    expect(answer.value).toEqual(fit(own, false));
    keepLaw(own, false, answer.value);
    expect(isFitted(own, false)).toBe(true);
    expect(fitOnce(own, false)).toBe(answer.value);
    expect(isFitted(own, true)).toBe(false);
  });

  it('stands in the collection for the next start, for these points only', async () => {
    const folder = temporaryFolder();
    const collection = { folder, disk: realDisk };
    const wall = { stylusId: 'abc', side: 'left' as const };
    const [own, others, again] = [points(31), points(32), points(33)];
    const law = fit(own, true)!;
    await storeLaw(collection, wall, own, true, law);
    expect(await recallLaw(collection, wall, others, true)).toBe(false);
    expect(await recallLaw(collection, wall, own, false)).toBe(false);
    expect(await recallLaw(collection, { ...wall, side: 'right' }, own, true)).toBe(false);
    expect(isFitted(own, true)).toBe(false);
    expect(await recallLaw(collection, wall, own, true)).toBe(true);
    expect(fitOnce(own, true)).toEqual(law);
    await storeLaw(collection, wall, again, true, law);
    const [file] = readdirSync(join(folder, 'derived'));
    expect(readdirSync(join(folder, 'derived'))).toHaveLength(1);
    expect(isLawOf(file, (id) => id === 'abc')).toBe(true);
    const bytes = readFileSync(join(folder, 'derived', file));
    writeFileSync(join(folder, 'derived', file), bytes.subarray(0, -8));
    expect(await recallLaw(collection, wall, again, true)).toBe(false);
  });

  it('may be none', async () => {
    expect(fitOnce([], false)).toBe(null);
    expect(fitOnce([], false)).toBe(null);
  });
});
