import {
  MAX_UPLOAD_BYTES,
  type Capture,
  type InputOf,
  type Offered,
  type ScaleCard,
  type KnownPictures,
  type View,
} from '../../shared/index.ts';
import { guessNamed } from '../../core/guess/file-name.ts';
import { dateText, readDate, type DateText } from './dates.ts';
import { carryCandidates, NO_SCALE, readScale, type CardContext, type ScaleText } from './scale.ts';

/** One file on its way in. Nothing of it is in the collection before "Add". */
export type IntakeRow = {
  readonly key: number;
  readonly file: File;
  /** Shows the host's small copy; empty before the file was read. Given back when the row goes. */
  readonly url: string;
  /** Folder and name as far as the person's choice tells them; the stylus is guessed from it. */
  readonly path: string;
  readonly status: 'waiting' | 'reading' | 'ready' | 'refused' | 'adding';
  readonly offer: Offered | null;
  /** Why the file cannot come in, or why adding failed. */
  readonly problem: string | null;
  /** The name of an earlier row with the same content. */
  readonly twinOf: string | null;
  /** Ticked, to be answered together with others. */
  readonly chosen: boolean;
  readonly answers: Answers;
};
/** Answers that nobody gave yet, and where each comes from. */
export type Guessed = Partial<Record<'stylus' | 'view' | 'light', 'file-name' | 'picture'>>;
export type Answers = {
  readonly stylusId: string;
  /** Empty: nothing told it and nobody said it. */
  readonly view: View | '';
  readonly light: Capture['light'];
  readonly mirrored: 'unknown' | 'no' | 'yes';
  readonly date: DateText;
  readonly scale: ScaleText;
  readonly microscope: string;
  readonly isBaseline: boolean;
  /** The person said so; no proposal changes it. */
  readonly baselineSaid: boolean;
  readonly guessed: Guessed;
  /** False: listed, but not to be added - a picture that is there already, or a ruled slide. */
  readonly take: boolean;
};

export const tooLarge = (file: File): string | null =>
  file.size > MAX_UPLOAD_BYTES
    ? 'The file is larger than 256 MB, so it was not read. Save the picture as PNG or JPEG and try again.'
    : null;

/** What the last picture of this stylus was taken with is the likeliest answer for the next one. */
export function startAnswers(stylusId: string, pages: readonly KnownPictures[]): Answers {
  const page = pages.find((one) => one.stylus.id === stylusId);
  const last = page?.captures.at(-1);
  return {
    stylusId,
    // The view is never guessed from the last picture: a wrong one would be compared with the wrong baseline.
    view: '',
    light: last?.light ?? 'unknown',
    mirrored: last === undefined || last.mirrored === null ? 'unknown' : last.mirrored ? 'yes' : 'no',
    date: dateText(null),
    scale: NO_SCALE,
    microscope: last?.microscope ?? '',
    isBaseline: false,
    baselineSaid: false,
    guessed: {},
    take: true,
  };
}

type Named = { readonly id: string; readonly name: string };

/** What came back of a file, with what was guessed about it marked as guessed. */
export function withOffer(row: IntakeRow, offer: Offered, styluses: readonly Named[]): IntakeRow {
  const { answers } = row;
  const { guess, preview: _preview, ...kept } = offer;
  const named = answers.stylusId === '' ? guessNamed(row.path, styluses) : null;
  const guessed: Guessed = {
    ...(named === null ? {} : { stylus: 'file-name' as const }),
    ...(guess?.view ? { view: guess.view.from } : {}),
    ...(guess?.light ? { light: guess.light.from } : {}),
  };
  return {
    ...row,
    status: 'ready',
    offer: { ...kept, ...(guess === undefined ? {} : { guess }) },
    answers: {
      ...answers,
      stylusId: named?.id ?? answers.stylusId,
      view: guess?.view?.value ?? answers.view,
      light: guess?.light?.value ?? answers.light,
      date: dateText(offer.taken),
      guessed,
      take: guess?.slide !== true && offer.duplicateOf === null,
    },
  };
}

/** The same content twice in one batch: the later one says so and is left out unless somebody wants it. */
export function markTwins(rows: readonly IntakeRow[]): IntakeRow[] {
  const seen = new Map<string, string>();
  return rows.map((row) => {
    if (row.offer === null) return row;
    const first = seen.get(row.offer.sha256) ?? null;
    if (first === null) seen.set(row.offer.sha256, row.file.name);
    if (first === row.twinOf) return row;
    return { ...row, twinOf: first, answers: { ...row.answers, take: first === null } };
  });
}

/** A person's own answer is no guess any more. */
export function answered(answers: Answers, change: Partial<Answers>): Answers {
  const { stylus, view, light } = answers.guessed;
  return {
    ...answers,
    guessed: {
      ...(stylus !== undefined && change.stylusId === undefined ? { stylus } : {}),
      ...(view !== undefined && change.view === undefined ? { view } : {}),
      ...(light !== undefined && change.light === undefined ? { light } : {}),
    },
    ...change,
  };
}

/** What a row still asks: a guess of a row that is to be added waits for a person. */
export const isGuess = ({ answers }: IntakeRow): boolean =>
  answers.take && Object.keys(answers.guessed).length > 0;

/** The first picture of a view is proposed as its baseline; of several files, the earliest dated one. */
export function proposeBaselines(rows: readonly IntakeRow[], pages: readonly KnownPictures[]): IntakeRow[] {
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
    const { stylusId, view, take } = row.answers;
    if (row.answers.baselineSaid) {
      if (row.answers.isBaseline) taken.add(place);
      continue;
    }
    if (row.status === 'refused' || stylusId === '' || view === '' || !take || taken.has(place)) continue;
    taken.add(place);
    proposed.add(row.key);
  }
  return rows.map((row) => {
    const isBaseline = row.answers.baselineSaid ? row.answers.isBaseline : proposed.has(row.key);
    return isBaseline === row.answers.isBaseline ? row : { ...row, answers: { ...row.answers, isBaseline } };
  });
}

export const cardContext = (
  cards: readonly ScaleCard[],
  { widthPx, heightPx }: Pick<Offered, 'widthPx' | 'heightPx'>,
  microscope: string,
): CardContext => ({ cards, wants: { microscope, widthPx, heightPx } });

export type RowErrors = {
  readonly stylus: string | null;
  readonly view: string | null;
  readonly guess: string | null;
  readonly date: string | null;
  readonly scale: string | null;
};
export type Adding = InputOf<'capture.addAll'>['captures'][number];

export function readRow(
  row: IntakeRow,
  pages: readonly KnownPictures[],
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
    view: answers.view === '' ? 'Which view is it?' : null,
    guess: isGuess(row) ? 'This is a guess: say that it is right, or change it.' : null,
    date: date.error,
    scale: scale.error,
  };
  const open = Object.values(errors).some((error) => error !== null);
  if (offer === null || open || answers.view === '') return { input: null, errors };
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
