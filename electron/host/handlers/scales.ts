import { Refusal } from '../../../shared/index.ts';
import type { HostHandlers, PictureRef } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { LOOK_LIMIT_MS, originalFile } from '../incoming.ts';
import type { Incoming } from '../incoming.ts';
import { runSlide } from '../slide.ts';
import { readCapture } from '../store/captures.ts';
import type { OriginalFile } from '../store/captures.ts';
import { addScaleCard, listScaleCards, readScaleCard, updateScaleCard } from '../store/scale-cards.ts';

type Names = 'scale.measure' | 'scale.cards' | 'scale.keep' | 'scale.change' | 'picture.show';
type Kept = { readonly fileName: string; readonly original: OriginalFile };

/** Scales from ruled slides, and the cards that keep them. */
export function scaleHandlers(context: Context, incoming: Incoming): Pick<HostHandlers, Names> {
  const { db, originals } = context.collection;

  /** The row of a picture that lies in originals/ already. */
  function storedPicture(picture: Exclude<PictureRef, { token: string }>): Kept {
    const named =
      'captureId' in picture ? readCapture(db, picture.captureId) : readScaleCard(db, picture.cardId).picture;
    if (named === null) throw new Refusal('not-found', 'This scale card keeps no picture.');
    const row = db.get('SELECT * FROM original WHERE sha256 = ?', named.sha256);
    if (row === undefined) throw new Refusal('not-found', 'The picture is not in the collection.');
    return {
      fileName: named.fileName,
      original: {
        sha256: named.sha256,
        mediaType: String(row['media_type']),
        byteLength: Number(row['byte_length']),
        widthPx: Number(row['width_px']),
        heightPx: Number(row['height_px']),
      },
    };
  }

  /** The file first, then the row, as for a capture. */
  async function addWithOffered(token: string, add: (kept: Kept) => ReturnType<typeof addScaleCard>) {
    const [found] = incoming.take([token]);
    try {
      const undo = await originals.adopt(found.staged, found.inspected.mediaType);
      try {
        const card = add({ fileName: found.fileName, original: originalFile(found) });
        await originals.withdraw(token).catch(() => undefined);
        return card;
      } catch (error) {
        await undo();
        throw error;
      }
    } catch (error) {
      incoming.putBack([token], [found]);
      throw error;
    }
  }

  return {
    'scale.measure': ({ picture, pitchUm, pitchRelativeStandard, against, jobId }) => {
      const { source } = incoming.sourceOf(picture);
      const job = { picture: source, pitchUm, pitchRelativeStandard };
      return context.jobs.run(jobId, context.timeLimitMs, (options) =>
        runSlide(context.measuring, job, against, options),
      );
    },
    'scale.cards': async () => listScaleCards(db),
    'scale.keep': async ({ draft, picture, slide }) => {
      const add = (kept: Kept | null) => addScaleCard(db, draft, kept, slide);
      const card =
        picture !== null && 'token' in picture
          ? await addWithOffered(picture.token, add)
          : add(picture === null ? null : storedPicture(picture));
      context.emit('changed', { stylusId: null });
      return card;
    },
    'scale.change': async ({ id, draft }) => {
      const card = updateScaleCard(db, id, draft);
      context.emit('changed', { stylusId: null });
      return card;
    },
    'picture.show': async ({ picture, maxEdgePx }) => {
      const job = { source: incoming.sourceOf(picture).source, maxEdgePx };
      const shown = await context.pictures.run('show', job, { timeLimitMs: LOOK_LIMIT_MS });
      if (!shown.ok) throw new Refusal(shown.reason.code, shown.reason.message);
      return shown.value;
    },
  };
}
