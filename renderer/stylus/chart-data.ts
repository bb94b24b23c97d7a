import { type FlatPoint, flatPoints as pointsOf } from '../../core/wear/flat-points.ts';
import type { StylusPage } from '../../shared/index.ts';
import { ledgerOf } from '../state/hours.ts';

export type { FlatPoint };

/** Flat widths over playing time, as the chart and its table show them and as the wear law is fitted to them. */
export const flatPoints = (page: StylusPage): FlatPoint[] => pointsOf(page, ledgerOf(page));
