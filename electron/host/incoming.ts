import { basename } from 'node:path';
import { MAX_UPLOAD_BYTES, Refusal } from '../../shared/index.ts';
import type { Offered, PictureRef } from '../../shared/index.ts';
import type { Context } from './context.ts';
import type { PictureSource } from './engine-protocol.ts';
import { originalOf } from './measuring.ts';
import type { Inspected } from './pictures/inspect.ts';
import { captureWithContent, readCapture } from './store/captures.ts';
import type { OriginalFile } from './store/captures.ts';
import type { Staged } from './store/originals.ts';
import { readScaleCard } from './store/scale-cards.ts';

/** Pictures that were offered and wait to be added, and how any picture that the window names is found. */
export type Waiting = { readonly staged: Staged; readonly inspected: Inspected; readonly fileName: string };

export type Incoming = {
  offer(name: string, bytes: Uint8Array): Promise<Offered>;
  withdraw(token: string): Promise<void>;
  /** Takes waiting pictures out, so that a second click cannot add one twice; `putBack` when adding fails. */
  take<const T extends readonly string[]>(tokens: T): { [K in keyof T]: Waiting };
  putBack(tokens: readonly string[], found: readonly Waiting[]): void;
  /** Where the bytes of a picture are; refuses when it is not there. */
  sourceOf(picture: PictureRef): { readonly source: PictureSource; readonly fileName: string };
};

/** Decoding one picture, not measuring it. */
export const LOOK_LIMIT_MS = 45_000;

/** A file's own name without its path or anything that is not text; the content decides everything else. */
export function plainFileName(name: string): string {
  const last = basename(name.replaceAll('\\', '/'));
  const printable = last.replaceAll(/[\p{Cc}\p{Cf}]/gu, '').trim();
  return printable === '' ? 'picture' : printable.slice(0, 255);
}

export const originalFile = ({ staged, inspected }: Waiting): OriginalFile => ({
  sha256: staged.sha256,
  byteLength: staged.byteLength,
  mediaType: inspected.mediaType,
  widthPx: inspected.widthPx,
  heightPx: inspected.heightPx,
});

async function look(context: Context, staged: Staged, fileName: string): Promise<Inspected> {
  const source = { path: context.collection.originals.stagedPath(staged.token), sha256: staged.sha256 };
  const seen = await context.pictures.run('inspect', { source, fileName }, { timeLimitMs: LOOK_LIMIT_MS });
  if (!seen.ok) throw new Refusal(seen.reason.code, seen.reason.message);
  return seen.value;
}

export function createIncoming(context: Context): Incoming {
  const { db, originals } = context.collection;
  const waiting = new Map<string, Waiting>();
  const find = (token: string): Waiting => {
    const found = waiting.get(token);
    if (found === undefined)
      throw new Refusal('no-such-picture', 'That picture is not waiting to be added. Choose the file again.');
    return found;
  };
  return {
    async offer(name, bytes) {
      if (bytes.byteLength > MAX_UPLOAD_BYTES)
        throw new Refusal('unreadable-image', `The file is larger than ${MAX_UPLOAD_BYTES / 2 ** 20} MB.`);
      const fileName = plainFileName(name);
      const staged = await originals.stage(bytes);
      try {
        const inspected = await look(context, staged, fileName);
        waiting.set(staged.token, { staged, inspected, fileName });
        const { mediaType, widthPx, heightPx, taken, warnings, preview, guess } = inspected;
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
          preview,
          guess,
        };
      } catch (error) {
        await originals.withdraw(staged.token).catch(() => undefined);
        throw error;
      }
    },
    async withdraw(token) {
      waiting.delete(token);
      await originals.withdraw(token);
    },
    take<const T extends readonly string[]>(tokens: T) {
      const found = tokens.map(find);
      for (const token of tokens) waiting.delete(token);
      return found as { [K in keyof T]: Waiting };
    },
    putBack: (tokens, found) => {
      for (const [index, token] of tokens.entries()) waiting.set(token, found[index]);
    },
    sourceOf(picture) {
      if ('token' in picture) {
        const { staged, fileName } = find(picture.token);
        return { source: { path: originals.stagedPath(staged.token), sha256: staged.sha256 }, fileName };
      }
      if ('captureId' in picture) {
        const capture = readCapture(db, picture.captureId);
        return { source: originalOf(context, capture), fileName: capture.fileName };
      }
      const kept = readScaleCard(db, picture.cardId).picture;
      if (kept === null) throw new Refusal('not-found', 'This scale card keeps no picture.');
      const path = originals.pathOf(kept.sha256, kept.mediaType);
      return { source: { path, sha256: kept.sha256 }, fileName: kept.fileName };
    },
  };
}
