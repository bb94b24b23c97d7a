/**
 * Every method and event of the host, in one table. Preload, loopback, command line and tests take their types and
 * their checks from here; a method that is not in the table does not exist.
 * Over 400 lines because a table in pieces is no table.
 */
import { z } from 'zod';
import { cleanedSchema } from './cleaning.ts';
import { daySchema } from './dates.ts';
import {
  captureSchema,
  comparisonSchema,
  datedSchema,
  entryDraftSchema,
  entryKindSchema,
  entrySchema,
  habitDraftSchema,
  habitSchema,
  idSchema,
  lightSchema,
  scaleSchema,
  stylusCardSchema,
  stylusChangeSchema,
  stylusOpeningSchema,
  stylusDraftSchema,
  knownPicturesSchema,
  stylusPageSchema,
  stylusPieceSchema,
  stylusSchema,
} from './collection.ts';
import { givenAdviceSchema } from './advice.ts';
import {
  causeAnswerSchema,
  listeningPageSchema,
  passageDraftSchema,
  passageSchema,
  recordingFactsSchema,
  recordingSchema,
  soundComparisonSchema,
  soundOfferedSchema,
} from './listening.ts';
import { markDraftSchema, markSchema } from './marks.ts';
import { offerDraftSchema, offerPageSchema, offerSchema } from './offer.ts';
import { cameraRecordSchema } from './camera.ts';
import {
  backupMadeSchema,
  binEmptiedSchema,
  binItemSchema,
  checkReportSchema,
  exportMadeSchema,
  keepingSettingsSchema,
  keepingStatusSchema,
  restoredSchema,
  troubleSchema,
} from './keeping.ts';
import { handPlacingSchema, viewSchema } from './report.ts';
import { scaleCardDraftSchema, scaleCardSchema } from './scale-card.ts';
import { directedScaleSchema, pitchSchema, slideAnswerSchema, slideReportSchema } from './scale.ts';
import { playListSchema, playMappingSchema } from './plays.ts';
import { studyDraftSchema, studyListSchema, studyPageSchema, studySchema } from './study.ts';
import { dueLookSchema, wearCourseSchema } from './wear.ts';

const place = z.tuple([z.number(), z.number()]);
const lineSchema = z.union([
  z
    .object({ from: place, to: place })
    .refine(({ from, to }) => Math.hypot(to[0] - from[0], to[1] - from[1]) >= 2, {
      message: 'the two points lie on the same place',
    }),
  z.object({ angleDeg: z.number().min(-360).max(360) }),
]);
const nothing = z.object({});
const bytes = z.instanceof(Uint8Array);
const jobId = z.string().min(1).max(64);
const filePath = z.string().trim().min(1).max(4000);
const method = <I extends z.ZodType, O extends z.ZodType>(input: I, output: O) => ({ input, output });

/** What has a bin: every kind of row that a person makes. */
export const binnableSchema = z.enum([
  'stylus',
  'capture',
  'comparison',
  'entry',
  'mark',
  'scale-card',
  'passage',
  'recording',
  'sound-comparison',
  'offer',
  'habit',
  'study',
]);
export type Binnable = z.infer<typeof binnableSchema>;

/** The whole file each time: nothing of a list is kept that was only looked at. */
const playQuestion = z.object({
  bytes,
  stylusId: idSchema,
  mapping: playMappingSchema.nullable(),
  minutesPerSide: z.number().positive().max(120),
});

const wearQuestion = z.object({
  today: daySchema,
  practiceHours: z.tuple([z.number().positive(), z.number().positive()]),
});
const paperSchema = z.enum(['A4', 'Letter']);
/** Hours between which people think about a new stylus: practice, the person's own setting. */
const hoursBandSchema = z.tuple([z.number().positive(), z.number().positive()]);

/** A picture that the host can find: one that was offered, one of the collection, or the one of a scale card. */
const pictureRefSchema = z.union([
  z.strictObject({ token: z.string().max(64) }),
  z.strictObject({ captureId: idSchema }),
  z.strictObject({ cardId: idSchema }),
]);
export type PictureRef = z.infer<typeof pictureRefSchema>;
const shownSchema = z.object({
  bytes,
  mediaType: z.string(),
  widthPx: z.number().int(),
  heightPx: z.number().int(),
});
/** One step of undo: its number, what it was in a few words, and when (UTC). */
export const historyStepSchema = z.object({ number: z.number().int(), title: z.string(), at: z.string() });
export type HistoryStep = z.infer<typeof historyStepSchema>;
/** A step that was taken back or done again, with what it was about, so that it can be named away from there. */
export const steppedSchema = historyStepSchema.extend({
  styluses: z.array(z.object({ id: idSchema, name: z.string() })),
  /** The kind of the one entry that it changed. */
  entryKind: entryKindSchema.nullable(),
});
export type SteppedHistory = z.infer<typeof steppedSchema>;
export const historyStateSchema = z.object({
  undo: historyStepSchema.nullable(),
  redo: historyStepSchema.nullable(),
});
export type HistoryState = z.infer<typeof historyStateSchema>;

/** Calls that carry the same key one after the other are one step of undo. */
const gesture = z.string().min(1).max(64).optional();

const guessed = <T extends z.ZodType>(value: T) =>
  z.object({ value, from: z.enum(['file-name', 'picture']) }).nullable();
export const guessSchema = z.object({
  view: guessed(viewSchema),
  light: guessed(lightSchema),
  /** Looks like a ruled slide and no stylus. */
  slide: z.boolean(),
});
export type Guess = z.infer<typeof guessSchema>;

/** A picture that was offered and looked at, but is not in the collection yet. */
export const offeredSchema = z.object({
  token: z.string(),
  fileName: z.string(),
  sha256: z.string(),
  mediaType: z.string(),
  widthPx: z.number().int(),
  heightPx: z.number().int(),
  /** Date found in the picture or its file name; null = ask the person. */
  taken: datedSchema.nullable(),
  /** Capture of the same content that the collection already holds. */
  duplicateOf: z.object({ captureId: idSchema, stylusName: z.string() }).nullable(),
  warnings: z.array(z.string()),
  /** A small JPEG for lists, upright; null when none could be made. */
  preview: bytes.nullable().optional(),
  /** Guessed from the file's name or from a quick look; a person confirms it. */
  guess: guessSchema.optional(),
});
export type Offered = z.infer<typeof offeredSchema>;

/** An offered picture with what a person says of it. */
const newCaptureSchema = z.object({
  token: z.string(),
  stylusId: idSchema,
  view: viewSchema,
  light: lightSchema,
  mirrored: z.boolean().nullable(),
  taken: datedSchema.nullable(),
  scale: scaleSchema.nullable(),
  microscope: z.string().trim().max(200),
  isBaseline: z.boolean(),
  notes: z.string().trim().max(20_000),
  /** For a live picture. */
  camera: cameraRecordSchema.optional(),
  /** Tokens of offered pictures that are kept behind this one: the focal planes of a merge, in their order. */
  parts: z.array(z.string()).max(40).optional(),
  /** Of a repeatability study of the same stylus: the picture stays out of the timeline. */
  studyId: idSchema.optional(),
  gesture,
});

export const hostMethods = {
  'app.info': method(
    nothing,
    z.object({
      shell: z.enum(['electron', 'loopback', 'test']),
      version: z.string(),
      engineVersion: z.string(),
      collectionFolder: z.string(),
      demoPresent: z.boolean(),
      /** Sentences worth showing at start, e.g. the collection lies in a synchronised folder. */
      notices: z.array(z.string()),
      canPrintPdf: z.boolean(),
      /** Whether the host can open a folder in the system's own file manager. */
      canShowFolder: z.boolean(),
      /** Why the collection could not be opened; null when all is well. Only keeping.* works then. */
      trouble: troubleSchema.nullable(),
      /** True while what could still be read of a damaged collection is shown; nothing can be changed then. */
      isCopy: z.boolean(),
    }),
  ),
  'stylus.list': method(nothing, z.array(stylusCardSchema)),
  /**
   * Outlines and profiles in the reports' `drawing` come as empty lists, poses are there: nine tenths of a long history
   * would otherwise be lines that nobody looks at. `capture.read` and `comparison.read` have them.
   */
  'stylus.page': method(z.object({ id: idSchema }), stylusPageSchema),
  /**
   * The same page for somebody who stays with it: in pieces, because one message with ten years of entries keeps the
   * window from answering while it is read, and with a name for its state.
   */
  'stylus.open': method(z.object({ id: idSchema }), stylusOpeningSchema),
  /** Piece 0 follows what `stylus.open` brought; null: the state is not known any more. */
  'stylus.piece': method(
    z.object({ id: idSchema, state: z.string().max(64), number: z.number().int().nonnegative() }),
    stylusPieceSchema.nullable(),
  ),
  /**
   * What became different since `state`, which an earlier opening or change bore; null: not known any more, or more than
   * one message should carry. Open the page anew.
   */
  'stylus.renew': method(
    z.object({ id: idSchema, state: z.string().max(64) }),
    stylusChangeSchema.nullable(),
  ),
  /**
   * What pictures tell about the next one, of every stylus: the last picture, the baselines, and of those that agree in
   * microscope, frame, camera and scale the newest.
   */
  'capture.known': method(nothing, z.array(knownPicturesSchema)),
  'capture.read': method(z.object({ id: idSchema }), captureSchema),
  'comparison.read': method(z.object({ id: idSchema }), comparisonSchema),
  'stylus.create': method(stylusDraftSchema, stylusSchema),
  'stylus.update': method(z.object({ id: idSchema, draft: stylusDraftSchema }), stylusSchema),
  'stylus.retire': method(
    z.object({
      id: idSchema,
      date: daySchema,
      reason: z.string().trim().min(1).max(2000),
      successorId: idSchema.nullable(),
    }),
    stylusSchema,
  ),
  /** Hands over the bytes of one picture; decoded by content, checked, hashed; nothing enters the collection yet. */
  'picture.offer': method(z.object({ fileName: z.string().max(500), bytes }), offeredSchema),
  /** The same for a live picture: bare pixels, rows from the top, 16-bit samples low byte first; kept without loss. */
  'picture.offerPixels': method(
    z.object({
      fileName: z.string().max(500),
      widthPx: z.number().int().min(1).max(30_000),
      heightPx: z.number().int().min(1).max(30_000),
      channels: z.union([z.literal(1), z.literal(3)]),
      bits: z.union([z.literal(8), z.literal(16)]),
      pixels: bytes,
    }),
    offeredSchema,
  ),
  'picture.withdraw': method(z.object({ token: z.string() }), nothing),
  'capture.add': method(newCaptureSchema, captureSchema),
  /**
   * Adds many at once: either all of them are in afterwards, or - cancelled or failed at any moment - none is and all still
   * wait. One step of undo.
   */
  'capture.addAll': method(
    z.object({ captures: z.array(newCaptureSchema).min(1).max(2000), jobId }),
    z.object({ ids: z.array(idSchema) }),
  ),
  /** One of the pictures kept behind a merge, counted from 0; as `capture.picture`. */
  'capture.part': method(
    z.object({
      id: idSchema,
      number: z.number().int().min(0),
      maxEdgePx: z.number().int().min(16).max(8192),
    }),
    z.object({ bytes, mediaType: z.string(), widthPx: z.number().int(), heightPx: z.number().int() }),
  ),
  'capture.update': method(
    z.object({
      id: idSchema,
      view: viewSchema,
      light: lightSchema,
      mirrored: z.boolean().nullable(),
      taken: datedSchema.nullable(),
      scale: scaleSchema.nullable(),
      microscope: z.string().trim().max(200),
      isBaseline: z.boolean(),
      notes: z.string().trim().max(20_000),
    }),
    captureSchema,
  ),
  /** The picture, upright by its EXIF orientation, long edge at most `maxEdgePx`, as PNG or JPEG bytes. */
  'capture.picture': method(
    z.object({ id: idSchema, maxEdgePx: z.number().int().min(16).max(8192) }),
    shownSchema,
  ),
  /**
   * Measures a picture of a ruled slide. `against`: the result of another picture of the same slide, turned against this one,
   * to tell whether the pixels are square. A picture that shows no ruling is an answer too (ok: false).
   */
  'scale.measure': method(
    z.object({
      picture: pictureRefSchema,
      pitchUm: pitchSchema,
      pitchRelativeStandard: z.number().nonnegative().max(0.1).nullable(),
      against: directedScaleSchema.nullable(),
      jobId,
    }),
    slideReportSchema,
  ),
  'scale.cards': method(nothing, z.array(scaleCardSchema)),
  /** `picture` is copied among the originals; `slide` is what scale.measure found in it. */
  'scale.keep': method(
    z.object({
      draft: scaleCardDraftSchema,
      picture: pictureRefSchema.nullable(),
      slide: slideAnswerSchema.nullable(),
    }),
    scaleCardSchema,
  ),
  'scale.change': method(z.object({ id: idSchema, draft: scaleCardDraftSchema }), scaleCardSchema),
  /** The picture of an offered file or of a scale card, as capture.picture gives that of a capture. */
  'picture.show': method(
    z.object({ picture: pictureRefSchema, maxEdgePx: z.number().int().min(16).max(8192) }),
    shownSchema,
  ),
  /** `otherLightId`: end-on only, the same part not moved and lit from another side. */
  'capture.examine': method(
    z.object({ id: idSchema, jobId, gesture, otherLightId: idSchema.optional() }),
    captureSchema,
  ),
  /** `line`: what its skew is told against, two points in picture pixels or an angle on screen, anticlockwise. */
  'capture.cantilever': method(
    z.object({ id: idSchema, jobId, gesture, line: lineSchema.optional() }),
    captureSchema,
  ),
  'comparison.run': method(
    z.object({
      baselineId: idSchema,
      laterId: idSchema,
      jobId,
      /** Laid over each other by hand: the measurement starts from there instead of searching. */
      hand: handPlacingSchema.nullable().optional(),
      gesture,
    }),
    comparisonSchema,
  ),
  /** Repeatability studies of all styluses, what counts for which microscope, and how many results know it otherwise. */
  'study.list': method(nothing, studyListSchema),
  'study.page': method(z.object({ id: idSchema }), studyPageSchema),
  'study.create': method(studyDraftSchema, studySchema),
  /** Which studies count for a microscope: pooled where their spreads are alike, else refused; none with an empty list. */
  'study.choose': method(
    z.object({ microscope: z.string().trim().min(1).max(200), ids: z.array(idSchema).max(200) }),
    studyListSchema,
  ),
  /** Measures again whatever was measured with another study than counts now; all of it is stored, or nothing. */
  'study.redo': method(
    z.object({ jobId }),
    z.object({ redone: z.number().int(), refused: z.number().int() }),
  ),
  /** Looks at a pair before and after cleaning; the finding is kept by the cleaning's own entry. */
  'cleaning.judge': method(z.object({ beforeId: idSchema, afterId: idSchema, jobId }), cleanedSchema),
  'job.cancel': method(z.object({ jobId }), nothing),
  'entry.add': method(entryDraftSchema, entrySchema),
  'entry.update': method(z.object({ id: idSchema, draft: entryDraftSchema }), entrySchema),
  'mark.list': method(z.object({ stylusId: idSchema }), z.array(markSchema)),
  'mark.add': method(z.object({ draft: markDraftSchema, gesture }), markSchema),
  'mark.update': method(z.object({ id: idSchema, draft: markDraftSchema, gesture }), markSchema),
  /** Puts something into the bin, or takes it back. Nothing is destroyed. */
  'bin.put': method(z.object({ kind: binnableSchema, id: idSchema }), nothing),
  'bin.takeBack': method(z.object({ kind: binnableSchema, id: idSchema }), nothing),
  /** Undo and redo, by gesture and across restarts; `number` names one step, null the next one. */
  'history.state': method(nothing, historyStateSchema),
  'history.undo': method(z.object({ number: z.number().int().nullable() }), steppedSchema),
  'history.redo': method(z.object({ number: z.number().int().nullable() }), steppedSchema),
  'habit.add': method(habitDraftSchema, habitSchema),
  'habit.update': method(z.object({ id: idSchema, draft: habitDraftSchema }), habitSchema),
  /** Looks at a play list without changing anything: columns, guess, what each row would become. */
  'plays.read': method(playQuestion, playListSchema),
  /** Brings in the new rows of a play list, all of them or none. */
  'plays.import': method(
    playQuestion.extend({ jobId }),
    z.object({ added: z.number().int(), known: z.number().int(), refused: z.number().int() }),
  ),
  /** The fitted wear law of each wall, its band, the person's limit in hours and dates, and the next look. */
  /** What is to be looked at when, over all styluses in use; the same as an iCalendar file. */
  'looks.list': method(wearQuestion, z.array(dueLookSchema)),
  'looks.calendar': method(wearQuestion, z.object({ bytes, fileName: z.string(), count: z.number().int() })),
  'wear.course': method(wearQuestion.extend({ stylusId: idSchema }), wearCourseSchema),
  'bin.list': method(nothing, z.array(binItemSchema)),
  /** Destroys what is in the bin. The one call that cannot be taken back. */
  'bin.empty': method(nothing, binEmptiedSchema),
  /** One stylus with everything on it as an archive, and back; `again`: it was here already and came in as a second. */
  'stylus.export': method(z.object({ id: idSchema, jobId }), z.object({ bytes, fileName: z.string() })),
  'stylus.import': method(
    z.object({ bytes, jobId }),
    z.object({ stylusId: idSchema, name: z.string(), again: z.boolean() }),
  ),
  /** The collection as a thing to be kept. The calls without a comment work also when it cannot be opened. */
  'keeping.status': method(nothing, keepingStatusSchema),
  /** Wants an open collection, as do check, backUp and export. */
  'keeping.set': method(keepingSettingsSchema, keepingSettingsSchema),
  'keeping.check': method(z.object({ jobId }), checkReportSchema),
  'keeping.backUp': method(z.object({ jobId }), backupMadeSchema),
  'keeping.export': method(z.object({ jobId }), exportMadeSchema),
  'keeping.verify': method(z.object({ path: filePath, jobId }), z.object({ files: z.number().int() })),
  'keeping.restore': method(z.object({ path: filePath, jobId }), restoredSchema),
  'keeping.takeAsideBack': method(z.object({ name: z.string().max(100) }), restoredSchema),
  'keeping.lookInside': method(nothing, z.object({ rows: z.number().int() })),
  'keeping.leaveCopy': method(nothing, nothing),
  'keeping.keepSalvaged': method(nothing, restoredSchema),
  'keeping.tryAgain': method(nothing, nothing),
  'keeping.showFolder': method(z.object({ which: z.enum(['collection', 'backups', 'aside']) }), nothing),
  'demo.remove': method(nothing, nothing),
  'demo.add': method(nothing, nothing),
  'listening.page': method(z.object({ stylusId: idSchema }), listeningPageSchema),
  'passage.add': method(passageDraftSchema, passageSchema),
  'passage.update': method(z.object({ id: idSchema, draft: passageDraftSchema }), passageSchema),
  'cause.answer': method(causeAnswerSchema.extend({ stylusId: idSchema }), causeAnswerSchema),
  /** Hands over the bytes of one WAV file; read to its end, checked, hashed; nothing enters the collection yet. */
  'sound.offer': method(z.object({ fileName: z.string().max(500), bytes }), soundOfferedSchema),
  'sound.withdraw': method(z.object({ token: z.string() }), nothing),
  'recording.add': method(recordingFactsSchema.extend({ token: z.string() }), recordingSchema),
  'recording.measure': method(z.object({ id: idSchema, jobId }), recordingSchema),
  'recording.compare': method(
    z.object({ earlierId: idSchema, laterId: idSchema, jobId }),
    soundComparisonSchema,
  ),
  /** What the evidence on a stylus says today. `hoursBand`: the person's own setting of a common practice. */
  'advice.of': method(
    z.object({ stylusId: idSchema, hoursBand: hoursBandSchema.optional() }),
    givenAdviceSchema,
  ),
  'offer.list': method(nothing, z.array(offerSchema)),
  'offer.page': method(z.object({ id: idSchema }), offerPageSchema),
  'offer.create': method(offerDraftSchema, offerSchema),
  'offer.update': method(z.object({ id: idSchema, draft: offerDraftSchema, gesture }), offerSchema),
  /** The sheet of a used turntable, on the screen and on paper. */
  'offer.html': method(z.object({ id: idSchema, paper: paperSchema }), z.object({ html: z.string() })),
  'offer.pdf': method(
    z.object({ id: idSchema, paper: paperSchema }),
    z.object({ bytes, fileName: z.string() }),
  ),
  /** The condition sheet as one self-contained HTML document, and the same as a PDF. */
  'sheet.html': method(
    z.object({
      stylusId: idSchema,
      comparisonId: idSchema.nullable(),
      paper: paperSchema,
      hoursBand: hoursBandSchema.optional(),
    }),
    z.object({ html: z.string() }),
  ),
  'sheet.pdf': method(
    z.object({
      stylusId: idSchema,
      comparisonId: idSchema.nullable(),
      paper: paperSchema,
      hoursBand: hoursBandSchema.optional(),
    }),
    z.object({ bytes, fileName: z.string() }),
  ),
} as const;

export type HostMethods = typeof hostMethods;
export type MethodName = keyof HostMethods;
export type InputOf<M extends MethodName> = z.infer<HostMethods[M]['input']>;
export type OutputOf<M extends MethodName> = z.infer<HostMethods[M]['output']>;

export const hostEvents = {
  /** fraction 0..1 */
  progress: z.object({ jobId, stage: z.string(), fraction: z.number() }),
  /** Something in the collection changed; null = the list of styluses itself. */
  changed: z.object({ stylusId: idSchema.nullable() }),
} as const;
export type EventName = keyof typeof hostEvents;
export type EventOf<E extends EventName> = z.infer<(typeof hostEvents)[E]>;

/** What a page holds: `call` rejects with a Refusal-shaped error {code, message}; `on` returns its own undoing. */
export type HostClient = {
  call<M extends MethodName>(name: M, input: InputOf<M>): Promise<OutputOf<M>>;
  on<E extends EventName>(name: E, listener: (event: EventOf<E>) => void): () => void;
};

/** What the machine's side implements: one function per method. */
export type HostHandlers = { [M in MethodName]: (input: InputOf<M>) => Promise<OutputOf<M>> };

/** Reply that crosses the border between the processes. */
export type HostReply =
  { ok: true; value: unknown } | { ok: false; error: { code: string; message: string } };
