import type { Capture, Dated, InputOf, Offered, ScaleCard, SlideAnswer } from '../../shared/index.ts';
import { editable, parseNumber } from '../format.ts';
import { dateText, readDate, type DateText } from '../importing/dates.ts';
import { readScale, scaleText, NO_SCALE, type ScaleText } from '../importing/scale.ts';

/** A scale card as fields. Pure; pictures and the host are elsewhere. */
export type CardWay = 'ruled-slide' | 'two-points' | 'typed';
export type CardText = {
  readonly way: CardWay;
  readonly pitch: string;
  readonly accuracy: string;
  readonly points: ScaleText;
  readonly microscope: string;
  readonly zoom: string;
  readonly focus: string;
  readonly date: DateText;
  readonly notes: string;
};

export const PITCHES = [10, 20, 50, 100, 200, 500, 1000] as const;

export function startText(card: ScaleCard | null, capture: Capture | null): CardText {
  const way: CardWay =
    card === null || card.scale.source === 'ruled-slide' || card.scale.source === 'two-points'
      ? ((card?.scale.source as CardWay | undefined) ?? 'ruled-slide')
      : 'typed';
  const taken: Dated | null = card?.taken ?? capture?.taken ?? null;
  return {
    way,
    pitch: editable(card?.slide?.pitchUm ?? 100),
    accuracy: '',
    // What is kept already is shown as a typed value; two points are pointed anew.
    points: card === null ? { ...NO_SCALE, way: 'two-points' } : scaleText(card.scale),
    microscope: card?.microscope ?? capture?.microscope ?? '',
    zoom: editable(card?.zoom ?? null),
    focus: editable(card?.focus ?? null),
    date: { ...dateText(taken), unknown: card !== null && card.taken === null },
    notes: card?.notes ?? '',
  };
}

/** Pitch in um and the relative standard uncertainty of the slide (half of the +- in per cent), or a sentence. */
export function readPitch(text: CardText): {
  readonly pitchUm: number | null;
  readonly relative: number | null;
  readonly error: string | null;
} {
  const pitchUm = parseNumber(text.pitch);
  const wrong = (error: string) => ({ pitchUm: null, relative: null, error });
  if (pitchUm === null || pitchUm < 1 || pitchUm > 10_000)
    return wrong('Write the distance from one line to the next in micrometres, such as 100.');
  if (text.accuracy.trim() === '') return { pitchUm, relative: null, error: null };
  const percent = parseNumber(text.accuracy);
  if (percent === null || percent < 0 || percent > 10)
    return wrong('The accuracy of the slide is a number of per cent from 0 to 10, or left empty.');
  return { pitchUm, relative: percent / 200, error: null };
}

export type CardErrors = Partial<
  Record<'microscope' | 'zoom' | 'focus' | 'scale' | 'date' | 'picture', string>
>;
type Draft = InputOf<'scale.keep'>['draft'];
export type CardContext = {
  readonly card: ScaleCard | null;
  readonly slide: SlideAnswer | null;
  /** Size of the chosen picture; of an existing card, its frame. */
  readonly frame: Pick<Offered, 'widthPx' | 'heightPx'> | null;
};

function optional(text: string): number | null | 'wrong' {
  if (text.trim() === '') return null;
  return parseNumber(text) ?? 'wrong';
}

function scaleOf(
  text: CardText,
  { card, slide }: CardContext,
): { scale: Draft['scale'] | null; error?: string } {
  if (text.way === 'ruled-slide') {
    if (slide !== null)
      return {
        scale: {
          umPerPx: slide.scaleUmPerPx.value,
          standardUmPerPx: slide.standardUmPerPx,
          source: 'ruled-slide',
        },
      };
    return card?.scale.source === 'ruled-slide'
      ? { scale: card.scale }
      : { scale: null, error: 'Find the lines in the picture of the slide first.' };
  }
  // An untouched value keeps every digit and its origin.
  if (card !== null && text.points.way === 'typed' && same(text.points, scaleText(card.scale)))
    return { scale: card.scale };
  const { scale, error } = readScale({ ...text.points, way: text.way }, []);
  return scale === null ? { scale, error: error ?? 'Write the scale.' } : { scale };
}

const same = (a: ScaleText, b: ScaleText): boolean =>
  a.typed === b.typed && a.typedPlusMinus === b.typedPlusMinus;

export function readCard(
  text: CardText,
  context: CardContext,
): { readonly draft: Draft | null; readonly errors: CardErrors } {
  const errors: CardErrors = {};
  const zoom = optional(text.zoom);
  const focus = optional(text.focus);
  const date = readDate(text.date);
  const { scale, error } = scaleOf(text, context);
  if (text.microscope.trim() === '')
    errors.microscope = 'Give the microscope a name, so that pictures find it.';
  if (zoom === 'wrong') errors.zoom = 'A number as on the wheel, or left empty.';
  if (focus === 'wrong') errors.focus = 'A number as on the wheel, or left empty.';
  if (date.error !== null) errors.date = date.error;
  if (context.frame === null) errors.picture = 'Choose the picture that the scale is taken from.';
  else if (scale === null) errors.scale = error ?? 'The scale is missing.';
  if (
    Object.keys(errors).length > 0 ||
    scale === null ||
    context.frame === null ||
    zoom === 'wrong' ||
    focus === 'wrong'
  )
    return { draft: null, errors };
  return {
    errors,
    draft: {
      microscope: text.microscope.trim(),
      frameWidthPx: context.frame.widthPx,
      frameHeightPx: context.frame.heightPx,
      resizeMode: context.card?.resizeMode ?? null,
      zoom,
      focus,
      scale: { umPerPx: scale.umPerPx, standardUmPerPx: scale.standardUmPerPx, source: scale.source },
      taken: date.taken,
      notes: text.notes.trim(),
    },
  };
}
