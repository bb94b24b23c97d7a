/** Where messages stand: at the foot of the window, or below the bar at its head. */
export type Side = 'left' | 'middle' | 'right';
export type Place = { readonly edge: 'foot' | 'head'; readonly side: Side };
export type Box = {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
};
/** The list of messages and the window that it stands in, CSS pixels. */
export type Room = {
  readonly width: number;
  readonly height: number;
  readonly windowWidth: number;
  readonly windowHeight: number;
  /** What else stands at the window's foot, above which the list begins. */
  readonly footPx: number;
};

const SIDES: readonly Side[] = ['left', 'middle', 'right'];
export const EDGE_PX = 16;
/** The bar at the head and a little air. */
export const HEAD_PX = 64;

function boxAt({ edge, side }: Place, room: Room): Box {
  const { width, height, windowWidth, windowHeight, footPx } = room;
  const left = { left: EDGE_PX, middle: (windowWidth - width) / 2, right: windowWidth - EDGE_PX - width }[
    side
  ];
  const top = edge === 'head' ? HEAD_PX : windowHeight - footPx - height;
  return { left, top, right: left + width, bottom: top + height };
}

/** How much of `b` lies under `a`, 0 to 1. */
function covered(a: Box, b: Box): number {
  const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
  const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
  const area = (b.right - b.left) * (b.bottom - b.top);
  return across <= 0 || down <= 0 || area <= 0 ? 0 : (across * down) / area;
}

/**
 * The first place, from the left of the foot, at which the list covers nothing that somebody clicks or has to read. Where
 * none is free it stands at the foot, which a screen can be scrolled clear of, and where it covers least: of cautions, heads
 * and warnings before controls.
 */
export function freePlace(room: Room, controls: readonly Box[], words: readonly Box[]): Place {
  const cost = (place: Place): number => {
    const box = boxAt(place, room);
    const of = (all: readonly Box[]): number => all.reduce((sum, one) => sum + covered(box, one), 0);
    return of(controls) + 10 * of(words);
  };
  const at = (edge: Place['edge']): Place[] => SIDES.map((side) => ({ edge, side }));
  const foot = at('foot').map((place) => ({ place, cost: cost(place) }));
  const free = foot.find((one) => one.cost === 0)?.place ?? at('head').find((place) => cost(place) === 0);
  return free ?? foot.reduce((best, one) => (one.cost < best.cost ? one : best)).place;
}

const CONTROLS = ':is(a, button, input, select, textarea, summary, [tabindex="0"])';
/** What must be read wherever it stands; all else can be scrolled to. */
const WORDS =
  ':is(h1, .due, .cautions, .notice, .refused, .scale-alarm, .advice-head, .picking, [role="alert"])';

function onScreen(selector: string, boxOf: (element: Element) => DOMRect): Box[] {
  return [...document.querySelectorAll(`#root ${selector}`)]
    .filter((element) => element.closest('.toasts') === null)
    .map(boxOf)
    .filter(({ width, height, bottom, top }) => width > 0 && height > 0 && bottom > 0 && top < innerHeight);
}

/** Whatever can be clicked or typed into on the screen, the picture of the stage included. */
export const controlsOnScreen = (): Box[] => onScreen(CONTROLS, (element) => element.getBoundingClientRect());

/** Where the words themselves stand: a heading's box is as wide as the screen, its words are not. */
export const wordsOnScreen = (): Box[] =>
  onScreen(WORDS, (element) => {
    const range = document.createRange();
    range.selectNodeContents(element);
    return range.getBoundingClientRect();
  });
