import { existsSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import { Refusal } from '../../../shared/index.ts';

/**
 * Copies a database in a thread of its own. A collection of ten thousand pictures takes seconds, and a window that
 * answers nothing for so long looks broken. The thread has its own connection to the live file, of the same SQLite in
 * the same process, so that no lock is lost when it closes.
 */
export type CopyOrder = { readonly live: string; readonly file: string };
export type CopyDone = null | { readonly message: string; readonly code: string | null };

const workerFile = new URL('./copy-worker.js', import.meta.url);

/** Only the built program has the thread's file; from the sources the copy is made where it is asked for. */
export const canCopyAside = existsSync(workerFile);

export function copyAside(live: string, file: string): Promise<void> {
  const worker = new Worker(workerFile, {
    workerData: { live, file } satisfies CopyOrder,
    // The programmers' words of a damaged copy; standard output belongs to commands.
    stdout: true,
  });
  return new Promise((resolve, reject) => {
    worker.once('message', (done: CopyDone) => {
      if (done === null) resolve();
      else reject(done.code === null ? new Error(done.message) : new Refusal(done.code, done.message));
    });
    worker.once('error', reject);
    worker.once('exit', () => reject(new Error('the thread that copies the database ended')));
  });
}
