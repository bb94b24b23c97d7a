import { pixelShape } from '../../core/calibration/index.ts';
import type { DirectedScale } from '../../core/calibration/index.ts';
import { ENGINE_VERSION } from '../../core/version.ts';
import { REPORT_VERSION, SLIDE_REASONS, slideReportSchema } from '../../shared/index.ts';
import type { SlideReport } from '../../shared/index.ts';
import type { Engine, JobOptions } from './engine.ts';
import type { SlideJob, SlideMeasured } from './engine-protocol.ts';

type SlideReason = (typeof SLIDE_REASONS)[number];

const refused = (code: string, message: string): SlideReport => ({
  ok: false,
  reportVersion: REPORT_VERSION,
  engineVersion: ENGINE_VERSION,
  reason: {
    code: (SLIDE_REASONS as readonly string[]).includes(code) ? (code as SlideReason) : 'failed',
    message,
  },
});

/** Measures a picture of a ruled slide; `against`, the result of a turned picture of the same slide, adds the pixels' shape. */
export async function runSlide(
  engine: Engine,
  job: SlideJob,
  against: DirectedScale | null,
  options: JobOptions,
): Promise<SlideReport> {
  const outcome = await engine.run('slide', job, options);
  if (!outcome.ok) return refused(outcome.reason.code, outcome.reason.message);
  const { found } = outcome.value;
  if (!found.ok) return refused(found.reason.code, found.reason.message);
  const parsed = slideReportSchema.safeParse(reportOf(job, outcome.value, found.value, against));
  if (parsed.success) return parsed.data;
  const place = parsed.error.issues[0]?.path.join('.') ?? '';
  return refused(
    'failed',
    `The measurement gave an answer that does not hold together (${place}); it is not used.`,
  );
}

type FoundScale = Extract<SlideMeasured['found'], { ok: true }>['value'];

function reportOf(
  job: SlideJob,
  { widthPx, heightPx, timingMs }: SlideMeasured,
  scale: FoundScale,
  against: DirectedScale | null,
) {
  const shape = against === null ? null : pixelShape(against, scale);
  const notTurned = against !== null && shape === null;
  return {
    ok: true,
    reportVersion: REPORT_VERSION,
    engineVersion: ENGINE_VERSION,
    scaleUmPerPx: { value: scale.umPerPx, expanded: scale.expandedUmPerPx },
    standardUmPerPx: scale.standardUmPerPx,
    pitchUm: job.pitchUm,
    widthPx,
    heightPx,
    acrossDeg: scale.acrossDeg,
    lines: {
      used: scale.linesUsed,
      missing: scale.linesMissing,
      scatterPx: scale.scatterPx,
      largestResidualPx: scale.lines.reduce((most, line) => Math.max(most, Math.abs(line.residualPx)), 0),
    },
    field: {
      bendPx: scale.lineBendPx,
      scaleChangePercent: scale.scaleChangePercent,
      cornerPercent: scale.cornerPercent,
    },
    pixelShape: shape,
    budget: scale.budget,
    drawing: {
      lines: scale.lines.map((line) => [line.number, line.x1, line.y1, line.x2, line.y2, line.residualPx]),
    },
    warnings: [
      ...scale.warnings,
      ...(shape !== null && !shape.square ? [{ code: 'pixels-not-square', message: shape.message }] : []),
      ...(notTurned
        ? [
            {
              code: 'not-turned',
              message:
                'The two pictures show the lines in nearly the same direction, so nothing is known about the shape of the pixels. Turn the slide by about a quarter between them.',
            },
          ]
        : []),
    ],
    timingMs,
  };
}
