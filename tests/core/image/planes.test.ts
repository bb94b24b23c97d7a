import { describe, expect, it } from 'vitest';
import { withPlanes } from '../../../core/image/planes.ts';

describe('planes that measurements hand on', () => {
  const takenBy = (...lengths: number[]): Promise<Float32Array[]> =>
    withPlanes(({ take }) => Promise.resolve(lengths.map(take)));

  it('are used again once a measurement has ended, and never twice at a time', async () => {
    const first = await takenBy(1000, 1000);
    expect(first[0]).not.toBe(first[1]);
    const second = await takenBy(1000, 1000, 1000);
    expect(new Set(second).size).toBe(3);
    expect(second.filter((plane) => first.includes(plane))).toHaveLength(2);
  });

  it('are those of no other measurement that is still going on', async () => {
    await takenBy(2000, 2000);
    let done = (): void => undefined;
    const going = new Promise<void>((resolve) => (done = resolve));
    let mine: Float32Array | null = null;
    const outer = withPlanes(async ({ take }) => {
      mine = take(2000);
      await going;
    });
    const inner = await takenBy(2000, 2000);
    expect(inner).not.toContain(mine);
    done();
    await outer;
  });

  it('are given back by a measurement that broke down', async () => {
    let lost: Float32Array | null = null;
    const broken = withPlanes(({ take }) => {
      lost = take(3000);
      return Promise.reject(new Error('broken'));
    });
    await expect(broken).rejects.toThrow('broken');
    expect(await takenBy(3000)).toContain(lost);
  });

  it('have the length that was asked for, and huge ones are not kept', async () => {
    const [huge] = await takenBy(7_000_000);
    expect(huge.length).toBe(7_000_000);
    const [other] = await takenBy(7_000_000);
    expect(other === huge).toBe(false);
    const [small] = await takenBy(10);
    expect(small.length).toBe(10);
  });
});
