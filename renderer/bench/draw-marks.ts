import { pointsOf, type MarkPoint, type MarkShape, type MarkState } from '../../shared/index.ts';
import type { Picking } from '../marks/pick.ts';
import type { StagePoint } from './geometry.ts';

/** Marks and points being set, over the pictures. Everything drawn here stands beside the stage in words as well. */
export type DrawnMark = {
  readonly id: string;
  readonly label: string;
  /** In the stage's frame. */
  readonly shape: MarkShape;
  readonly state: MarkState;
  readonly selected: boolean;
};

type Place = (point: { readonly x: number; readonly y: number }) => StagePoint;

const at = (on: Place, [x, y]: MarkPoint): StagePoint => on({ x, y });

/** A light line on a dark seam, so that it shows on bright and dark alike. */
function seamed(context: CanvasRenderingContext2D, width: number): void {
  const dash = context.getLineDash();
  context.setLineDash([]);
  context.lineWidth = width + 2.5;
  context.strokeStyle = 'rgba(0, 0, 0, 0.7)';
  context.stroke();
  context.setLineDash(dash);
  context.lineWidth = width;
  context.strokeStyle = '#fff';
  context.stroke();
}

function trace(context: CanvasRenderingContext2D, points: readonly StagePoint[], closed: boolean): void {
  context.beginPath();
  for (const { x, y } of points) context.lineTo(x, y);
  if (closed) context.closePath();
}

function label(context: CanvasRenderingContext2D, text: string, { x, y }: StagePoint): void {
  context.font = '600 13px system-ui, sans-serif';
  context.lineWidth = 3;
  context.strokeStyle = '#000';
  context.strokeText(text, x, y);
  context.fillStyle = '#fff';
  context.fillText(text, x, y);
}

function handle(context: CanvasRenderingContext2D, { x, y }: StagePoint): void {
  context.beginPath();
  context.rect(x - 5, y - 5, 10, 10);
  context.fillStyle = '#000';
  context.fill();
  seamed(context, 1.5);
}

export function drawMarks(context: CanvasRenderingContext2D, on: Place, marks: readonly DrawnMark[]): void {
  for (const mark of marks) {
    const points = pointsOf(mark.shape).map((point) => at(on, point));
    // Confirmed is a solid line, suspected a dashed one: the difference does not hang on colour.
    context.setLineDash(mark.state === 'confirmed' ? [] : [5, 4]);
    if (mark.shape.type === 'point') {
      context.beginPath();
      context.arc(points[0].x, points[0].y, 11, 0, 2 * Math.PI);
    } else trace(context, points, mark.shape.type === 'outline');
    seamed(context, mark.selected ? 2.6 : 1.6);
    context.setLineDash([]);
    if (mark.shape.type !== 'point')
      for (const { x, y } of points) {
        context.beginPath();
        context.arc(x, y, 2.5, 0, 2 * Math.PI);
        seamed(context, 1);
      }
    if (mark.selected) for (const point of points) handle(context, point);
    label(context, mark.label, { x: points[0].x + 13, y: points[0].y - 9 });
  }
}

/** The points set so far and the crosshair. */
export function drawPicking(context: CanvasRenderingContext2D, on: Place, picking: Picking): void {
  const points = picking.points.map((point) => at(on, point));
  const cursor = at(on, picking.cursor);
  if (picking.purpose !== 'match' && points.length > 0) {
    trace(context, [...points, cursor], false);
    context.setLineDash([3, 3]);
    seamed(context, 1.4);
    context.setLineDash([]);
  }
  for (const point of points) handle(context, point);
  crosshair(context, cursor);
}

function crosshair(context: CanvasRenderingContext2D, { x, y }: StagePoint): void {
  context.beginPath();
  for (const [dx, dy] of [
    [1, 0],
    [-1, 0],
    [0, 1],
    [0, -1],
  ]) {
    context.moveTo(x + 4 * dx, y + 4 * dy);
    context.lineTo(x + 16 * dx, y + 16 * dy);
  }
  seamed(context, 1.6);
}
