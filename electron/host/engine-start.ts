import { Worker } from 'node:worker_threads';
import type { WorkerStart } from './engine-protocol.ts';

/**
 * Starts a measuring thread. Apart from what follows its jobs, so that the command line can have one starting before it
 * has loaded anything else.
 */
export type WorkerAhead = { readonly worker: Worker; readonly cancelFlag: SharedArrayBuffer };

/** JavaScript heap only. */
const HEAP_MB = 2_048;

export function startWorker(workerFile: string, heapMb: number = HEAP_MB): WorkerAhead {
  const cancelFlag = new SharedArrayBuffer(4);
  const worker = new Worker(workerFile, {
    workerData: { cancelFlag } satisfies WorkerStart,
    // Nothing that a library prints may reach the command line's standard output.
    stdout: true,
    stderr: true,
    // A comparison makes some 30 MB of short-lived numbers: with twice this the process only grows, for its first hundred
    // pairs and by 15 MB a thread, and is no faster.
    resourceLimits: { maxOldGenerationSizeMb: heapMb, maxYoungGenerationSizeMb: 12 },
  });
  // Nobody waits for a thread that has nothing to do.
  worker.unref();
  return { worker, cancelFlag };
}
