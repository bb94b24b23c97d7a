import { Refusal } from '../../../shared/index.ts';
import type { Context } from '../context.ts';

export type Sheet = { readonly html: string; readonly fileName: string };

export async function makeSheet(
  _context: Context,
  _stylusId: string,
  _comparisonId: string | null,
  _paper: 'A4' | 'Letter',
): Promise<Sheet> {
  throw new Refusal('failed', 'The condition sheet is not built yet.');
}
