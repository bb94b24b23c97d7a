/** Where messages stand at the foot of the window. */
export type Side = 'left' | 'middle' | 'right';
export type Box = {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
};

const SIDES: readonly Side[] = ['left', 'middle', 'right'];
const EDGE_PX = 16;

function boxAt(side: Side, list: Box, windowWidth: number): Box {
  const width = list.right - list.left;
  const left = { left: EDGE_PX, middle: (windowWidth - width) / 2, right: windowWidth - EDGE_PX - width }[
    side
  ];
  return { ...list, left, right: left + width };
}

const meet = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/**
 * The first side, from the left, at which the list of messages covers no control; where it covers one at every side, the
 * left, where people look for it. All in CSS pixels of the window.
 */
export function freeSide(list: Box, controls: readonly Box[], windowWidth: number): Side {
  const free = SIDES.find((side) => !controls.some((one) => meet(boxAt(side, list, windowWidth), one)));
  return free ?? 'left';
}

/** Whatever can be clicked or typed into on the screen, the picture of the stage included. */
export function controlsOnScreen(): Box[] {
  const found = document.querySelectorAll(
    '#root :is(a, button, input, select, textarea, summary, [tabindex="0"])',
  );
  return [...found]
    .filter((element) => element.closest('.toasts') === null)
    .map((element) => element.getBoundingClientRect())
    .filter(({ width, height, bottom, top }) => width > 0 && height > 0 && bottom > 0 && top < innerHeight);
}
