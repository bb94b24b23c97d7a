import { residueFate } from '../../core/wear/cleaning.ts';
import type { SeenResidue } from '../../core/wear/cleaning.ts';
import { Refusal } from '../../shared/index.ts';
import type {
  Capture,
  Cleaned,
  ComparisonReport,
  ExaminationReport,
  ResidueFate,
} from '../../shared/index.ts';
import type { Context } from './context.ts';
import type { JobOptions } from './engine.ts';
import { compareCaptures, measureCapture } from './measuring.ts';
import { capturesOf, readCapture } from './store/captures.ts';

type Seen = {
  /** null: no answer, and `why`. */
  readonly residue: SeenResidue[] | null;
  readonly why: string;
  readonly unit: Cleaned['unit'];
};

/**
 * Looks at both pictures in the same way - against the baseline of their view where there is one, each alone else - and
 * says what became of the residue. Results are stored with the pictures as always; the finding itself is not.
 */
export async function judgeCleaning(
  context: Context,
  beforeId: string,
  afterId: string,
  options: JobOptions,
): Promise<Cleaned> {
  const { db } = context.collection;
  const [before, after] = [readCapture(db, beforeId), readCapture(db, afterId)];
  if (before.stylusId !== after.stylusId || beforeId === afterId)
    throw new Refusal('bad-input', 'Choose two different pictures of the same stylus.');
  if (before.view !== after.view)
    throw new Refusal('bad-input', 'Both pictures must show the same view. Choose two of one view.');
  if (before.view !== 'front' && before.view !== 'side')
    throw new Refusal('bad-input', 'Residue on the tip is looked for in front and side views.');
  const baseline =
    capturesOf(db, before.stylusId).find(
      (one) => one.isBaseline && one.view === before.view && one.id !== beforeId && one.id !== afterId,
    ) ?? null;
  const first = await lookAt(context, before, baseline, part(options, 0));
  const second = await lookAt(context, after, baseline, part(options, 1));
  const residue = residueFate(first.residue, second.residue);
  const cause =
    first.residue === null ? `The picture before: ${first.why}` : `The picture after: ${second.why}`;
  return {
    beforeId,
    afterId,
    residue,
    message: residue === 'cannot-tell' ? `Nobody can tell from this pair. ${cause}` : SENTENCES[residue],
    before: first.residue ?? [],
    after: second.residue ?? [],
    unit: second.unit,
  };
}

const SENTENCES: Record<Exclude<ResidueFate, 'cannot-tell'>, string> = {
  gone: 'The residue is gone: it stands out before the cleaning and no more after it.',
  stays:
    'The residue stays after cleaning. Do not scrape. Clean once more as the cartridge’s maker allows, and look again; what still stays is a finding of its own and not wear.',
  new: 'Something stands out after the cleaning that was not there before, perhaps a fibre of the brush. Clean and look again.',
  none: 'No residue stands out in either picture.',
};

/** Each picture is half of the work. */
function part(options: JobOptions, half: 0 | 1): JobOptions {
  return {
    ...options,
    onProgress: (stage, fraction) =>
      options.onProgress?.(`${half === 0 ? 'Before' : 'After'}: ${stage}`, (half + fraction) / 2),
  };
}

async function lookAt(
  context: Context,
  capture: Capture,
  baseline: Capture | null,
  options: JobOptions,
): Promise<Seen> {
  if (baseline !== null) {
    const { report } = await compareCaptures(context, baseline.id, capture.id, options);
    if (report.ok || capture.scale === null) return seenIn(report);
  }
  const { examination } = await measureCapture(context, capture.id, 'examination', options);
  return examination === null ? { residue: null, why: 'no answer.', unit: 'um' } : seenIn(examination);
}

function seenIn(report: ComparisonReport | ExaminationReport): Seen {
  if (!report.ok) return { residue: null, why: report.reason.message, unit: 'um' };
  const residue = report.suspicions
    .filter((one) => one.kind === 'residue')
    .map(({ angleDeg, sizeUm, depthUm }) => ({ angleDeg, sizeUm, depthUm }));
  return { residue, why: '', unit: report.unit ?? 'um' };
}
