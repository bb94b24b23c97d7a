import { coverageFactor } from '../uncertainty/index.ts';

/** A scale measured along one direction, degrees from the picture's rows. */
export type DirectedScale = {
  readonly umPerPx: number;
  readonly standardUmPerPx: number;
  readonly acrossDeg: number;
};

export type PixelShape = {
  /** um/px along the rows and along the columns. */
  readonly rowUmPerPx: number;
  readonly columnUmPerPx: number;
  /** column / row; 1 = square. */
  readonly aspect: number;
  readonly aspectExpanded: number;
  readonly square: boolean;
  readonly message: string;
};

/** Directions nearer to each other, as seen against the rows, tell too little about the pixels' shape. */
const LEAST_LEVERAGE = 0.35;

/**
 * Are the pixels square? From two pictures of the same slide, turned against each other (a quarter turn is best). With the pixel
 * direction f across the lines 1/s^2 = cos^2 f / row^2 + sin^2 f / column^2, exactly. null when the turn is too small.
 */
export function pixelShape(one: DirectedScale, two: DirectedScale): PixelShape | null {
  const part = (s: DirectedScale) => Math.cos((s.acrossDeg * Math.PI) / 180) ** 2;
  const [c1, c2] = [part(one), part(two)];
  if (Math.abs(c1 - c2) < LEAST_LEVERAGE) return null;
  const [q1, q2] = [one.umPerPx ** -2, two.umPerPx ** -2];
  const row = (q1 * (1 - c2) - q2 * (1 - c1)) / (c1 - c2);
  const column = (q2 * c1 - q1 * c2) / (c1 - c2);
  const aspect = Math.sqrt(row / column);
  const relative = Math.hypot(one.standardUmPerPx / one.umPerPx, two.standardUmPerPx / two.umPerPx);
  const expanded = (coverageFactor(Infinity) * aspect * relative) / Math.abs(c1 - c2);
  const square = Math.abs(aspect - 1) <= Math.max(expanded, 0.001);
  return {
    rowUmPerPx: 1 / Math.sqrt(row),
    columnUmPerPx: 1 / Math.sqrt(column),
    aspect,
    aspectExpanded: expanded,
    square,
    message: square
      ? 'The pixels are square as far as these two pictures tell.'
      : `The pixels are not square: a column's step is ${aspect.toFixed(4)} of a row's. Use the camera's own frame size.`,
  };
}
