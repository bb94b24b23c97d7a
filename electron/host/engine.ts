import { Cancelled } from '../../shared/index.ts';
import type { WorkerAhead } from './engine-start.ts';
import { startThread } from './engine-thread.ts';
import type { Thread, ThreadLimits } from './engine-thread.ts';
import type { JobInput, JobKind, JobOutput } from './engine-protocol.ts';

export type JobOptions = {
  /** Counted from the moment a thread takes the job up. */
  readonly timeLimitMs: number;
  readonly onProgress?: (stage: string, fraction: number) => void;
  readonly signal?: AbortSignal;
  /** Waits for as long as any other job does: forty wear laws must not keep a picture from whoever looks for it. */
  readonly afterOthers?: boolean;
};

export type Engine = {
  /** Answers, refuses, or rejects with Cancelled; it never hangs longer than the time limit. */
  run<K extends JobKind>(kind: K, input: JobInput<K>, options: JobOptions): Promise<JobOutput<K>>;
  close(): Promise<void>;
};

export type EngineOptions = {
  readonly workerFile: string;
  readonly threads: number;
  /** Of memory; the usual ones when left out. */
  readonly limits?: ThreadLimits;
  /** A thread that is starting already; the first job gets it. */
  readonly ahead?: WorkerAhead | undefined;
};

type Waiting = {
  readonly start: (thread: Thread) => void;
  readonly drop: () => void;
  readonly afterOthers: boolean;
};

/**
 * A small pool of measuring threads. A thread is started when it is first needed, kept while it behaves, and ended
 * after anything that may have spoilt it: a broken-down job, a passed time limit, a cancel that it did not follow.
 */
export function createEngine({ workerFile, threads, limits, ahead }: EngineOptions): Engine {
  const idle: Thread[] = ahead === undefined ? [] : [startThread(workerFile, limits, ahead)];
  const busy = new Set<Thread>();
  const queue: Waiting[] = [];
  let closed = false;

  function next(): void {
    if (closed || queue.length === 0) return;
    const thread = idle.pop() ?? (busy.size < threads ? startThread(workerFile, limits) : undefined);
    if (thread === undefined) return;
    busy.add(thread);
    queue.shift()?.start(thread);
  }

  function giveBack(thread: Thread, healthy: boolean): void {
    busy.delete(thread);
    if (healthy && !closed && thread.alive()) idle.push(thread);
    else void thread.end();
    next();
  }

  function waitForThread({ signal, afterOthers = false }: JobOptions): Promise<Thread> {
    return new Promise((resolve, reject) => {
      const drop = () => {
        const place = queue.indexOf(waiting);
        if (place >= 0) queue.splice(place, 1);
        reject(new Cancelled('cancelled before it began'));
      };
      const waiting: Waiting = {
        start: (thread) => {
          signal?.removeEventListener('abort', drop);
          resolve(thread);
        },
        drop,
        afterOthers,
      };
      signal?.addEventListener('abort', drop, { once: true });
      const firstOfThose = afterOthers ? -1 : queue.findIndex((other) => other.afterOthers);
      queue.splice(firstOfThose === -1 ? queue.length : firstOfThose, 0, waiting);
      next();
    });
  }

  return {
    async run(kind, input, options) {
      if (closed) throw new Error('engine: run after close');
      if (options.signal?.aborted) throw new Cancelled('cancelled before it began');
      const thread = await waitForThread(options);
      const result = await thread.run(kind, input, options);
      giveBack(thread, result.healthy);
      if (result.type === 'cancelled') throw new Cancelled('cancelled');
      return result.output as JobOutput<typeof kind>;
    },
    async close() {
      closed = true;
      for (const waiting of queue.splice(0)) waiting.drop();
      await Promise.all([...idle.splice(0), ...busy].map((thread) => thread.end()));
    },
  };
}
