import { Cancelled, Refusal } from '../../shared/index.ts';
import type { InputOf } from '../../shared/index.ts';
import type { Context } from './context.ts';
import type { JobOptions } from './engine.ts';
import { mustHaveHappened } from './happened.ts';
import { originalFile } from './incoming.ts';
import type { Incoming } from './incoming.ts';
import { addCapture } from './store/captures.ts';
import { readStylus } from './store/styluses.ts';

type Captures = InputOf<'capture.addAll'>['captures'];

/**
 * All of them or none. The files are moved one by one and moved back when something fails or somebody cancels; the rows
 * come in one transaction at the end. A program that dies in between leaves files without rows, which the next start
 * puts into bin/.
 */
export async function addAll(
  context: Context,
  incoming: Incoming,
  captures: Captures,
  { signal, onProgress }: JobOptions,
): Promise<{ ids: string[] }> {
  const { db, originals } = context.collection;
  for (const stylusId of new Set(captures.map((one) => one.stylusId))) readStylus(db, stylusId);
  mustHaveHappened(captures.map(({ taken }) => taken?.wall));
  const tokens = captures.map((one) => one.token);
  if (new Set(tokens).size < tokens.length || captures.some((one) => (one.parts ?? []).length > 0))
    throw new Refusal('bad-input', 'A picture of the list is named twice. Choose the files again.');
  const found = incoming.take(tokens);
  const undos: (() => Promise<void>)[] = [];
  try {
    for (const [index, { staged, inspected }] of found.entries()) {
      if (signal?.aborted) throw new Cancelled('cancelled');
      onProgress?.(`Picture ${index + 1} of ${found.length}`, (0.95 * index) / found.length);
      undos.push(await originals.adopt(staged, inspected.mediaType));
    }
    if (signal?.aborted) throw new Cancelled('cancelled');
    const added = db.transaction(() =>
      captures.map((facts, index) =>
        addCapture(db, {
          ...facts,
          fileName: found[index].fileName,
          original: originalFile(found[index]),
          parts: [],
        }),
      ),
    );
    // They are in; copies that stay in incoming/ are swept away at the next start.
    for (const token of tokens) await originals.withdraw(token).catch(() => undefined);
    for (const stylusId of new Set(added.map((one) => one.stylusId))) context.emit('changed', { stylusId });
    return { ids: added.map((one) => one.id) };
  } catch (error) {
    for (const undo of undos.toReversed()) await undo();
    incoming.putBack(tokens, found);
    throw error;
  }
}
