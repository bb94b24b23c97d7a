import { refuse } from '../../shared/index.ts';
import type { Outcome } from '../../shared/index.ts';
import type { FromWorker, JobKind, ToWorker } from './engine-protocol.ts';
import { startWorker, type WorkerAhead } from './engine-start.ts';
import type { JobOptions } from './engine.ts';

type ThreadResult = { readonly healthy: boolean } & (
  { readonly type: 'done'; readonly output: Outcome<unknown> } | { readonly type: 'cancelled' }
);

export type Thread = {
  run(kind: JobKind, input: unknown, options: JobOptions): Promise<ThreadResult>;
  alive(): boolean;
  end(): Promise<void>;
};

/** How long a thread may take to notice the cancel flag before it is ended from outside. */
const CANCEL_GRACE_MS = 1_000;
/**
 * Picture memory lies outside that heap, where nothing bounds it but the cap on pixels: the whole process is looked at,
 * and a job during which it grew by more than this is ended with its thread. Two 64 MP pictures stay well below.
 */
const GROWTH_MB = 2_560;
const LOOK_EVERY_MS = 100;

export type ThreadLimits = { readonly heapMb?: number; readonly growthMb?: number };

export function startThread(workerFile: string, limits: ThreadLimits = {}, ahead?: WorkerAhead): Thread {
  const growthMb = limits.growthMb ?? GROWTH_MB;
  const { worker, cancelFlag } = ahead ?? startWorker(workerFile, limits.heapMb);
  const flag = new Int32Array(cancelFlag);
  worker.stdout.on('data', (chunk: Buffer) => process.stderr.write(chunk));
  worker.stderr.on('data', (chunk: Buffer) => process.stderr.write(chunk));
  // An idle thread must not keep the program alive; it is kept alive while a job runs.
  worker.unref();
  let dead = false;
  let ending = false;
  let counter = 0;
  worker.once('exit', () => (dead = true));
  worker.on('error', () => (dead = true));

  return {
    alive: () => !dead,
    end: async () => {
      ending = true;
      dead = true;
      await worker.terminate();
    },
    run(kind, input, options) {
      const number = ++counter;
      Atomics.store(flag, 0, 0);
      worker.ref();
      return new Promise<ThreadResult>((resolve) => {
        let grace: NodeJS.Timeout | undefined;
        const settle = (result: ThreadResult) => {
          clearTimeout(limit);
          clearTimeout(grace);
          clearInterval(watch);
          worker.off('message', onMessage).off('error', onError).off('exit', onExit);
          options.signal?.removeEventListener('abort', onAbort);
          worker.unref();
          resolve(result);
        };
        const limit = setTimeout(
          () => settle({ healthy: false, type: 'done', output: timedOut(options.timeLimitMs) }),
          options.timeLimitMs,
        );
        const before = process.memoryUsage.rss();
        const watch = setInterval(() => {
          if (process.memoryUsage.rss() - before > growthMb * 2 ** 20)
            settle({ healthy: false, type: 'done', output: tooMuchMemory });
        }, LOOK_EVERY_MS);
        const onMessage = (message: FromWorker) => {
          if (message.number !== number) return;
          if (message.type === 'progress') options.onProgress?.(message.stage, message.fraction);
          else if (message.type === 'cancelled') settle({ healthy: true, type: 'cancelled' });
          else settle({ healthy: !message.spoilt, type: 'done', output: message.output });
        };
        const onError = (error: Error) => settle({ healthy: false, type: 'done', output: brokeDown(error) });
        const onExit = () =>
          settle(
            // Ended from outside, because the program closes: that is no answer about the pictures.
            ending
              ? { healthy: false, type: 'cancelled' }
              : { healthy: false, type: 'done', output: brokeDown(new Error('the thread ended')) },
          );
        const onAbort = () => {
          Atomics.store(flag, 0, 1);
          grace = setTimeout(() => settle({ healthy: false, type: 'cancelled' }), CANCEL_GRACE_MS);
        };
        worker.on('message', onMessage).on('error', onError).on('exit', onExit);
        options.signal?.addEventListener('abort', onAbort, { once: true });
        if (dead) onExit();
        else if (options.signal?.aborted) onAbort();
        worker.postMessage({ number, kind, input } satisfies ToWorker, []);
      });
    },
  };
}

function brokeDown(error: Error): Outcome<never> {
  const memory = (error as NodeJS.ErrnoException).code === 'ERR_WORKER_OUT_OF_MEMORY';
  return memory
    ? tooMuchMemory
    : refuse(
        'failed',
        'The measurement broke down inside the program and was restarted. Try again; if it stays, this is a fault ' +
          'of the program.',
      );
}

const tooMuchMemory: Outcome<never> = refuse(
  'failed',
  'The pictures need more memory than measuring may use. Use smaller ones.',
);

const timedOut = (timeLimitMs: number): Outcome<never> =>
  refuse(
    'timed-out',
    `Measuring took longer than ${Math.round(timeLimitMs / 1000)} s and was stopped. Use smaller pictures of the ` +
      'same part, or allow more time.',
  );
