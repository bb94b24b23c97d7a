import { Refusal, scaleCardSchema } from '../../../shared/index.ts';
import type { ScaleCard, ScaleCardDraft, SlideAnswer } from '../../../shared/index.ts';
import { insertOriginal } from './captures.ts';
import type { OriginalFile } from './captures.ts';
import { changeAndRead, insertRow, newId, updateRow } from './changes.ts';
import type { Database, Row, SqlValue } from './database.ts';
import { fromJson } from './rows.ts';

/** Scale cards: one microscope at one setting, the scale that holds there, and the picture it was taken from. */
const SELECT = `SELECT scale_card.*, original.media_type,
    (SELECT count(*) FROM capture WHERE scale_card_id = scale_card.id AND capture.binned_at IS NULL) AS used_by
  FROM scale_card LEFT JOIN original ON original.sha256 = scale_card.sha256`;

const COLUMNS =
  'microscope, frame_width_px, frame_height_px, resize_mode, zoom, focus, um_per_px, standard_um_per_px, source, taken_wall, taken_offset, taken_source, notes';

const valuesOf = (draft: ScaleCardDraft): SqlValue[] => [
  draft.microscope,
  draft.frameWidthPx,
  draft.frameHeightPx,
  draft.resizeMode,
  draft.zoom,
  draft.focus,
  draft.scale.umPerPx,
  draft.scale.standardUmPerPx,
  draft.scale.source,
  draft.taken?.wall ?? null,
  draft.taken?.offset ?? null,
  draft.taken?.source ?? null,
  draft.notes,
];

function cardOf(row: Row): ScaleCard {
  return scaleCardSchema.parse({
    id: row['id'],
    microscope: row['microscope'],
    frameWidthPx: row['frame_width_px'],
    frameHeightPx: row['frame_height_px'],
    resizeMode: row['resize_mode'],
    zoom: row['zoom'],
    focus: row['focus'],
    scale: {
      umPerPx: row['um_per_px'],
      standardUmPerPx: row['standard_um_per_px'],
      source: row['source'],
    },
    taken:
      row['taken_wall'] === null
        ? null
        : { wall: row['taken_wall'], offset: row['taken_offset'], source: row['taken_source'] },
    notes: row['notes'],
    picture:
      row['sha256'] === null
        ? null
        : { sha256: row['sha256'], fileName: row['file_name'], mediaType: row['media_type'] },
    slide: typeof row['slide'] === 'string' ? (JSON.parse(row['slide']) as unknown) : null,
    usedBy: row['used_by'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });
}

export function readScaleCard(db: Database, id: string): ScaleCard {
  const row = db.get(`${SELECT} WHERE scale_card.id = ?`, id);
  if (row === undefined) throw new Refusal('not-found', 'That scale card is not in the collection.');
  return cardOf(row);
}

/** Newest first. */
export function listScaleCards(db: Database): ScaleCard[] {
  return db
    .all(`${SELECT} WHERE scale_card.binned_at IS NULL ORDER BY scale_card.created_at DESC, scale_card.id`)
    .map(cardOf);
}

/** The picture's file must lie in originals/ already. */
export function addScaleCard(
  db: Database,
  draft: ScaleCardDraft,
  picture: { readonly fileName: string; readonly original: OriginalFile } | null,
  slide: SlideAnswer | null,
): ScaleCard {
  const id = newId();
  const change = () => {
    if (picture !== null) insertOriginal(db, picture.original);
    insertRow(db, 'scale_card', id, `${COLUMNS}, sha256, file_name, slide`, [
      ...valuesOf(draft),
      picture?.original.sha256 ?? null,
      picture?.fileName ?? null,
      fromJson(slide),
    ]);
  };
  return changeAndRead(db, change, () => readScaleCard(db, id));
}

/** A scale typed over what the slide gave no longer rests on it. */
export function updateScaleCard(db: Database, id: string, draft: ScaleCardDraft): ScaleCard {
  const before = readScaleCard(db, id);
  const change = () => {
    updateRow(db, 'scale_card', id, COLUMNS, valuesOf(draft));
    if (before.slide !== null && before.scale.umPerPx !== draft.scale.umPerPx)
      updateRow(db, 'scale_card', id, 'slide', [null]);
  };
  return changeAndRead(db, change, () => readScaleCard(db, id));
}
