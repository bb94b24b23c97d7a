import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { fit } from '../../core/wear/index.ts';
import { createEngine } from '../../electron/host/engine.ts';
import { fitOnce, isFitted, keepLaw } from '../../electron/host/wear/laws.ts';
import { buildHost, workerFile } from './support.ts';

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

  it('may be none', async () => {
    expect(fitOnce([], false)).toBe(null);
    expect(fitOnce([], false)).toBe(null);
  });
});
