import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { startWorker } from './host/engine-start.ts';

/** The built worker lies beside the built command. */
const builtWorker = join(fileURLToPath(new URL('.', import.meta.url)), 'engine-worker.js');

/** Commands that measure: their thread starts while the rest of the program is still being loaded. */
const MEASURING = new Set(['compare', 'examine', 'cantilever', 'scale']);

/** The command line, called by daybook.mjs after it made sure of the build. Returns the exit status. */
export async function runDaybook(args: string[]): Promise<number> {
  const measures = MEASURING.has(args[0] ?? '') && args.length > 2;
  const ahead = measures ? startWorker(builtWorker) : undefined;
  const { runDaybook: run } = await import('./daybook/run.ts');
  return run(args, { out: process.stdout, err: process.stderr }, builtWorker, ahead);
}
