import { MARK_WORDS, markSizeWords } from '../../shared/index.ts';
import type { Mark, MarkDraft, MarkSize } from '../../shared/index.ts';
import { formatMeasured, formatPlain, lengthUnit, type LengthUnit, type Shown } from '../format.ts';
import { MARK_STATE_WORDS, SUSPICION_WORDS } from '../words.ts';
import { aroundDeg, type Proposal } from './proposals.ts';

/** What a mark says of itself, the same on every screen. */
export function shownUnit(unit: MarkSize['unit'], length: LengthUnit): Shown {
  if (unit === 'deg') return { factor: 1, symbol: '°' };
  if (unit === 'px') return { factor: 1, symbol: 'px' };
  return lengthUnit(length, unit);
}

export function sizeText(size: MarkSize | null, unit: LengthUnit): string {
  if (size === null) return '';
  const shown = shownUnit(size.unit, unit);
  if (size.expanded !== null) return formatMeasured({ value: size.value, expanded: size.expanded }, shown);
  return `${formatPlain(size.value * shown.factor, shown.factor < 1 ? 3 : 1, shown.symbol)}, uncertainty not stated`;
}

/** Length, depth and what is known of their doubt. */
export const markSizeText = (
  mark: Pick<Mark, 'kind' | 'proposed' | 'size' | 'unit'>,
  unit: LengthUnit,
): string =>
  markSizeWords(
    mark,
    (value, counted) => formatMeasured(value, shownUnit(counted, unit)),
    (value, counted) => {
      const shown = shownUnit(counted, unit);
      return formatPlain(value * shown.factor, shown.factor < 1 ? 3 : 1, shown.symbol);
    },
  );

export const markTitle = (mark: Pick<Mark, 'kind' | 'state'>): string =>
  `${MARK_WORDS[mark.kind]}, ${MARK_STATE_WORDS[mark.state]}`;

/** What is suspected, for the names of buttons: by its place on the outline, elsewhere by the value that is shown. */
export function suspicionName(
  { suspicion, draft }: Pick<Proposal, 'suspicion' | 'draft'>,
  unit: LengthUnit,
): string {
  const name = SUSPICION_WORDS[suspicion.kind].toLowerCase();
  if (suspicion.kind === 'chip' || suspicion.kind === 'residue')
    return `${name} at ${formatPlain(aroundDeg(suspicion.angleDeg), 0, '')}°`;
  // The angle of these is a direction, which nobody is asked about.
  return draft.size === null ? name : `${name}, ${sizeText(draft.size, unit)}`;
}

/** Said where neither a mark nor a suspicion is open. */
export const nothingOpenText = (rejected: number): string =>
  rejected === 0
    ? 'Nothing marked in this view yet, and the program suspects nothing.'
    : `Nothing is open in this view: ${rejected} ${rejected === 1 ? 'place was looked at and is' : 'places were looked at and are'} rejected, see below.`;

/** What a form of a mark is for. */
export function formTitle(draft: Pick<MarkDraft, 'proposed'>, id: string | null): string {
  if (id !== null) return 'Edit mark';
  return draft.proposed === null ? 'New mark' : 'Change what is suspected';
}

/** What a moved mark's message says; null where nothing of it became different. */
export function movedText(before: Mark, after: Mark, onBackground: boolean): string | null {
  const same = (name: 'shape' | 'size'): boolean =>
    JSON.stringify(before[name]) === JSON.stringify(after[name]);
  if (same('shape') && same('size')) return null;
  if (onBackground) return `${MARK_WORDS[after.kind]}: it lies on the background now, away from the part.`;
  return `${MARK_WORDS[after.kind]}: ${same('size') ? 'its place was' : 'its size and place were'} changed.`;
}
