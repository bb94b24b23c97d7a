import { Refusal } from '../../../shared/index.ts';
import type { HostHandlers, Offered } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { LOOK_LIMIT_MS, originalFile } from '../incoming.ts';
import { addAll } from '../adding.ts';
import type { Incoming, Waiting } from '../incoming.ts';
import { compareCaptures, measureCapture, originalOf } from '../measuring.ts';
import { mustHaveHappened } from '../happened.ts';
import { addCapture, readCapture, readPart, updateCapture } from '../store/captures.ts';
import { derivedPicture } from '../store/derived.ts';
import { readStylus } from '../store/styluses.ts';

type Names =
  | 'picture.offer'
  | 'picture.offerPixels'
  | 'picture.withdraw'
  | 'capture.add'
  | 'capture.addAll'
  | 'capture.update'
  | 'capture.picture'
  | 'capture.part'
  | 'capture.examine'
  | 'capture.cantilever'
  | 'comparison.run';

export function pictureHandlers(context: Context, incoming: Incoming): Pick<HostHandlers, Names> {
  const { db, originals } = context.collection;

  async function offerPixels(given: Parameters<HostHandlers['picture.offerPixels']>[0]): Promise<Offered> {
    const { fileName, ...pixels } = given;
    const encoded = await context.pictures.run('encode', pixels, { timeLimitMs: LOOK_LIMIT_MS });
    if (!encoded.ok) throw new Refusal(encoded.reason.code, encoded.reason.message);
    return incoming.offer(fileName, encoded.value);
  }

  /** The files first, then the rows: whatever happens in between leaves no row without its picture. */
  async function add(
    found: Waiting,
    facts: Parameters<HostHandlers['capture.add']>[0],
    parts: readonly Waiting[],
  ) {
    const undos: (() => Promise<void>)[] = [];
    try {
      for (const { staged, inspected } of [found, ...parts])
        undos.push(await originals.adopt(staged, inspected.mediaType));
      return addCapture(db, {
        ...facts,
        fileName: found.fileName,
        original: originalFile(found),
        parts: parts.map(originalFile),
      });
    } catch (error) {
      for (const undo of undos.toReversed()) await undo();
      throw error;
    }
  }

  const shown = (picture: { sha256: string; mediaType: string }, maxEdgePx: number) =>
    derivedPicture(context.collection, picture.sha256, maxEdgePx, async () => {
      const job = { source: originalOf(context, picture), maxEdgePx };
      const made = await context.pictures.run('show', job, { timeLimitMs: LOOK_LIMIT_MS });
      if (!made.ok) throw new Refusal(made.reason.code, made.reason.message);
      return made.value;
    });

  return {
    'picture.offer': ({ fileName, bytes }) => incoming.offer(fileName, bytes),
    'picture.offerPixels': offerPixels,
    'picture.withdraw': async ({ token }) => {
      await incoming.withdraw(token);
      return {};
    },
    'capture.add': async (facts) => {
      readStylus(db, facts.stylusId);
      mustHaveHappened([facts.taken?.wall]);
      const tokens = [facts.token, ...(facts.parts ?? [])] as const;
      const [found, ...parts] = incoming.take(tokens);
      try {
        const capture = await add(found, facts, parts);
        // It is in; a copy that stays in incoming/ is swept away at the next start.
        for (const token of tokens) await originals.withdraw(token).catch(() => undefined);
        context.emit('changed', { stylusId: capture.stylusId });
        return capture;
      } catch (error) {
        incoming.putBack(tokens, [found, ...parts]);
        throw error;
      }
    },
    'capture.addAll': ({ captures, jobId }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) => addAll(context, incoming, captures, options)),
    'capture.update': async ({ id, ...facts }) => {
      mustHaveHappened([facts.taken?.wall]);
      const capture = updateCapture(db, id, facts);
      context.emit('changed', { stylusId: capture.stylusId });
      return capture;
    },
    'capture.picture': async ({ id, maxEdgePx }) => shown(readCapture(db, id), maxEdgePx),
    'capture.part': async ({ id, number, maxEdgePx }) => shown(readPart(db, id, number), maxEdgePx),
    'capture.examine': ({ id, jobId, otherLightId }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) =>
        measureCapture(context, id, 'examination', options, otherLightId ? { otherLightId } : {}),
      ),
    'capture.cantilever': ({ id, jobId, line }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) =>
        measureCapture(context, id, 'cantilever', options, line ? { line } : {}),
      ),
    'comparison.run': ({ baselineId, laterId, jobId, hand }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) =>
        compareCaptures(context, baselineId, laterId, options, hand ?? null),
      ),
  };
}
