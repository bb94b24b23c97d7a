import { readFile } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { z } from 'zod';
import { viewSchema } from '../../shared/index.ts';
import type { GivenScale } from '../../core/index.ts';
import { UsageError } from './arguments.ts';
import type { PairRequest } from './arguments.ts';

const scale = z.number().positive().nullish();
const scaleU = z.number().nonnegative().nullish();

const lineSchema = z.object({
  id: z.union([z.string(), z.number()]).optional(),
  view: viewSchema,
  baseline: z.string().min(1),
  baselineScaleUmPerPx: scale,
  baselineScaleUUmPerPx: scaleU,
  later: z.string().min(1),
  laterScaleUmPerPx: scale,
  laterScaleUUmPerPx: scaleU,
});

const scaleOf = (
  umPerPx: number | null | undefined,
  standard: number | null | undefined,
): GivenScale | null =>
  umPerPx === null || umPerPx === undefined ? null : { umPerPx, standardUmPerPx: standard ?? null };

function pairOf(line: string, where: string, folder: string): PairRequest {
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch {
    throw new UsageError(`${where}: this is no JSON.`);
  }
  const read = lineSchema.safeParse(value);
  if (!read.success) {
    const issue = read.error.issues[0];
    throw new UsageError(
      `${where}: ${issue?.path.join('.') || 'the line'}: ${issue?.message ?? 'not valid'}.`,
    );
  }
  const { id, view, baseline, later } = read.data;
  return {
    ...(id === undefined ? {} : { id: String(id) }),
    view,
    baseline: resolve(folder, baseline),
    later: resolve(folder, later),
    baselineScale: scaleOf(read.data.baselineScaleUmPerPx, read.data.baselineScaleUUmPerPx),
    laterScale: scaleOf(read.data.laterScaleUmPerPx, read.data.laterScaleUUmPerPx),
  };
}

/** Reads the whole file before anything is measured, so that a bad line costs no half-finished batch. */
export async function readPairs(file: string): Promise<PairRequest[]> {
  const path = resolve(file);
  let content: string;
  try {
    content = await readFile(path, 'utf8');
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? 'unknown reason';
    throw new UsageError(`The pairs file ${file} cannot be read (${code}).`);
  }
  const folder = dirname(path);
  return content
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/)
    .map((line, i) => ({ line, where: `${file}, line ${i + 1}` }))
    .filter(({ line }) => line.trim() !== '')
    .map(({ line, where }) => pairOf(line, where, folder));
}
