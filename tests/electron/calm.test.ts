import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { createCalm } from '../../electron/host/calm.ts';
import { Cancelled, Refusal } from '../../shared/index.ts';

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

/** When a promise settled, on the clock of the test; null while it has not. */
function settledAt(promise: Promise<unknown>): () => number | null {
  const began = performance.now();
  let at: number | null = null;
  const note = (): void => void (at = performance.now() - began);
  promise.then(note, note);
  return () => at;
}
const forMs = (ms: number) =>
  new Promise<void>((resolve) => {
    setTimeout(resolve, ms);
  });
const nothing = async (): Promise<void> => undefined;

describe('a calm moment', () => {
  it('is there at once when the last call is long over', async () => {
    const calm = createCalm();
    await calm.during(nothing);
    await vi.advanceTimersByTimeAsync(500);
    const at = settledAt(calm.until(400, 3000));
    await vi.advanceTimersByTimeAsync(0);
    expect(at()).toBe(0);
  });

  it('begins so long after the last call, however many there are', async () => {
    const calm = createCalm();
    void calm.during(() => forMs(100));
    void calm.during(() => forMs(700));
    const at = settledAt(calm.until(400, 5000));
    await vi.advanceTimersByTimeAsync(1000);
    void calm.during(() => forMs(50));
    await vi.advanceTimersByTimeAsync(5000);
    expect(at()).toBeGreaterThanOrEqual(1450);
    expect(at()).toBeLessThan(1500);
  });

  it('does not come before the window has called for the first time', async () => {
    const calm = createCalm();
    const at = settledAt(calm.until(100, 3000));
    await vi.advanceTimersByTimeAsync(1000);
    expect(at()).toBeNull();
    void calm.during(nothing);
    await vi.advanceTimersByTimeAsync(1000);
    expect(at()).toBeGreaterThanOrEqual(1100);
    expect(at()).toBeLessThan(1150);
  });

  it('is not waited for longer than that, even by a call that never ends', async () => {
    const calm = createCalm();
    void calm.during(() => new Promise(() => undefined));
    const at = settledAt(calm.until(400, 3000));
    await vi.advanceTimersByTimeAsync(4000);
    expect(at()).toBe(3000);
  });

  it('is given up at once when somebody cancels, or the program closes', async () => {
    const calm = createCalm();
    const stop = new AbortController();
    const cancelled = calm.until(400, 60_000, stop.signal).catch((error: unknown) => error);
    const closing = calm.until(400, 60_000).catch((error: unknown) => error);
    stop.abort();
    expect(await cancelled).toBeInstanceOf(Cancelled);
    calm.end();
    expect(await closing).toBeInstanceOf(Refusal);
    await expect(calm.until(0, 1000)).rejects.toMatchObject({ code: 'closing' });
    expect(vi.getTimerCount()).toBe(0);
  });

  it('counts a call that fails as over', async () => {
    const calm = createCalm();
    await expect(calm.during(() => Promise.reject(new Error('no')))).rejects.toThrow('no');
    const at = settledAt(calm.until(0, 3000));
    await vi.advanceTimersByTimeAsync(0);
    expect(at()).toBe(0);
  });
});
