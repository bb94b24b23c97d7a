import type { KnownPictures, PictureFacts } from '../../../shared/index.ts';
import { IN_ORDER, NO_STUDY } from './captures.ts';
import type { Database } from './database.ts';
import { remembered } from './memo.ts';
import { factsSelect, pictureFactsOf } from './rows.ts';
import { listOfStyluses } from './styluses.ts';

/**
 * What the pictures of the collection tell about the next one: asked when pictures are added and when the camera is
 * opened, which used to read the whole page of every stylus, 30 MB of forty.
 */
export const knownPictures = (db: Database): KnownPictures[] =>
  listOfStyluses(db).map(({ id, name }) => ({
    stylus: { id, name },
    captures: remembered(db, `known pictures ${id}`, () => telling(readFacts(db, id))),
  }));

const readFacts = (db: Database, stylusId: string): PictureFacts[] =>
  db
    .all(
      `${factsSelect()} WHERE capture.stylus_id = ? AND capture.binned_at IS NULL ${NO_STUDY} ORDER BY ${IN_ORDER}`,
      stylusId,
    )
    .map(pictureFactsOf);

/** A scale stands in for like ones: of those the last by the day of the picture and the last that came in. */
function telling(pictures: readonly PictureFacts[]): PictureFacts[] {
  const lastTaken = new Map<string, PictureFacts>();
  const lastAdded = new Map<string, PictureFacts>();
  for (const picture of pictures) {
    const { widthPx, heightPx, microscope, camera, scale } = picture;
    const key = JSON.stringify([widthPx, heightPx, microscope, camera, scale]);
    lastTaken.set(key, picture);
    const other = lastAdded.get(key);
    if (other === undefined || other.createdAt <= picture.createdAt) lastAdded.set(key, picture);
  }
  const kept = new Set([...lastTaken.values(), ...lastAdded.values()]);
  return pictures.filter(
    (picture, i) => i === pictures.length - 1 || picture.isBaseline || kept.has(picture),
  );
}
