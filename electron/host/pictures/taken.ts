import { parse } from 'exifr';
import type { Dated } from '../../../shared/index.ts';

/**
 * When a picture was taken, as wall time with its offset, or null. Never the file's own time: copying changes it.
 * Strings are read as they stand, because reviving them to dates would take this machine's time zone for the camera's.
 */
const TAGS = ['DateTimeOriginal', 'CreateDate', 'OffsetTimeOriginal', 'OffsetTimeDigitized'];

/** A clock that was never set says 1970 or 1980; a date-time of all zeros is how cameras write "unknown". */
const EARLIEST_YEAR = 1990;
const LATEST_YEAR = 2199;

const two = (value: number): string => String(value).padStart(2, '0');

/** YYYY-MM-DD, or null for a day that is not in the calendar. */
export function calendarDay(year: number, month: number, day: number): string | null {
  if (year < EARLIEST_YEAR || year > LATEST_YEAR || month < 1 || month > 12 || day < 1) return null;
  if (day > new Date(Date.UTC(year, month, 0)).getUTCDate()) return null;
  return `${year}-${two(month)}-${two(day)}`;
}

function clockTime(hour: number, minute: number, second: number): string | null {
  if (hour > 23 || minute > 59 || second > 59) return null;
  return `${two(hour)}:${two(minute)}:${two(second)}`;
}

function wallFrom(text: unknown): string | null {
  if (typeof text !== 'string') return null;
  const found = /^(\d{4})[:-](\d{2})[:-](\d{2})[ T](\d{2}):(\d{2}):(\d{2})/.exec(text.trim());
  if (!found) return null;
  const [year, month, day, hour, minute, second] = found.slice(1).map(Number);
  const date = calendarDay(year, month, day);
  const time = clockTime(hour, minute, second);
  return date !== null && time !== null ? `${date}T${time}` : null;
}

function offsetFrom(text: unknown): string | null {
  if (typeof text !== 'string') return null;
  const trimmed = text.trim();
  return /^([+-](0\d|1[0-4]):[0-5]\d|Z)$/.test(trimmed) ? trimmed : null;
}

export function takenFromTags(tags: Record<string, unknown>): Dated | null {
  const original = wallFrom(tags['DateTimeOriginal']);
  if (original !== null)
    return { wall: original, offset: offsetFrom(tags['OffsetTimeOriginal']), source: 'exif' };
  const digitised = wallFrom(tags['CreateDate']);
  if (digitised !== null)
    return { wall: digitised, offset: offsetFrom(tags['OffsetTimeDigitized']), source: 'exif' };
  return null;
}

/** `exif` as the decoder hands it out (JPEG, PNG, WebP); a TIFF is its own block. */
export async function takenFromExif(exif: Uint8Array | null): Promise<Dated | null> {
  if (exif === null || exif.byteLength < 8) return null;
  const marked = String.fromCharCode(...exif.subarray(0, 4)) === 'Exif';
  try {
    const block = Buffer.from(marked ? exif.subarray(6) : exif);
    const tags: unknown = await parse(block, { reviveValues: false, pick: TAGS });
    return typeof tags === 'object' && tags !== null ? takenFromTags(tags as Record<string, unknown>) : null;
  } catch {
    // A damaged block only means that the date has to be asked for.
    return null;
  }
}

const DAY = String.raw`(?<!\d)((?:19|20|21)\d{2})([-_.]?)(\d{2})\2(\d{2})`;
const TIME = String.raw`(?:[-_ T.]+(?:at )?(\d{2})([-_.:h]?)(\d{2})(?:\6(\d{2}))?)?(?!\d)`;

/** `IMG_20240318_142230.jpg`, `2024-03-18 14.22.30.png`, `left 2024-03-18.tif`. */
export function takenFromFileName(fileName: string): Dated | null {
  const found = new RegExp(DAY + TIME).exec(fileName) ?? new RegExp(`${DAY}(?!\\d)`).exec(fileName);
  if (!found) return null;
  const date = calendarDay(Number(found[1]), Number(found[3]), Number(found[4]));
  if (date === null) return null;
  const time =
    found[5] === undefined ? null : clockTime(Number(found[5]), Number(found[7]), Number(found[8] ?? 0));
  return { wall: time === null ? date : `${date}T${time}`, offset: null, source: 'file-name' };
}
