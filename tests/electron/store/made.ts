import { onTestFinished } from 'vitest';
import { openCollection } from '../../../electron/host/store/collection.ts';
import type { Database } from '../../../electron/host/store/database.ts';
import { examinationReportSchema, type ExaminationReport } from '../../../shared/index.ts';
import { answered, flatPair, measured } from '../../renderer/reports.ts';
import { sha256, temporaryFolder } from '../support.ts';

/** The database of a new collection, closed when the test is over. */
export async function opened(): Promise<Database> {
  const collection = await openCollection({ folder: temporaryFolder(), who: 'a test' });
  onTestFinished(() => collection.close());
  return collection.db;
}

/** What the store knows of a picture's file; no such file is there. */
export const originalOf = (...bytes: number[]) => ({
  sha256: sha256(new Uint8Array(bytes)),
  mediaType: 'image/png',
  byteLength: bytes.length,
  widthPx: 64,
  heightPx: 48,
});

/** A picture looked at alone, both flats of one width. */
export function examined(width: number, drawing?: unknown): ExaminationReport {
  const flat = { widthUm: measured(width, 1), decisionThresholdUm: 4, detectionLimitUm: 5, detected: true };
  const { ok, reportVersion, engineVersion, suspicions, warnings, timingMs, tip } = answered(
    flatPair(measured(1, 1)),
    flatPair(measured(1, 1)),
  );
  return examinationReportSchema.parse({
    ok,
    reportVersion,
    engineVersion,
    suspicions,
    warnings,
    timingMs,
    tip,
    sharpness: { edgeUm: 4 },
    flats: { left: flat, right: flat },
    ...(drawing === undefined ? {} : { drawing }),
  });
}
