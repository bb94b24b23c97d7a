import { MARK_WORDS } from '../../shared/index.ts';
import type { Mark, MarkSize } from '../../shared/index.ts';
import { formatMeasured, formatPlain, lengthUnit, type LengthUnit, type Shown } from '../format.ts';
import { MARK_STATE_WORDS } from '../words.ts';

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

export const markTitle = (mark: Pick<Mark, 'kind' | 'state'>): string =>
  `${MARK_WORDS[mark.kind]}, ${MARK_STATE_WORDS[mark.state]}`;
