import type { z } from 'zod';
import { ENGINE_VERSION } from '../../core/version.ts';
import {
  REPORT_VERSION,
  cantileverReportSchema,
  comparisonReportSchema,
  examinationReportSchema,
} from '../../shared/index.ts';
import type {
  CantileverReport,
  ComparisonReport,
  ExaminationReport,
  Outcome,
  Reason,
} from '../../shared/index.ts';
import type { Engine, JobOptions } from './engine.ts';
import type { CompareJob, SingleJob } from './engine-protocol.ts';

type Refused = Extract<ComparisonReport, { ok: false }>;

export const refusedReport = (reason: Reason): Refused => ({
  ok: false,
  reportVersion: REPORT_VERSION,
  engineVersion: ENGINE_VERSION,
  reason: { ...reason },
});

/** An engine's answer is believed only when it has the agreed shape: no missing field, no number that is none. */
function checked<T>(schema: z.ZodType<T>, outcome: Outcome<unknown>): T | Refused {
  if (!outcome.ok) return refusedReport(outcome.reason);
  const parsed = schema.safeParse(outcome.value);
  if (parsed.success) return parsed.data;
  const place = parsed.error.issues[0]?.path.join('.') ?? '';
  return refusedReport({
    code: 'failed',
    message: `The measurement gave an answer that does not hold together (${place}); it is not used.`,
  });
}

export async function runCompare(
  engine: Engine,
  job: CompareJob,
  options: JobOptions,
): Promise<ComparisonReport> {
  return checked(comparisonReportSchema, await engine.run('compare', job, options));
}

export async function runExamine(
  engine: Engine,
  job: SingleJob,
  options: JobOptions,
): Promise<ExaminationReport> {
  return checked(examinationReportSchema, await engine.run('examine', job, options));
}

export async function runCantilever(
  engine: Engine,
  job: SingleJob,
  options: JobOptions,
): Promise<CantileverReport> {
  return checked(cantileverReportSchema, await engine.run('cantilever', job, options));
}
