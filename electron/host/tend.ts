import { setTimeout as pause } from 'node:timers/promises';
import { Cancelled, Refusal } from '../../shared/index.ts';
import type { Context } from './context.ts';
import { backUpWhenDue } from './keeping/automatic.ts';
import { emptyBinWhenDue } from './keeping/bin.ts';

/** What the program does for the collection unasked, in the background of a start. Never in anybody's way. */
const HOUR_MS = 3_600_000;
/** Reading every picture of a large collection would hold up whoever has just opened it. */
const AFTER_START_MS = 10_000;

export async function tendCollection(context: Context): Promise<void> {
  const { collection, jobs, version } = context;
  try {
    const emptied = await emptyBinWhenDue(collection);
    if (emptied !== null && emptied.things > 0) context.emit('changed', { stylusId: null });
    const said = await jobs.run('automatic-backup', HOUR_MS, async (watch) => {
      const { signal } = watch;
      await pause(AFTER_START_MS, undefined, signal ? { signal } : {}).catch(() => {
        throw new Cancelled('cancelled');
      });
      return backUpWhenDue(collection, `Stylus Daybook ${version}`, watch);
    });
    if (said !== null) notice(context, said);
  } catch (error) {
    if (error instanceof Refusal && error.code === 'cancelled') return;
    process.stderr.write(
      `host: automatic backup: ${error instanceof Error ? error.message : String(error)}\n`,
    );
    const why = error instanceof Refusal ? error.message : 'Something in the program went wrong.';
    notice(context, `This week's automatic backup was not made. ${why}`);
  }
}

function notice(context: Context, sentence: string): void {
  context.collection.notices.push(sentence);
  context.emit('changed', { stylusId: null });
}
