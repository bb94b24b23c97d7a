import type { Backup, CheckReport } from '../../shared/index.ts';
import { NBSP, formatDate } from '../format.ts';

/** Words and figures of safekeeping, apart from the screens so that they are tested without them. */
export function formatBytes(bytes: number): string {
  if (bytes < 1000) return `${bytes}${NBSP}bytes`;
  const steps = ['kB', 'MB', 'GB', 'TB'];
  let value = bytes / 1000;
  let step = 0;
  while (value >= 999.5 && step < steps.length - 1) {
    value /= 1000;
    step++;
  }
  return `${value < 10 ? value.toFixed(1) : value.toFixed(0)}${NBSP}${steps[step]}`;
}

/** A moment in UTC as day and time of this machine. */
export function formatMoment(utc: string): string {
  const at = new Date(utc);
  if (Number.isNaN(at.getTime())) return 'date unknown';
  const two = (value: number): string => String(value).padStart(2, '0');
  const day = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  return `${formatDate(day)}, ${two(at.getHours())}:${two(at.getMinutes())}`;
}

export const BACKUP_KIND: Readonly<Record<Backup['kind'], string>> = {
  'by-hand': 'made by hand',
  weekly: 'automatic',
  'before-format': 'database alone, before the format changed',
  other: 'from elsewhere',
};

const count = (number: number, one: string, many = `${one}s`): string =>
  `${number} ${number === 1 ? one : many}`;

/** One sentence for a whole check. */
export function checkSentence({ ok, database, originals }: CheckReport): string {
  const { fine, damaged, missing, orphaned } = originals;
  if (ok) return `Everything is as it should be: the database and ${count(fine, 'picture')}.`;
  const found = [
    ...(database.ok ? [] : ['the database is not in order']),
    ...(damaged.length > 0 ? [`${count(damaged.length, 'picture')} damaged`] : []),
    ...(missing.length > 0 ? [`${count(missing.length, 'picture')} missing`] : []),
    ...(orphaned.length > 0 ? [`${count(orphaned.length, 'file')} that nothing names`] : []),
  ];
  return `Not everything is well: ${found.join(', ')}. ${count(fine, 'picture is', 'pictures are')} fine.`;
}

export { count };
