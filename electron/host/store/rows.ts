import { cardVerdict } from '../../../core/calibration/carried-over.ts';
import {
  cameraRecordSchema,
  captureSchema,
  pictureFactsSchema,
  comparisonSchema,
  entrySchema,
  habitSchema,
  stylusSchema,
} from '../../../shared/index.ts';
import type {
  Capture,
  PictureFacts,
  Comparison,
  Dated,
  Entry,
  EntryDraft,
  GivenRepeatability,
  Habit,
  HabitDraft,
  Scale,
  Stylus,
  StylusDraft,
  View,
} from '../../../shared/index.ts';
import type { Database, Row, SqlValue } from './database.ts';
import { asChecked } from './checked.ts';
import { briefJoin, columnsFor, type Lines } from './lines.ts';

/**
 * Rows to objects and back. Every object is checked with its schema on the way out, so that a damaged or hand-edited
 * row is noticed here and not on a screen.
 */
const json = (value: SqlValue): unknown => (typeof value === 'string' ? JSON.parse(value) : null);
const flag = (value: SqlValue): boolean | null => (value === null ? null : value === 1);
export const fromFlag = (value: boolean | null): number | null => (value === null ? null : value ? 1 : 0);
export const fromJson = (value: unknown): string | null => (value === null ? null : JSON.stringify(value));

export function stylusOf(row: Row): Stylus {
  return stylusSchema.parse({
    id: row['id'],
    name: row['name'],
    cartridge: row['cartridge'],
    profile: row['profile'],
    deck: row['deck'],
    radiusUm: row['radius_um'],
    sideRadiusUm: row['side_radius_um'],
    ratedHours: row['rated_hours'],
    startDate: row['start_date'],
    startHours: row['start_hours'],
    price: row['price'],
    currency: row['currency'],
    limitUm: row['limit_um'],
    notes: row['notes'],
    startStandardHours: row['start_standard_hours'],
    minutesPerSide: row['minutes_per_side'],
    groove: json(row['groove'] ?? null),
    createdAt: row['created_at'],
    demo: flag(row['demo'] ?? 0),
    binnedAt: row['binned_at'],
    retired:
      row['retired_date'] === null
        ? null
        : { date: row['retired_date'], reason: row['retired_reason'], successorId: row['successor_id'] },
  });
}

export const STYLUS_COLUMNS =
  'name, cartridge, profile, deck, radius_um, side_radius_um, rated_hours, start_date, start_hours, price, currency, limit_um, notes, start_standard_hours, minutes_per_side, groove';

export const stylusValues = (draft: StylusDraft): SqlValue[] => [
  draft.name,
  draft.cartridge,
  draft.profile,
  draft.deck,
  draft.radiusUm,
  draft.sideRadiusUm,
  draft.ratedHours,
  draft.startDate,
  draft.startHours,
  draft.price,
  draft.currency,
  draft.limitUm,
  draft.notes,
  draft.startStandardHours ?? null,
  draft.minutesPerSide ?? null,
  fromJson(draft.groove ?? null),
];

/** A capture's row joined with its original's (see captureSelect). */
export function captureOf(row: Row): Capture {
  const capture = captureSchema.parse({
    ...saidOf(row),
    sha256: row['sha256'],
    fileName: row['file_name'],
    mediaType: row['media_type'],
    notes: row['notes'],
    binnedAt: row['binned_at'],
    examination: json(row['examination'] ?? null),
    cantilever: json(row['cantilever'] ?? null),
  });
  return asChecked(capture);
}

const saidOf = (row: Row) => ({
  id: row['id'],
  stylusId: row['stylus_id'],
  widthPx: row['width_px'],
  heightPx: row['height_px'],
  view: row['view'],
  light: row['light'],
  mirrored: flag(row['mirrored'] ?? null),
  taken: takenOf(row),
  ...scaleOrReason(row),
  microscope: row['microscope'],
  camera: json(row['camera'] ?? null),
  isBaseline: row['is_baseline'] === 1,
  createdAt: row['created_at'],
});

const takenOf = (row: Row) =>
  row['taken_wall'] === null
    ? null
    : { wall: row['taken_wall'], offset: row['taken_offset'], source: row['taken_source'] };

const scaleOf = (row: Row) =>
  row['scale_um_per_px'] === null
    ? null
    : {
        umPerPx: row['scale_um_per_px'],
        standardUmPerPx: row['scale_standard_um_per_px'],
        source: row['scale_source'],
        ...(row['scale_card_id'] === null
          ? {}
          : { card: { id: row['scale_card_id'], zoom: row['scale_zoom'], focus: row['scale_focus'] } }),
      };

/**
 * A scale from a card holds only where the card belongs: asked again at every reading, because the card or the picture's
 * microscope may have been corrected since. Nothing is destroyed: set right, the scale is back.
 */
function scaleOrReason(row: Row) {
  const scale = scaleOf(row);
  if (scale === null || row['scale_card_id'] === null) return { scale };
  const reason = cardReason(row);
  return reason === null ? { scale } : { scale: null, heldBackScale: { scale, reason } };
}

function cardReason(row: Row): string | null {
  const live = cameraRecordSchema.safeParse(json(row['camera'] ?? null)).data ?? null;
  const card = {
    microscope: String(row['card_microscope']),
    frameWidthPx: Number(row['card_width']),
    frameHeightPx: Number(row['card_height']),
    resizeMode: row['card_resize_mode'] as string | null,
    zoom: numberOrNull(row['card_zoom']),
    focus: numberOrNull(row['card_focus']),
  };
  const found = cardVerdict(card, {
    names: [String(row['microscope']), live?.camera ?? ''],
    frameWidthPx: Number(row['width_px']),
    frameHeightPx: Number(row['height_px']),
    resizeMode: live?.resizeMode ?? null,
    zoom: numberOrNull(live?.settings['zoom'] ?? row['scale_zoom']),
    focus: numberOrNull(live?.settings['focusDistance'] ?? row['scale_focus']),
  });
  if (found.verdict === 'differs')
    return `The scale card “${String(row['card_microscope'])}” does not belong to this picture: ${found.differs.join(', ')} differ. The scale was taken away.`;
  if (row['card_um_per_px'] !== row['scale_um_per_px'])
    return `The scale card “${String(row['card_microscope'])}” was corrected after this picture took its scale. Choose the card again.`;
  return null;
}

const numberOrNull = (value: unknown): number | null => (typeof value === 'number' ? value : null);

/** Captures with their originals and the scale cards that their scales came from. */
export const captureSelect = (db: Database, lines: Lines = 'with-lines'): string =>
  `SELECT ${columnsFor(db, 'capture', lines)}, ${WITH_CARD} ${briefJoin('capture', lines)}`;

/** What captureOf needs of the picture's file and of its scale card. */
const WITH_CARD = `original.media_type, original.width_px, original.height_px,
     scale_card.microscope AS card_microscope, scale_card.frame_width_px AS card_width,
     scale_card.frame_height_px AS card_height, scale_card.zoom AS card_zoom, scale_card.focus AS card_focus,
     scale_card.resize_mode AS card_resize_mode,
     scale_card.um_per_px AS card_um_per_px
   FROM capture JOIN original ON original.sha256 = capture.sha256
   LEFT JOIN scale_card ON scale_card.id = capture.scale_card_id`;

/** For pictureFactsOf: no report is read. */
export const factsSelect = (): string =>
  `SELECT ${['id, stylus_id, camera, created_at', CAPTURE_COLUMNS]
    .join(', ')
    .split(', ')
    .map((column) => `capture.${column}`)
    .join(', ')}, ${WITH_CARD}`;

export const pictureFactsOf = (row: Row): PictureFacts => pictureFactsSchema.parse(saidOf(row));

/** What a person says about a capture. */
export type CaptureFacts = Pick<
  Capture,
  'view' | 'light' | 'mirrored' | 'taken' | 'scale' | 'microscope' | 'isBaseline' | 'notes'
>;

export const CAPTURE_COLUMNS =
  'view, light, mirrored, taken_wall, taken_offset, taken_source, scale_um_per_px, scale_standard_um_per_px, scale_source, scale_card_id, scale_zoom, scale_focus, microscope, is_baseline, notes';

const takenValues = (taken: Dated | null): SqlValue[] =>
  taken ? [taken.wall, taken.offset, taken.source] : [null, null, null];
const scaleValues = (scale: Scale | null): SqlValue[] =>
  scale
    ? [
        scale.umPerPx,
        scale.standardUmPerPx,
        scale.source,
        scale.card?.id ?? null,
        scale.card?.zoom ?? null,
        scale.card?.focus ?? null,
      ]
    : [null, null, null, null, null, null];

export const captureValues = (facts: CaptureFacts): SqlValue[] => [
  facts.view,
  facts.light,
  fromFlag(facts.mirrored),
  ...takenValues(facts.taken),
  ...scaleValues(facts.scale),
  facts.microscope,
  fromFlag(facts.isBaseline),
  facts.notes,
];

/** What a comparison was made with; kept, so that a later change of a scale is noticed. */
export type ComparisonInputs = {
  readonly view: View;
  readonly baselineScale: Scale | null;
  readonly laterScale: Scale | null;
  readonly hand?: Comparison['hand'];
  /** What the person's own studies said of each picture; absent = none was asked for. */
  readonly repeatability?: {
    readonly baseline: GivenRepeatability | null;
    readonly later: GivenRepeatability | null;
  };
};

/** Without the hours at its later picture, which belong to no row. */
export function comparisonOf(row: Row): Comparison & { inputs: ComparisonInputs } {
  const inputs = json(row['inputs'] ?? null) as ComparisonInputs;
  const comparison = comparisonSchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    baselineId: row['baseline_id'],
    laterId: row['later_id'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
    engineVersion: row['engine_version'],
    report: json(row['report'] ?? null),
    hand: inputs.hand ?? null,
    hoursAtLater: null,
  });
  return { ...comparison, inputs };
}

/** What a row does not say is left out instead of said to be nothing: ten years of entries are sent as they stand here. */
export function entryOf(row: Row): Entry {
  const entry = entrySchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    kind: row['kind'],
    date: row['date'],
    played:
      row['played_amount'] === null
        ? null
        : {
            amount: row['played_amount'],
            unit: row['played_unit'],
            minutesPerSide: row['played_minutes_per_side'],
            hours: row['played_hours'],
            estimated: flag(row['played_estimated'] ?? 0),
            ...said({
              from: row['played_from'],
              sidesPerEvening: row['played_sides_per_evening'],
              standardHours: row['played_standard_hours'],
              groove: json(row['played_groove'] ?? null),
            }),
          },
    ...said({
      setUp: json(row['set_up'] ?? null),
      listening: json(row['listening'] ?? null),
      cleaned: json(row['cleaned'] ?? null),
    }),
    text: row['text'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });
  return asChecked(entry);
}

function said(fields: Readonly<Record<string, unknown>>): Record<string, unknown> {
  const some: Record<string, unknown> = {};
  for (const name in fields)
    if (fields[name] !== null && fields[name] !== undefined) some[name] = fields[name];
  return some;
}

export const ENTRY_COLUMNS =
  'stylus_id, kind, date, played_amount, played_unit, played_minutes_per_side, played_hours, played_estimated, played_from, played_sides_per_evening, played_standard_hours, played_groove, set_up, listening, cleaned, text';

const playedValues = (played: EntryDraft['played']): SqlValue[] =>
  played === null
    ? Array.from({ length: 9 }, () => null)
    : [
        played.amount,
        played.unit,
        played.minutesPerSide,
        played.hours,
        fromFlag(played.estimated),
        played.from ?? null,
        played.sidesPerEvening ?? null,
        played.standardHours ?? null,
        fromJson(played.groove ?? null),
      ];

export const entryValues = ({
  stylusId,
  kind,
  date,
  played,
  setUp,
  listening,
  cleaned,
  text,
}: EntryDraft): SqlValue[] => [
  stylusId,
  kind,
  date,
  ...playedValues(played),
  fromJson(setUp ?? null),
  fromJson(listening ?? null),
  fromJson(cleaned ?? null),
  text,
];

export const habitOf = (row: Row): Habit =>
  habitSchema.parse({
    id: row['id'],
    stylusId: row['stylus_id'],
    startDate: row['start_date'],
    endDate: row['end_date'],
    amount: row['amount'],
    unit: row['unit'],
    minutesPerSide: row['minutes_per_side'],
    sidesPerEvening: row['sides_per_evening'],
    hoursPerWeek: row['hours_per_week'],
    text: row['text'],
    createdAt: row['created_at'],
    binnedAt: row['binned_at'],
  });

export const HABIT_COLUMNS =
  'stylus_id, start_date, end_date, amount, unit, minutes_per_side, sides_per_evening, hours_per_week, text';

export const habitValues = (draft: HabitDraft): SqlValue[] => [
  draft.stylusId,
  draft.startDate,
  draft.endDate,
  draft.amount,
  draft.unit,
  draft.minutesPerSide,
  draft.sidesPerEvening,
  draft.hoursPerWeek,
  draft.text,
];
