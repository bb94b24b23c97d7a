import type { Measured, Recording, ToneTake } from '../../shared/index.ts';
import { meanOf } from './statistics.ts';

/**
 * Recordings of one band on one day, the needle put down anew for each: their mean, and how far takes differ by
 * themselves. Pieces of one recording cannot show that. A single take keeps the repeatability of its pieces.
 */
export function takesOf(recordings: readonly Recording[]): ToneTake[] {
  const groups = new Map<string, Recording[]>();
  for (const one of recordings) {
    if (!one.tone?.ok) continue;
    const key = [one.passageId, one.recordedOn, one.cleaning].join('|');
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups.values()].map((group) => {
    const { passageId, recordedOn, cleaning } = group[0];
    const names = ['left', 'right', 'mono'] as const;
    const channels = names.flatMap((name) => {
      const values = group.flatMap((one) =>
        one.tone?.ok ? one.tone.value.channels.filter((channel) => channel.name === name) : [],
      );
      return values.length === 0 ? [] : [{ name, thdPercent: together(values.map((one) => one.thdPercent)) }];
    });
    return { passageId, recordedOn, cleaning, count: group.length, channels };
  });
}

/** The spread of the takes, or the doubt of the single ones where chance made the takes agree too well. */
function together(values: readonly Measured[]): Measured {
  if (values.length === 1) return values[0];
  const { value, expanded } = meanOf(values.map((one) => one.value));
  const single = Math.hypot(...values.map((one) => one.expanded)) / values.length;
  return { value, expanded: Math.max(expanded, single) };
}
