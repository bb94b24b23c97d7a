import { comparisonOfMerges, examinationOfMerge, mergeOf } from '../../core/stack/in-report.ts';
import type { GivenLine } from '../../core/index.ts';
import { withSiblingSpread } from '../../core/wear/index.ts';
import { ENGINE_VERSION } from '../../core/version.ts';
import { noCantileverIn, noOutlineIn, noTipIn } from '../../core/views.ts';
import { Refusal } from '../../shared/index.ts';
import type {
  CantileverReport,
  Capture,
  Comparison,
  ComparisonReport,
  ExaminationReport,
  Outcome,
  Reason,
} from '../../shared/index.ts';
import type { Context } from './context.ts';
import type { JobOptions } from './engine.ts';
import type { PictureSource } from './engine-protocol.ts';
import { refusedReport, runCantilever, runCompare, runExamine } from './measure.ts';
import { readCapture, storeResult } from './store/captures.ts';
import { addComparison, comparisonMadeWith, type NewComparison } from './store/comparisons.ts';
import type { ComparisonInputs } from './store/rows.ts';
import { siblingsOf } from './store/siblings.ts';
import { repeatabilityFor } from './store/studies.ts';
import { readStylus } from './store/styluses.ts';

/** The stored original, with its hash: the worker measures exactly the bytes that were added, or refuses. */
export function originalOf(
  context: Context,
  { sha256, mediaType }: Pick<Capture, 'sha256' | 'mediaType'>,
): PictureSource {
  return { path: context.collection.originals.pathOf(sha256, mediaType), sha256 };
}

/** What can be known without looking at the pixels. */
function mismatch(baseline: Capture, later: Capture): ComparisonReport | null {
  if (baseline.view !== later.view)
    return refusedReport({
      code: 'views-differ',
      message: `The baseline shows the ${baseline.view} view and the later picture the ${later.view} view. Choose two pictures of the same view, or correct the view of one.`,
    });
  if (baseline.mirrored !== null && later.mirrored !== null && baseline.mirrored !== later.mirrored)
    return refusedReport({
      code: 'views-differ',
      message:
        'One of the pictures is mirrored and the other is not, so left and right would be exchanged. Take both with the same camera setting, or correct the mark at one of them.',
    });
  return null;
}

/**
 * A refusal about the pictures is a result and is kept. That the program broke down, took too long or cannot do such a
 * picture at all says nothing about the stylus: it is told and leaves no trace.
 */
function worthKeeping<R extends { ok: true } | { ok: false; reason: Reason }>(report: R): R {
  if (!report.ok && (report.reason.code === 'failed' || report.reason.code === 'timed-out'))
    throw new Refusal(report.reason.code, report.reason.message);
  return report;
}

/** The wrong thing asked of a picture is told at once, and is no finding about the stylus. */
function askable(unseen: Outcome<never> | null): void {
  if (unseen !== null && !unseen.ok) throw new Refusal(unseen.reason.code, unseen.reason.message);
}

type AskedPair = {
  readonly baseline: Capture;
  readonly later: Capture;
  readonly sibling: boolean;
  readonly inputs: ComparisonInputs;
};

/** What a comparison of two captures would be made with; refuses what cannot be compared at all. */
function askedOf(
  { collection: { db } }: Context,
  baselineId: string,
  laterId: string,
  hand: Comparison['hand'],
): AskedPair {
  const baseline = readCapture(db, baselineId);
  const later = readCapture(db, laterId);
  const sibling = baseline.stylusId !== later.stylusId;
  if (sibling && !siblingsOf(db, readStylus(db, later.stylusId)).some(({ id }) => id === baselineId))
    throw new Refusal(
      'bad-input',
      'The two pictures belong to different styluses, and the baseline is not that of an unworn stylus of the same type.',
    );
  if (baselineId === laterId) throw new Refusal('bad-input', 'Choose two different pictures.');
  if (baseline.view === later.view) askable(noOutlineIn(later.view));
  const repeatability = { baseline: repeatabilityFor(db, baseline), later: repeatabilityFor(db, later) };
  const { view, scale: baselineScale } = baseline;
  return {
    baseline,
    later,
    sibling,
    inputs: { view, baselineScale, laterScale: later.scale, hand, repeatability },
  };
}

/** Two captures of one stylus, measured against each other, with what their microscopes' studies say; not stored yet. */
export async function measurePair(
  context: Context,
  baselineId: string,
  laterId: string,
  options: JobOptions,
  hand: Comparison['hand'],
): Promise<NewComparison> {
  const { baseline, later, sibling, inputs } = askedOf(context, baselineId, laterId, hand);
  const { repeatability } = inputs;
  const job = {
    view: baseline.view,
    baseline: originalOf(context, baseline),
    later: originalOf(context, later),
    baselineScale: baseline.scale,
    laterScale: later.scale,
    ...(hand ? { baselinePoseHint: hand.baseline, laterPoseHint: hand.later } : {}),
    ...(repeatability?.baseline ? { baselineRepeatability: repeatability.baseline } : {}),
    ...(repeatability?.later ? { laterRepeatability: repeatability.later } : {}),
  };
  const measured = worthKeeping(
    mismatch(baseline, later) ?? (await runCompare(context.measuring, job, options)),
  );
  const seen = comparisonOfMerges(measured, mergeOf(baseline.camera?.made), mergeOf(later.camera?.made));
  const report = sibling && seen.ok ? withSiblingSpread(seen) : seen;
  return { stylusId: later.stylusId, baselineId, laterId, engineVersion: ENGINE_VERSION, inputs, report };
}

/**
 * The answer that this engine gave to the same question before: the same two pictures, whose files still are what they
 * were, the same view, scales, placing by hand and studies. Null: it has to be measured.
 */
async function answerBefore(
  context: Context,
  baselineId: string,
  laterId: string,
  hand: Comparison['hand'],
): Promise<NewComparison | Comparison | null> {
  const { db, originals } = context.collection;
  const { baseline, later, inputs } = askedOf(context, baselineId, laterId, hand);
  // Whether one is mirrored is asked without looking at the pixels, every time.
  if (mismatch(baseline, later) !== null) return null;
  const known = comparisonMadeWith(db, { baselineId, laterId, engineVersion: ENGINE_VERSION, inputs });
  if (known === null) return null;
  for (const { sha256, mediaType } of [baseline, later])
    if (!(await originals.isIntact(sha256, mediaType))) return null;
  if (known.binnedAt === null) return known;
  const { stylusId, engineVersion, report } = known;
  return { stylusId, baselineId, laterId, engineVersion, inputs, report };
}

/** The same; the result is stored, a refusal too. What was asked before is answered from what is stored. */
export async function compareCaptures(
  context: Context,
  baselineId: string,
  laterId: string,
  options: JobOptions,
  hand: Comparison['hand'] = null,
): Promise<Comparison> {
  const before = await answerBefore(context, baselineId, laterId, hand);
  if (before !== null && 'id' in before) return before;
  const measured = before ?? (await measurePair(context, baselineId, laterId, options, hand));
  const comparison = addComparison(context.collection.db, measured);
  context.emit('changed', { stylusId: measured.stylusId });
  return comparison;
}

/** Looks at one picture, with what its microscope's study says; not stored yet. */
export async function examineWith(
  context: Context,
  capture: Capture,
  options: JobOptions,
  more: { readonly otherLight?: PictureSource } = {},
): Promise<ExaminationReport> {
  const repeatability = repeatabilityFor(context.collection.db, capture);
  const job = {
    view: capture.view,
    picture: originalOf(context, capture),
    scale: capture.scale,
    ...more,
    ...(repeatability ? { repeatability } : {}),
  };
  const seen = await runExamine(context.measuring, job, options);
  return worthKeeping(examinationOfMerge(seen, mergeOf(capture.camera?.made)));
}

/** A second end-on picture of the same stylus, taken under a lamp from another side. */
function otherLightOf(context: Context, capture: Capture, id: string): { otherLight: PictureSource } {
  const other = readCapture(context.collection.db, id);
  if (other.id === capture.id || other.stylusId !== capture.stylusId || other.view !== 'end-on')
    throw new Refusal('bad-input', 'Choose another end-on picture of the same stylus.');
  return { otherLight: originalOf(context, other) };
}

/** Looks at one picture and stores what was found beside it. */
export async function measureCapture(
  context: Context,
  id: string,
  kind: 'examination' | 'cantilever',
  options: JobOptions,
  more: { readonly otherLightId?: string; readonly line?: GivenLine } = {},
): Promise<Capture> {
  const { db } = context.collection;
  const capture = readCapture(db, id);
  askable(kind === 'examination' ? noTipIn(capture.view) : noCantileverIn(capture.view));
  const other = more.otherLightId === undefined ? {} : otherLightOf(context, capture, more.otherLightId);
  const line = more.line === undefined ? {} : { line: more.line };
  const job = {
    view: capture.view,
    picture: originalOf(context, capture),
    scale: capture.scale,
    ...line,
  };
  const report: ExaminationReport | CantileverReport =
    kind === 'examination'
      ? await examineWith(context, capture, options, other)
      : worthKeeping(await runCantilever(context.measuring, job, options));
  const stored = storeResult(db, id, kind, report);
  context.emit('changed', { stylusId: stored.stylusId });
  return stored;
}
