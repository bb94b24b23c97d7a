import { basename } from 'node:path';
import { MAX_UPLOAD_BYTES, Refusal } from '../../../shared/index.ts';
import type { HostHandlers, Offered } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { compareCaptures, measureCapture, originalOf } from '../measuring.ts';
import type { Inspected } from '../pictures/inspect.ts';
import { addCapture, captureWithContent, readCapture, readPart, updateCapture } from '../store/captures.ts';
import { derivedPicture } from '../store/derived.ts';
import type { Staged } from '../store/originals.ts';
import { readStylus } from '../store/styluses.ts';

type Names =
  | 'picture.offer'
  | 'picture.offerPixels'
  | 'picture.withdraw'
  | 'capture.add'
  | 'capture.update'
  | 'capture.picture'
  | 'capture.part'
  | 'capture.examine'
  | 'capture.cantilever'
  | 'comparison.run'
  | 'job.cancel';

type Waiting = { readonly staged: Staged; readonly inspected: Inspected; readonly fileName: string };

/** Decoding one picture, not measuring it. */
const LOOK_LIMIT_MS = 45_000;

/** A file's own name without its path or anything that is not text; the content decides everything else. */
export function plainFileName(name: string): string {
  const last = basename(name.replaceAll('\\', '/'));
  const printable = last.replaceAll(/[\p{Cc}\p{Cf}]/gu, '').trim();
  return printable === '' ? 'picture' : printable.slice(0, 255);
}

async function look(context: Context, staged: Staged, fileName: string): Promise<Inspected> {
  const source = { path: context.collection.originals.stagedPath(staged.token), sha256: staged.sha256 };
  const seen = await context.pictures.run('inspect', { source, fileName }, { timeLimitMs: LOOK_LIMIT_MS });
  if (!seen.ok) throw new Refusal(seen.reason.code, seen.reason.message);
  return seen.value;
}

const newOriginal = ({ staged, inspected }: Waiting) => ({
  sha256: staged.sha256,
  byteLength: staged.byteLength,
  mediaType: inspected.mediaType,
  widthPx: inspected.widthPx,
  heightPx: inspected.heightPx,
});

export function pictureHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db, originals } = context.collection;
  const waiting = new Map<string, Waiting>();

  async function offer(name: string, bytes: Uint8Array): Promise<Offered> {
    if (bytes.byteLength > MAX_UPLOAD_BYTES)
      throw new Refusal('unreadable-image', `The file is larger than ${MAX_UPLOAD_BYTES / 2 ** 20} MB.`);
    const fileName = plainFileName(name);
    const staged = await originals.stage(bytes);
    try {
      const inspected = await look(context, staged, fileName);
      waiting.set(staged.token, { staged, inspected, fileName });
      const { mediaType, widthPx, heightPx, taken, warnings } = inspected;
      return {
        token: staged.token,
        fileName,
        sha256: staged.sha256,
        mediaType,
        widthPx,
        heightPx,
        taken,
        duplicateOf: captureWithContent(db, staged.sha256),
        warnings: warnings.map((warning) => warning.message),
      };
    } catch (error) {
      await originals.withdraw(staged.token).catch(() => undefined);
      throw error;
    }
  }

  async function offerPixels(given: Parameters<HostHandlers['picture.offerPixels']>[0]): Promise<Offered> {
    const { fileName, ...pixels } = given;
    const encoded = await context.pictures.run('encode', pixels, { timeLimitMs: LOOK_LIMIT_MS });
    if (!encoded.ok) throw new Refusal(encoded.reason.code, encoded.reason.message);
    return offer(fileName, encoded.value);
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
        original: newOriginal(found),
        parts: parts.map(newOriginal),
      });
    } catch (error) {
      for (const undo of undos.toReversed()) await undo();
      throw error;
    }
  }

  function taken(token: string): Waiting {
    const found = waiting.get(token);
    if (found !== undefined) return found;
    throw new Refusal('no-such-picture', 'That picture is not waiting to be added. Choose the file again.');
  }

  const shown = (picture: { sha256: string; mediaType: string }, maxEdgePx: number) =>
    derivedPicture(context.collection, picture.sha256, maxEdgePx, async () => {
      const job = { source: originalOf(context, picture), maxEdgePx };
      const made = await context.pictures.run('show', job, { timeLimitMs: LOOK_LIMIT_MS });
      if (!made.ok) throw new Refusal(made.reason.code, made.reason.message);
      return made.value;
    });

  return {
    'picture.offer': ({ fileName, bytes }) => offer(fileName, bytes),
    'picture.offerPixels': offerPixels,
    'picture.withdraw': async ({ token }) => {
      waiting.delete(token);
      await originals.withdraw(token);
      return {};
    },
    'capture.add': async (facts) => {
      readStylus(db, facts.stylusId);
      const tokens = [facts.token, ...(facts.parts ?? [])];
      const [found, ...parts] = tokens.map(taken);
      // Taken out at once, so that a second click cannot add it twice; put back when adding fails.
      for (const token of tokens) waiting.delete(token);
      try {
        const capture = await add(found, facts, parts);
        // It is in; a copy that stays in incoming/ is swept away at the next start.
        for (const token of tokens) await originals.withdraw(token).catch(() => undefined);
        context.emit('changed', { stylusId: capture.stylusId });
        return capture;
      } catch (error) {
        for (const [index, token] of tokens.entries()) waiting.set(token, [found, ...parts][index]);
        throw error;
      }
    },
    'capture.update': async ({ id, ...facts }) => {
      const capture = updateCapture(db, id, facts);
      context.emit('changed', { stylusId: capture.stylusId });
      return capture;
    },
    'capture.picture': async ({ id, maxEdgePx }) => shown(readCapture(db, id), maxEdgePx),
    'capture.part': async ({ id, number, maxEdgePx }) => shown(readPart(db, id, number), maxEdgePx),
    'capture.examine': ({ id, jobId }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) =>
        measureCapture(context, id, 'examination', options),
      ),
    'capture.cantilever': ({ id, jobId }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) =>
        measureCapture(context, id, 'cantilever', options),
      ),
    'comparison.run': ({ baselineId, laterId, jobId, hand }) =>
      context.jobs.run(jobId, context.timeLimitMs, (options) =>
        compareCaptures(context, baselineId, laterId, options, hand ?? null),
      ),
    'job.cancel': async ({ jobId }) => {
      context.jobs.cancel(jobId);
      return {};
    },
  };
}
