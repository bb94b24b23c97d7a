import type { StagePoint } from './geometry.ts';

/** A flat's bright patch in an end-on picture: its rim, and what was measured beside it. The same stands in the panel. */
export type DrawnFacet = {
  readonly side: 'left' | 'right';
  /** Closed, in the stage's frame. */
  readonly outline: readonly (readonly [number, number])[];
  /** Which one, and its values; one line of words each. */
  readonly lines: readonly string[];
};

type Place = (point: { readonly x: number; readonly y: number }) => StagePoint;

const GAP_PX = 10;
const LINE_PX = 17;

export function drawFacets(
  context: CanvasRenderingContext2D,
  on: Place,
  facets: readonly DrawnFacet[],
  size: { readonly width: number; readonly height: number },
): void {
  const drawn = facets.map((facet) => ({
    facet,
    points: facet.outline.map(([x, y]) => on({ x, y })),
  }));
  for (const { points } of drawn) {
    context.beginPath();
    for (const { x, y } of points) context.lineTo(x, y);
    context.closePath();
    seamed(context);
  }
  // Words after all lines, each on the far side of its patch from the others, so that they cover neither.
  const middle = meanOf(drawn.flatMap(({ points }) => points));
  for (const { facet, points } of drawn) drawWords(context, facet.lines, points, middle, size);
}

const meanOf = (points: readonly StagePoint[]): StagePoint => ({
  x: points.reduce((sum, { x }) => sum + x, 0) / points.length,
  y: points.reduce((sum, { y }) => sum + y, 0) / points.length,
});

/** A bright line in a dark seam: it shows on a shining patch and on the dark around it. */
function seamed(context: CanvasRenderingContext2D): void {
  context.lineWidth = 4;
  context.strokeStyle = 'rgba(0, 0, 0, 0.75)';
  context.stroke();
  context.lineWidth = 1.6;
  context.strokeStyle = '#ffa733';
  context.stroke();
}

function drawWords(
  context: CanvasRenderingContext2D,
  lines: readonly string[],
  points: readonly StagePoint[],
  middle: StagePoint,
  size: { readonly width: number; readonly height: number },
): void {
  context.font = '600 13px system-ui, sans-serif';
  const width = Math.max(...lines.map((line) => context.measureText(line).width)) + 14;
  const height = lines.length * LINE_PX + 8;
  const own = meanOf(points);
  const [xs, ys] = [points.map(({ x }) => x), points.map(({ y }) => y)];
  // Beside a patch that lies beside the other, above or below one that lies above or below it.
  const sideways = Math.abs(own.x - middle.x) >= Math.abs(own.y - middle.y);
  const left = own.x < middle.x;
  const above = own.y < middle.y;
  const x = sideways
    ? left
      ? Math.min(...xs) - GAP_PX - width
      : Math.max(...xs) + GAP_PX
    : own.x - width / 2;
  const y = sideways
    ? own.y - height / 2
    : above
      ? Math.min(...ys) - GAP_PX - height
      : Math.max(...ys) + GAP_PX;
  // Never outside of what is seen, as long as the patch itself is seen.
  const at = {
    x: Math.min(Math.max(x, 4), size.width - width - 4),
    y: Math.min(Math.max(y, 4), size.height - height - 4),
  };
  context.fillStyle = 'rgba(0, 0, 0, 0.78)';
  context.fillRect(at.x, at.y, width, height);
  context.fillStyle = '#fff';
  lines.forEach((line, index) => context.fillText(line, at.x + 7, at.y + 16 + index * LINE_PX));
}
