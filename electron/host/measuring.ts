import { comparisonOfMerges, examinationOfMerge, mergeOf } from '../../core/stack/in-report.ts';
import type { GivenLine } from '../../core/index.ts';
import { withSiblingSpread } from '../../core/wear/index.ts';
import { ENGINE_VERSION } from '../../core/version.ts';
import { Refusal } from '../../shared/index.ts';
import type {
  CantileverReport,
  Capture,
  Comparison,
  ComparisonReport,
  ExaminationReport,
  Reason,
} from '../../shared/index.ts';
import type { Context } from './context.ts';
import type { JobOptions } from './engine.ts';
import type { PictureSource } from './engine-protocol.ts';
import { refusedReport, runCantilever, runCompare, runExamine } from './measure.ts';
import { readCapture, storeResult } from './store/captures.ts';
import { addComparison } from './store/comparisons.ts';
import { siblingsOf } from './store/siblings.ts';
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

/** Two captures of one stylus, measured against each other; the result is stored, a refusal too. */
export async function compareCaptures(
  context: Context,
  baselineId: string,
  laterId: string,
  options: JobOptions,
  hand: Comparison['hand'] = null,
): Promise<Comparison> {
  const { db } = context.collection;
  const baseline = readCapture(db, baselineId);
  const later = readCapture(db, laterId);
  const sibling = baseline.stylusId !== later.stylusId;
  if (sibling && !siblingsOf(db, readStylus(db, later.stylusId)).some(({ id }) => id === baselineId))
    throw new Refusal(
      'bad-input',
      'The two pictures belong to different styluses, and the baseline is not that of an unworn stylus of the same type.',
    );
  if (baselineId === laterId) throw new Refusal('bad-input', 'Choose two different pictures.');
  const job = {
    view: baseline.view,
    baseline: originalOf(context, baseline),
    later: originalOf(context, later),
    baselineScale: baseline.scale,
    laterScale: later.scale,
    ...(hand ? { baselinePoseHint: hand.baseline, laterPoseHint: hand.later } : {}),
  };
  const measured = worthKeeping(
    mismatch(baseline, later) ?? (await runCompare(context.measuring, job, options)),
  );
  const seen = comparisonOfMerges(measured, mergeOf(baseline.camera?.made), mergeOf(later.camera?.made));
  const report = sibling && seen.ok ? withSiblingSpread(seen) : seen;
  const comparison = addComparison(db, {
    stylusId: later.stylusId,
    baselineId,
    laterId,
    engineVersion: ENGINE_VERSION,
    inputs: { view: baseline.view, baselineScale: baseline.scale, laterScale: later.scale, hand },
    report,
  });
  context.emit('changed', { stylusId: later.stylusId });
  return comparison;
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
  const other = more.otherLightId === undefined ? {} : otherLightOf(context, capture, more.otherLightId);
  const line = more.line === undefined ? {} : { line: more.line };
  const job = {
    view: capture.view,
    picture: originalOf(context, capture),
    scale: capture.scale,
    ...other,
    ...line,
  };
  const examine = async (): Promise<ExaminationReport> =>
    examinationOfMerge(await runExamine(context.measuring, job, options), mergeOf(capture.camera?.made));
  const report = worthKeeping<ExaminationReport | CantileverReport>(
    kind === 'examination' ? await examine() : await runCantilever(context.measuring, job, options),
  );
  const stored = storeResult(db, id, kind, report);
  context.emit('changed', { stylusId: stored.stylusId });
  return stored;
}
