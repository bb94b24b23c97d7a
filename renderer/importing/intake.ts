import {
  MAX_UPLOAD_BYTES,
  type Capture,
  type InputOf,
  type Offered,
  type ScaleCard,
  type StylusPage,
  type View,
} from '../../shared/index.ts';
import { dateText, readDate, type DateText } from './dates.ts';
import { carryCandidates, NO_SCALE, readScale, type CardContext, type ScaleText } from './scale.ts';

/** One file on its way in. Nothing of it is in the collection before "Add". */
export type IntakeRow = {
  readonly key: number;
  readonly file: File;
  /** Shows the file itself, before the host has it; given back when the row goes. */
  readonly url: string;
  readonly status: 'waiting' | 'reading' | 'ready' | 'refused' | 'adding';
  readonly offer: Offered | null;
  /** Why the file cannot come in, or why adding failed. */
  readonly problem: string | null;
  readonly answers: Answers;
};
export type Answers = {
  readonly stylusId: string;
  readonly view: View;
  readonly light: Capture['light'];
  readonly mirrored: 'unknown' | 'no' | 'yes';
  readonly date: DateText;
  readonly scale: ScaleText;
  readonly microscope: string;
  readonly isBaseline: boolean;
};

export const tooLarge = (file: File): string | null =>
  file.size > MAX_UPLOAD_BYTES
    ? 'The file is larger than 256 MB, so it was not read. Save the picture as PNG or JPEG and try again.'
    : null;

/** What the last picture of this stylus was taken with is the likeliest answer for the next one. */
export function startAnswers(stylusId: string, pages: readonly StylusPage[]): Answers {
  const page = pages.find((one) => one.stylus.id === stylusId);
  const last = page?.captures.at(-1);
  return {
    stylusId,
    // The view is never guessed from the last picture: a wrong one would be compared with the wrong baseline.
    view: 'front',
    light: last?.light ?? 'unknown',
    mirrored: last === undefined || last.mirrored === null ? 'unknown' : last.mirrored ? 'yes' : 'no',
    date: dateText(null),
    scale: NO_SCALE,
    microscope: last?.microscope ?? '',
    isBaseline: false,
  };
}

/** The first picture of a view is proposed as its baseline; of several files, the earliest dated one. */
export function proposeBaselines(rows: readonly IntakeRow[], pages: readonly StylusPage[]): IntakeRow[] {
  const taken = new Set(
    pages.flatMap((page) =>
      page.captures
        .filter((capture) => capture.isBaseline)
        .map((capture) => `${capture.stylusId}/${capture.view}`),
    ),
  );
  const order = rows.toSorted((a, b) =>
    (a.answers.date.day || '9999').localeCompare(b.answers.date.day || '9999'),
  );
  const proposed = new Set<number>();
  for (const row of order) {
    const place = `${row.answers.stylusId}/${row.answers.view}`;
    if (row.status === 'refused' || row.answers.stylusId === '' || taken.has(place)) continue;
    taken.add(place);
    proposed.add(row.key);
  }
  return rows.map((row) => ({ ...row, answers: { ...row.answers, isBaseline: proposed.has(row.key) } }));
}

/** Gives the first row's answers to all; a date or a scale by points belongs to its own picture and stays. */
export function spreadFirst(rows: readonly IntakeRow[]): IntakeRow[] {
  const [first] = rows;
  if (first === undefined) return [];
  const { stylusId, view, light, mirrored, microscope, scale } = first.answers;
  return rows.map((row) => {
    const sameFrame =
      row.offer?.widthPx === first.offer?.widthPx && row.offer?.heightPx === first.offer?.heightPx;
    const shared = scale.way !== 'two-points' && sameFrame ? { scale } : {};
    return { ...row, answers: { ...row.answers, stylusId, view, light, mirrored, microscope, ...shared } };
  });
}

export const cardContext = (
  cards: readonly ScaleCard[],
  { widthPx, heightPx }: Pick<Offered, 'widthPx' | 'heightPx'>,
  microscope: string,
): CardContext => ({ cards, wants: { microscope, widthPx, heightPx } });

export type RowErrors = {
  readonly stylus: string | null;
  readonly date: string | null;
  readonly scale: string | null;
};
type Adding = InputOf<'capture.add'>;

export function readRow(
  row: IntakeRow,
  pages: readonly StylusPage[],
  cards: readonly ScaleCard[] = [],
): { readonly input: Adding | null; readonly errors: RowErrors } {
  const { answers, offer } = row;
  const date = readDate(answers.date);
  const candidates =
    offer === null ? [] : carryCandidates(pages, { ...offer, microscope: answers.microscope });
  const scale = readScale(
    answers.scale,
    candidates,
    offer === null ? null : cardContext(cards, offer, answers.microscope),
  );
  const errors: RowErrors = {
    stylus: answers.stylusId === '' ? 'Which stylus is it?' : null,
    date: date.error,
    scale: scale.error,
  };
  if (offer === null || errors.stylus !== null || errors.date !== null || errors.scale !== null)
    return { input: null, errors };
  const input: Adding = {
    token: offer.token,
    stylusId: answers.stylusId,
    view: answers.view,
    light: answers.light,
    mirrored: answers.mirrored === 'unknown' ? null : answers.mirrored === 'yes',
    taken: date.taken,
    scale: scale.scale,
    microscope: answers.microscope.trim(),
    isBaseline: answers.isBaseline,
    notes: '',
  };
  return { input, errors };
}
