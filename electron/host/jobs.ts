import { Cancelled, Refusal } from '../../shared/index.ts';
import type { JobOptions } from './engine.ts';
import type { Emit } from './context.ts';

/** Running jobs by the name that the window gave them, so that it can follow and cancel them. */
export type Jobs = {
  run<T>(jobId: string, timeLimitMs: number, work: (options: JobOptions) => Promise<T>): Promise<T>;
  cancel(jobId: string): void;
  cancelAll(): void;
};

export function createJobs(emit: Emit): Jobs {
  const running = new Map<string, AbortController>();
  return {
    async run(jobId, timeLimitMs, work) {
      if (running.has(jobId)) throw new Refusal('bad-input', 'A job of that name is running already.');
      const controller = new AbortController();
      running.set(jobId, controller);
      try {
        return await work({
          timeLimitMs,
          signal: controller.signal,
          onProgress: (stage, fraction) => emit('progress', { jobId, stage, fraction }),
        });
      } catch (error) {
        if (error instanceof Cancelled) throw new Refusal('cancelled', 'Cancelled. Nothing was changed.');
        throw error;
      } finally {
        running.delete(jobId);
      }
    },
    cancel: (jobId) => running.get(jobId)?.abort(),
    cancelAll: () => {
      for (const controller of running.values()) controller.abort();
    },
  };
}
