import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { startWorker, type WorkerAhead } from './host/engine-start.ts';

/** The built worker lies beside the built command. */
const builtWorker = join(fileURLToPath(new URL('.', import.meta.url)), 'engine-worker.js');

/** Commands that measure: their thread starts while the rest of the program is still being loaded. */
const MEASURING = new Set(['compare', 'examine', 'cantilever', 'scale']);

export type Ahead = {
  /** The thread, unless it ended by itself meanwhile. */
  readonly take: () => WorkerAhead | undefined;
  readonly end: () => Promise<unknown>;
};

/** Starts a measuring thread for a command that will want one; it does nothing before it is given something to do. */
export function startAhead(args: readonly string[]): Ahead | undefined {
  if (!MEASURING.has(args[0] ?? '') || args.length <= 2) return undefined;
  const ahead = startWorker(builtWorker);
  let ended = false;
  const note = (): void => void (ended = true);
  ahead.worker.once('error', note).once('exit', note);
  return { take: () => (ended ? undefined : ahead), end: () => ahead.worker.terminate() };
}

/** The command line, called by daybook.mjs after it made sure of the build. Returns the exit status. */
export async function runDaybook(args: string[], ahead?: Ahead): Promise<number> {
  const { runDaybook: run } = await import('./daybook/run.ts');
  return run(args, { out: process.stdout, err: process.stderr }, builtWorker, ahead?.take());
}
