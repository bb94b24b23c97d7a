import { parentPort, workerData } from 'node:worker_threads';
import { Refusal } from '../../../shared/index.ts';
import type { CopyDone, CopyOrder } from './copy-aside.ts';
import { copyHere } from './database.ts';

/** The thread of copy-aside.ts. */
const { live, file } = workerData as CopyOrder;
let done: CopyDone = null;
try {
  copyHere(live, file);
} catch (error) {
  const message = error instanceof Error ? error.message : String(error);
  done = { message, code: error instanceof Refusal ? error.code : null };
}
parentPort!.postMessage(done, []);
