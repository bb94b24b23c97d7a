import { Cancelled } from '../../shared/index.ts';
import type { Context } from './context.ts';
import type { JobOptions } from './engine.ts';
import { examineWith, measurePair } from './measuring.ts';
import { readCapture, storeResult } from './store/captures.ts';
import { addComparison, outdatedComparisons } from './store/comparisons.ts';
import { remembered } from './store/memo.ts';
import { outdatedExaminations } from './store/captures-outdated.ts';

export const countOutdated = ({ collection: { db } }: Pick<Context, 'collection'>): number =>
  remembered(db, 'outdated', () => outdatedComparisons(db).length + outdatedExaminations(db).length);

/**
 * Measures again what was measured with another study, or with none, than counts now. Everything is stored at the end,
 * in one step of undo: cancelled or failed, nothing was changed. A refusal leaves the old result where it is.
 */
export async function redoOutdated(
  context: Context,
  options: JobOptions,
): Promise<{ redone: number; refused: number }> {
  const { db } = context.collection;
  const pairs = outdatedComparisons(db);
  const pictures = outdatedExaminations(db);
  const total = pairs.length + pictures.length;
  let at = 0;
  const one = (what: string): JobOptions => {
    if (options.signal?.aborted) throw new Cancelled('cancelled');
    const begun = at++;
    return {
      ...options,
      onProgress: (stage, fraction) =>
        options.onProgress?.(`${what} ${begun + 1} of ${total}: ${stage}`, (begun + fraction) / total),
    };
  };
  const compared = [];
  for (const { baselineId, laterId, hand } of pairs)
    compared.push(await measurePair(context, baselineId, laterId, one('Result'), hand ?? null));
  const examined = [];
  for (const id of pictures)
    examined.push({ id, report: await examineWith(context, readCapture(db, id), one('Result')) });
  const kept = compared.filter(({ report }) => report.ok);
  const seen = examined.filter(({ report }) => report.ok);
  db.transaction(() => {
    for (const comparison of kept) addComparison(db, comparison);
    for (const { id, report } of seen) storeResult(db, id, 'examination', report);
  });
  context.emit('changed', { stylusId: null });
  const redone = kept.length + seen.length;
  return { redone, refused: total - redone };
}
