/** Which way a cantilever is bent, in words that a person can hold against the picture. */

/** A direction closer than this to level or plumb is said by one word, tangent of 22.5 degrees. */
const ONE_WORD = Math.tan(Math.PI / 8);
/** Of the drawn axis, from the root on: the piece that tells which way the cantilever runs before it bends. */
const ROOT_SHARE = 0.2;

/**
 * `toward` is told going from root to tip; `axisPx` is the drawn axis in that order, picture pixels, y downwards. Says
 * which way that is in the picture as it was taken, since a cantilever may run any way across it; without an axis it
 * says from where it is seen.
 */
export function bendWords(
  toward: 'left' | 'right',
  axisPx: readonly (readonly [number, number])[] | undefined,
): string {
  const fromRoot = `to the ${toward} looking from root to tip`;
  const [from, to] = [axisPx?.[0], axisPx?.[Math.ceil(ROOT_SHARE * (axisPx.length - 1))]];
  if (from === undefined || to === undefined || (from[0] === to[0] && from[1] === to[1])) return fromRoot;
  const sign = toward === 'right' ? 1 : -1;
  return `${onScreen(-sign * (to[1] - from[1]), sign * (to[0] - from[0]))} in the picture as taken, ${fromRoot}`;
}

function onScreen(x: number, y: number): string {
  const said = [
    ...(Math.abs(y) >= ONE_WORD * Math.abs(x) ? [y > 0 ? 'down' : 'up'] : []),
    ...(Math.abs(x) >= ONE_WORD * Math.abs(y) ? [x > 0 ? 'to the right' : 'to the left'] : []),
  ];
  return said.join(' and ');
}
