import type { KnownPictures, PictureFacts, Scale, ScaleCard } from '../../shared/index.ts';
import { UM_PER_MIL } from '../../shared/index.ts';
import { verdictFor, type WantsScale } from '../scales/verdict.ts';
import { editable, formatDated, formatMeasured, NBSP, parseNumber } from '../format.ts';

/** How many micrometres a pixel is, as the person states it. Pure; the pictures are elsewhere. */
export type Spot = { readonly x: number; readonly y: number };
export type DistanceUnit = 'um' | 'mil' | 'mm';
export type ScaleText = {
  readonly way: 'none' | 'typed' | 'two-points' | 'carried-over' | 'card';
  readonly typed: string;
  /** Expanded uncertainty (95 %) of the typed scale, um/px; empty when not known. */
  readonly typedPlusMinus: string;
  readonly first: Spot | null;
  readonly second: Spot | null;
  readonly distance: string;
  readonly distancePlusMinus: string;
  readonly distanceUnit: DistanceUnit;
  readonly carriedId: string;
  readonly cardId: string;
  /** Zoom and focus of this picture as on the wheel; empty when not known. */
  readonly cardZoom: string;
  readonly cardFocus: string;
  /** The person says that nothing was touched between the slide and this picture. */
  readonly untouched: boolean;
};

export const NO_SCALE: ScaleText = {
  way: 'none',
  typed: '',
  typedPlusMinus: '',
  first: null,
  second: null,
  distance: '',
  distancePlusMinus: '',
  distanceUnit: 'um',
  carriedId: '',
  cardId: '',
  cardZoom: '',
  cardFocus: '',
  untouched: false,
};

const UM_PER: Readonly<Record<DistanceUnit, number>> = { um: 1, mil: UM_PER_MIL, mm: 1000 };

/** Pointing by hand: one standard deviation of where a click lands, pixels, on each point and axis. Our assumption. */
export const POINTING_PX = 0.7;

/** The field that an error is about; none when it is about the way itself. */
export type ScaleField =
  'typed' | 'typedPlusMinus' | 'points' | 'distance' | 'distancePlusMinus' | 'carried' | 'card';
export type ReadScale = {
  readonly scale: Scale | null;
  readonly error: string | null;
  readonly at?: ScaleField;
};
const wrong = (error: string, at: ScaleField): ReadScale => ({ scale: null, error, at });

/** What a scale card is held against. */
export type CardContext = {
  readonly cards: readonly ScaleCard[];
  readonly wants: Omit<WantsScale, 'zoom' | 'focus'>;
};

export function readScale(
  text: ScaleText,
  candidates: readonly PictureFacts[],
  context: CardContext | null = null,
): ReadScale {
  if (text.way === 'card') return readFromCard(text, context);
  if (text.way === 'none') return { scale: null, error: null };
  if (text.way === 'typed') return readTyped(text);
  if (text.way === 'two-points') return readTwoPoints(text);
  const from = candidates.find((capture) => capture.id === text.carriedId);
  if (from === undefined || from.scale === null)
    return wrong('Choose the picture whose scale is to be carried over.', 'carried');
  return { scale: { ...from.scale, source: 'carried-over' }, error: null };
}

const optionalNumber = (text: string): number | null => (text.trim() === '' ? null : parseNumber(text));

/** The picture as the card is held against it, with what was typed of its zoom and focus. */
export const wantsOf = (text: ScaleText, wants: CardContext['wants']): WantsScale => ({
  ...wants,
  zoom: optionalNumber(text.cardZoom),
  focus: optionalNumber(text.cardFocus),
});

function readFromCard(text: ScaleText, context: CardContext | null): ReadScale {
  const card = context?.cards.find((one) => one.id === text.cardId);
  if (context === null || card === undefined) return wrong('Choose the scale card.', 'card');
  const wants = wantsOf(text, context.wants);
  if (text.cardZoom.trim() !== '' && wants.zoom === null)
    return wrong('The zoom is a number as on the wheel, or left empty.', 'card');
  if (text.cardFocus.trim() !== '' && wants.focus === null)
    return wrong('The focus is a number as on the wheel, or left empty.', 'card');
  const verdict = verdictFor(card, wants);
  if (verdict.verdict === 'differs') return wrong(doesNotBelong(card, wants), 'card');
  if (verdict.verdict === 'unknown' && !text.untouched)
    return wrong(
      `${capital(listed(verdict.unknown))} cannot be compared. Say that the microscope was not touched in between, or choose another scale.`,
      'card',
    );
  const { umPerPx, standardUmPerPx, source } = card.scale;
  return {
    scale: { umPerPx, standardUmPerPx, source, card: { id: card.id, zoom: wants.zoom, focus: wants.focus } },
    error: null,
  };
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
const listed = (names: readonly string[]): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;

/** Why a card's scale is taken away from this picture, with both values. */
export function doesNotBelong(card: ScaleCard, wants: WantsScale): string {
  const { differs } = verdictFor(card, wants);
  const parts = differs.map((part) => {
    if (part === 'frame size')
      return `frame size (card ${card.frameWidthPx} × ${card.frameHeightPx}, picture ${wants.widthPx} × ${wants.heightPx})`;
    if (part === 'zoom') return `zoom (card ${card.zoom ?? '?'}, picture ${wants.zoom ?? '?'})`;
    if (part === 'focus') return `focus (card ${card.focus ?? '?'}, picture ${wants.focus ?? '?'})`;
    if (part === 'camera') return `microscope (card “${card.microscope}”, picture “${wants.microscope}”)`;
    return part;
  });
  return `This scale card does not belong to this picture: ${listed(parts)} ${parts.length === 1 ? 'differs' : 'differ'}. The scale was taken away. Take a picture of the slide at this setting, or choose the card of this one.`;
}

function readTyped({ typed, typedPlusMinus }: ScaleText): ReadScale {
  const umPerPx = parseNumber(typed);
  if (umPerPx === null || umPerPx <= 0)
    return wrong('Write the micrometres of one pixel, above zero, such as 1,02.', 'typed');
  if (umPerPx > 1000) return wrong('More than 1000 µm a pixel cannot be a microscope picture.', 'typed');
  if (typedPlusMinus.trim() === '')
    return { scale: { umPerPx, standardUmPerPx: null, source: 'typed' }, error: null };
  const expanded = parseNumber(typedPlusMinus);
  if (expanded === null || expanded < 0 || expanded >= umPerPx)
    return wrong(
      'The ± must be a number from 0 to less than the scale itself, or left empty.',
      'typedPlusMinus',
    );
  return { scale: { umPerPx, standardUmPerPx: expanded / 2, source: 'typed' }, error: null };
}

/** Distance over pixels; the relative uncertainties of the distance and of the pointing add in squares. */
function readTwoPoints(text: ScaleText): ReadScale {
  if (text.first === null || text.second === null)
    return wrong('Click both ends of the known distance.', 'points');
  const px = Math.hypot(text.second.x - text.first.x, text.second.y - text.first.y);
  if (px < 10)
    return wrong(
      'The two points are too close together; take them as far apart as the picture allows.',
      'points',
    );
  const distance = parseNumber(text.distance);
  if (distance === null || distance <= 0)
    return wrong('Write the distance between the two points.', 'distance');
  const um = distance * UM_PER[text.distanceUnit];
  const umPerPx = um / px;
  if (umPerPx > 1000) return wrong('More than 1000 µm a pixel cannot be a microscope picture.', 'distance');
  const expanded = text.distancePlusMinus.trim() === '' ? 0 : parseNumber(text.distancePlusMinus);
  if (expanded === null || expanded < 0 || expanded >= distance)
    return wrong(
      'The ± must be a number from 0 to less than the distance, or left empty.',
      'distancePlusMinus',
    );
  const relative = Math.hypot(expanded / 2 / distance, (Math.SQRT2 * POINTING_PX) / px);
  return { scale: { umPerPx, standardUmPerPx: umPerPx * relative, source: 'two-points' }, error: null };
}

/** Captures whose scale may hold for another one: same microscope by name and same frame size, newest first. */
export function carryCandidates(
  pages: readonly KnownPictures[],
  picture: { readonly widthPx: number; readonly heightPx: number; readonly microscope: string },
): PictureFacts[] {
  const microscope = picture.microscope.trim().toLowerCase();
  if (microscope === '') return [];
  return pages
    .flatMap((page) => page.captures)
    .filter(
      (capture) =>
        capture.scale !== null &&
        capture.widthPx === picture.widthPx &&
        capture.heightPx === picture.heightPx &&
        capture.microscope.trim().toLowerCase() === microscope,
    )
    .toSorted((a, b) => (b.taken?.wall ?? '').localeCompare(a.taken?.wall ?? ''));
}

export const SCALE_SOURCE: Readonly<Record<Scale['source'], string>> = {
  typed: 'typed in',
  'two-points': 'from two points',
  'ruled-slide': 'from a ruled slide',
  'carried-over': 'carried over',
  invented: 'invented for the demo',
};

export function formatScale(scale: Scale | null): string {
  if (scale === null) return 'no scale';
  const { umPerPx, standardUmPerPx } = scale;
  if (standardUmPerPx === null) return `${Number(umPerPx.toPrecision(5))}${NBSP}µm/px`;
  return formatMeasured({ value: umPerPx, expanded: 2 * standardUmPerPx }, { factor: 1, symbol: 'µm/px' });
}

export const candidateName = (capture: PictureFacts): string =>
  `${formatDated(capture.taken)}: ${formatScale(capture.scale)}`;

/** An existing scale as text, for editing. */
export function scaleText(scale: Scale | null): ScaleText {
  if (scale === null) return NO_SCALE;
  if (scale.card)
    return {
      ...NO_SCALE,
      way: 'card',
      cardId: scale.card.id,
      cardZoom: editable(scale.card.zoom),
      cardFocus: editable(scale.card.focus),
      untouched: true,
    };
  return {
    ...NO_SCALE,
    way: 'typed',
    typed: String(Number(scale.umPerPx.toPrecision(7))),
    typedPlusMinus:
      scale.standardUmPerPx === null ? '' : String(Number((2 * scale.standardUmPerPx).toPrecision(4))),
  };
}
