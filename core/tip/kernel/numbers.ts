import type { EdgeParts } from '../blurred-edge.ts';
import { FIELD, KAPPA, POSE, SHADE, SIGMA, TONE, WEIGHT, type CaptureModel } from '../capture-model.ts';
import { axesOf, sidesOf, wedgeOf, type Side, type Tangent } from '../wedge.ts';

/** How many numbers tell the compiled code all about a model, and where in their list some begin: as in `assembly/band.ts`. */
export const NUMBERS = 72;
const SIDES = 28;
const SIDE = 16;
const FLANKS = 60;
const FLANK = 6;

/**
 * Writes a model's numbers. Number by number: a list put together of shorter ones, made once for every look at the model,
 * cost the compiler more than all the rest of the kernel's callers.
 */
export function writeNumbers(
  list: Float64Array,
  model: CaptureModel,
  p: ArrayLike<number>,
  { far, nodes, line }: EdgeParts,
): void {
  const { knots } = model;
  const last = knots.length - 1;
  writePose(list, p[POSE], p[POSE + 1], p[POSE + 2]);
  writeShape(list, p);
  list[4] = 1 + p[KAPPA];
  list[5] = p[SIGMA];
  list[6] = p[WEIGHT];
  list[7] = p[TONE];
  list[8] = p[SHADE];
  for (let i = 0; i < 3; i++) list[9 + i] = p[FIELD + i];
  list[12] = model.length;
  list[13] = model.depth;
  list[14] = knots[0];
  list[15] = (knots[last] - knots[0]) / last;
  list[16] = knots.length;
  list[17] = model.humps ? 1 : 0;
  list[22] = far[0];
  list[23] = far[1];
  list[24] = nodes.xMin;
  list[25] = nodes.step;
  list[26] = nodes.y.length;
  list[27] = nodes.kinks.length;
  for (let k = 0; k < 2; k++) {
    const at = FLANKS + k * FLANK;
    list[at] = Math.cos(line.half[k]);
    list[at + 1] = Math.sin(line.half[k]);
    list[at + 2] = line.h[k];
    list[at + 3] = line.dhR[k];
    list[at + 4] = line.dhE[k];
    list[at + 5] = line.dhHalf[k];
  }
}

/** Where the tip is in the picture, um and radians. */
export function writePose(list: Float64Array, x: number, y: number, rotation: number): void {
  list[0] = x;
  list[1] = y;
  list[2] = Math.cos(rotation);
  list[3] = Math.sin(rotation);
}

export function writeShape(list: Float64Array, shape: ArrayLike<number>): void {
  const wedge = wedgeOf(shape);
  const { a, b } = axesOf(wedge);
  list[18] = a;
  list[19] = b;
  list[20] = wedge.radius;
  list[21] = 1 + wedge.ellipse;
  const [left, right] = sidesOf(wedge);
  writeSide(list, SIDES, left);
  writeSide(list, SIDES + SIDE, right);
}

function writeSide(list: Float64Array, at: number, { arc, depth, footX, footY, flank, plane }: Side): void {
  list[at] = arc;
  list[at + 1] = depth;
  list[at + 2] = footX;
  list[at + 3] = footY;
  writeTangent(list, at + 4, flank);
  writeTangent(list, at + 9, plane);
}

function writeTangent(list: Float64Array, at: number, { cos, sin, h, byEllipse, byAngle }: Tangent): void {
  list[at] = cos;
  list[at + 1] = sin;
  list[at + 2] = h;
  list[at + 3] = byEllipse;
  list[at + 4] = byAngle;
}
