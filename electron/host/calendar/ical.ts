/**
 * iCalendar (RFC 5545) for all-day events: content lines folded at 75 octets (3.1), text escaped (3.3.11), dates as
 * DATE values (3.3.4). Our own few lines, because the well-kept generators want a newer Node than this program.
 */
export type CalendarEvent = {
  /** The same each time for the same thing, so that a second import replaces the first. */
  readonly uid: string;
  /** YYYY-MM-DD */
  readonly date: string;
  readonly summary: string;
  readonly description: string;
};

const MAX_OCTETS = 75;

/** Backslash, semicolon, comma and line break; other control characters are no text (3.1, CONTROL). */
export function escapeText(text: string): string {
  return text
    .replaceAll('\\', '\\\\')
    .replaceAll(';', '\\;')
    .replaceAll(',', '\\,')
    .replaceAll(/\r\n|\r|\n/g, '\\n')
    .replaceAll(/(?!\t)\p{Cc}/gu, '');
}

/** Breaks a line so that none is longer than 75 octets without its CRLF; never inside a character. */
export function foldLine(line: string): string {
  const lines: string[] = [];
  let current = '';
  let octets = 0;
  for (const character of line) {
    const size = Buffer.byteLength(character, 'utf8');
    if (octets + size > MAX_OCTETS) {
      lines.push(current);
      // The space that marks a continuation counts.
      current = ' ';
      octets = 1;
    }
    current += character;
    octets += size;
  }
  return [...lines, current].join('\r\n');
}

const dateValue = (date: string): string => date.replaceAll('-', '');
/** 1997-07-14T17:00:00Z as 19970714T170000Z (3.3.5, form 2). */
export const stampValue = (utc: Date): string =>
  utc
    .toISOString()
    .replaceAll(/[-:]/g, '')
    .replace(/\.\d{3}Z$/, 'Z');

function dayAfter(date: string): string {
  return new Date(Date.parse(`${date}T00:00:00Z`) + 86_400_000).toISOString().slice(0, 10);
}

export function calendarFile(events: readonly CalendarEvent[], made: Date): string {
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//Stylus Daybook//The next look//EN',
    'CALSCALE:GREGORIAN',
    ...events.flatMap((event) => [
      'BEGIN:VEVENT',
      `UID:${event.uid}`,
      `DTSTAMP:${stampValue(made)}`,
      `DTSTART;VALUE=DATE:${dateValue(event.date)}`,
      `DTEND;VALUE=DATE:${dateValue(dayAfter(event.date))}`,
      `SUMMARY:${escapeText(event.summary)}`,
      `DESCRIPTION:${escapeText(event.description)}`,
      'TRANSP:TRANSPARENT',
      'END:VEVENT',
    ]),
    'END:VCALENDAR',
  ];
  return lines.map((line) => `${foldLine(line)}\r\n`).join('');
}
