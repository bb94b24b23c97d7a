import { Cancelled, Refusal } from '../../shared/index.ts';

/** How busy the window keeps the host, for work that nobody waits for: it steps back while somebody does. */
export type Calm = {
  /** Counts a call of the window for as long as it lasts. */
  during<T>(call: () => Promise<T>): Promise<T>;
  /**
   * Resolves when the window has called once, nothing of it is under way and nothing was for `forMs`; after `atMostMs`
   * in any case. Rejects when `signal` aborts or the program closes.
   */
  until(forMs: number, atMostMs: number, signal?: AbortSignal): Promise<void>;
  end(): void;
};

/** How often somebody looks again for a call that is under way, or for the first one. */
const AGAIN_MS = 10;

export function createCalm(): Calm {
  let busy = 0;
  /** When the last call ended; null before the first one. */
  let lastAt: number | null = null;
  let ended = false;
  const sleepers = new Set<() => void>();
  const sleep = (ms: number): Promise<void> =>
    new Promise((resolve) => {
      const wake = (): void => {
        clearTimeout(timer);
        sleepers.delete(wake);
        resolve();
      };
      const timer = setTimeout(wake, ms);
      sleepers.add(wake);
    });
  const wakeAll = (): void => sleepers.forEach((wake) => wake());
  return {
    async during(call) {
      busy++;
      try {
        return await call();
      } finally {
        busy--;
        lastAt = performance.now();
      }
    },
    async until(forMs, atMostMs, signal) {
      signal?.addEventListener('abort', wakeAll);
      try {
        for (const end = performance.now() + atMostMs; ;) {
          if (ended) throw new Refusal('closing', 'The program is closing. What was saved is safe.');
          if (signal?.aborted) throw new Cancelled('cancelled');
          const now = performance.now();
          const missing = busy > 0 || lastAt === null ? AGAIN_MS : lastAt + forMs - now;
          if (missing <= 0 || now >= end) return;
          await sleep(Math.min(missing, end - now));
        }
      } finally {
        signal?.removeEventListener('abort', wakeAll);
      }
    },
    end() {
      ended = true;
      wakeAll();
    },
  };
}
