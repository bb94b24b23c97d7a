import type { CameraSpec } from '../../fixtures/render/camera.ts';
import { type FrontSpec, pictureToTip, tipToPicture } from '../../fixtures/render/front.ts';
import { backlitInterior, ringInterior } from '../../fixtures/render/interior.ts';
import {
  buildOutline,
  edgeNormal,
  edgePoint,
  type Outline,
  outlineDistance,
  type Point,
  type TipSpec,
  unwornOutline,
} from '../../fixtures/render/outline.ts';

/**
 * How the noise-free picture of the first renderer changes with each parameter of part, pose, blur and light, and how
 * much noise each of its pixels has: from the renderer's own outline, light and sensor, without a line of the measuring
 * core.
 *
 * The expected picture is S = G + m (F - G): ground G, inside F, blurred silhouette m. When a parameter moves the edge
 * outwards by v along its normal, dS = integral over the edge of (F - G) v PSF ds: exact, and without the noise of a
 * difference of two drawn pictures, whose edge pixels are counted from 233 points. v is a difference of the drawn
 * outline's distances. `tests/fixtures/bound.test.ts` holds this against differences of drawn pictures.
 */
const radian = Math.PI / 180;
export const sides = ['left', 'right'] as const;
export type Side = (typeof sides)[number];

/** Narrower flats have no useful derivative: the outline hardly changes with their depth. */
const narrowestUm = 2;

/** Everything geometric, in the tip frame of the picture as it was drawn: um and degrees. */
export type Shape = {
  xUm: number;
  yUm: number;
  turnDeg: number;
  radiusUm: number;
  ellipticity: number;
  halfAngleLeftDeg: number;
  halfAngleRightDeg: number;
  depthLeftUm: number;
  directionLeftDeg: number;
  depthRightUm: number;
  directionRightDeg: number;
};
export type ShapeName = keyof Shape;

export const depthOf = { left: 'depthLeftUm', right: 'depthRightUm' } as const;
export const directionOf = { left: 'directionLeftDeg', right: 'directionRightDeg' } as const;

/** Half a step of each numerical derivative: well below everything seen, well above rounding. */
export const halfStep: Record<ShapeName, number> = {
  xUm: 1e-3,
  yUm: 1e-3,
  turnDeg: 1e-3,
  radiusUm: 1e-3,
  ellipticity: 1e-4,
  halfAngleLeftDeg: 1e-3,
  halfAngleRightDeg: 1e-3,
  depthLeftUm: 1e-3,
  directionLeftDeg: 1e-2,
  depthRightUm: 1e-3,
  directionRightDeg: 1e-2,
};

function shapeOf(spec: FrontSpec, flats: Record<Side, { depthUm: number; directionDeg: number }>): Shape {
  return {
    xUm: 0,
    yUm: 0,
    turnDeg: 0,
    radiusUm: spec.tip.radiusUm,
    ellipticity: spec.tip.ellipticity ?? 0,
    halfAngleLeftDeg: spec.tip.halfAngleLeftDeg,
    halfAngleRightDeg: spec.tip.halfAngleRightDeg,
    depthLeftUm: flats.left.depthUm,
    directionLeftDeg: flats.left.directionDeg,
    depthRightUm: flats.right.depthUm,
    directionRightDeg: flats.right.directionDeg,
  };
}

export const plane = (o: Outline, directionDeg: number, depthUm: number) => {
  const nx = Math.cos(directionDeg * radian);
  const ny = Math.sin(directionDeg * radian);
  return { nx, ny, c: Math.hypot(o.acrossUm * nx, o.alongUm * ny) - depthUm };
};

function outlineOf(tip: TipSpec, s: Shape): Outline {
  const o = unwornOutline({ ...tip, ...s });
  for (const side of sides)
    if (s[depthOf[side]] > 0) o.cuts.push(plane(o, s[directionOf[side]], s[depthOf[side]]));
  return o;
}

/** Distance to the outline that this shape has, at a place in the frame of the picture as drawn. */
function distanceTo(tip: TipSpec, s: Shape): (p: Point) => number {
  const o = outlineOf(tip, s);
  const [cos, sin] = [Math.cos(s.turnDeg * radian), Math.sin(s.turnDeg * radian)];
  return (p) => {
    const [x, y] = [p.x - s.xUm, p.y - s.yUm];
    return outlineDistance(o, cos * x - sin * y, sin * x + cos * y);
  };
}

/** A short piece of the visible edge: its middle, outward normal and length, um. */
type Piece = { p: Point; nx: number; ny: number; length: number };

/** The edge from shoulder to shoulder in pieces of about the given length. */
function edgePieces(o: Outline, pieceUm: number): Piece[] {
  const shank = o.sides[2].c - 1e-3;
  const onShank = (p: Point): boolean => Math.abs(p.x) > shank;
  const pieces: Piece[] = [];
  let before: Point | null = null;
  for (let a = -88; a < 268;) {
    const p = edgePoint(o, a);
    if (onShank(p)) {
      before = null;
      a += 0.25;
      continue;
    }
    if (before !== null) {
      const [dx, dy] = [p.x - before.x, p.y - before.y];
      const length = Math.hypot(dx, dy);
      if (length > 1e-9)
        pieces.push({
          p: { x: (p.x + before.x) / 2, y: (p.y + before.y) / 2 },
          nx: dy / length,
          ny: -dx / length,
          length,
        });
    }
    before = p;
    const n = edgeNormal(o, p);
    const r = Math.hypot(p.x, p.y);
    // seen from the centre a piece of an edge that lies aslant fills a smaller angle
    a += (pieceUm * Math.max(0.05, (n.x * p.x + n.y * p.y) / r)) / r / radian;
  }
  return pieces;
}

/** Point spread function of lens and pixel together, at offsets in um: integral 1; how far it reaches; its own d/d sigma factor. */
function spread(camera: CameraSpec, umPerPx: number) {
  const sigma = camera.blurSigmaUm;
  if (camera.blurKind === 'disc') {
    const radius = 2 * sigma;
    const height = 1 / (Math.PI * radius * radius);
    return {
      reachUm: radius + umPerPx,
      widening: 1 / sigma,
      at: (r2: number) => height * Math.min(1, Math.max(0, (radius - Math.sqrt(r2)) / umPerPx + 0.5)),
    };
  }
  // a square pixel's own variance is a twelfth of its area
  const variance = sigma * sigma + (umPerPx * umPerPx) / 12;
  const height = 1 / (2 * Math.PI * variance);
  return {
    reachUm: 4.5 * Math.sqrt(variance),
    widening: sigma / variance,
    at: (r2: number) => height * Math.exp(-r2 / (2 * variance)),
  };
}

/** Light that the field loses on its way to a pixel, as a factor, and the exposure. */
function lightFactor(spec: FrontSpec): (x: number, y: number) => number {
  const { camera, widthPx, heightPx } = spec;
  const direction = (camera.gradient?.directionDeg ?? 0) * radian;
  const [gx, gy] = [Math.cos(direction), -Math.sin(direction)];
  const across = Math.abs(gx) * widthPx + Math.abs(gy) * heightPx;
  const [cx, cy] = [(widthPx - 1) / 2, (heightPx - 1) / 2];
  return (x, y) => {
    const [dx, dy] = [x - cx, y - cy];
    const slope = 1 - (camera.gradient?.amount ?? 0) * ((gx * dx + gy * dy) / across + 0.5);
    const corner = 1 - ((camera.vignetting ?? 0) * (dx * dx + dy * dy)) / (cx * cx + cy * cy);
    return slope * corner * (camera.exposure ?? 1);
  };
}

/** Variance of one pixel's light, in units of full scale squared: shot noise, read noise, eight bits. */
function pixelVariance(camera: CameraSpec, light: number): number {
  const full = camera.fullWellElectrons ?? 5000;
  const read = camera.readNoiseElectrons ?? 6;
  const gamma = camera.gamma ?? 1;
  const step = (gamma * Math.max(light, 1e-4) ** (1 - 1 / gamma)) / 255;
  const counted = full === Infinity ? 0 : Math.max(0, light) / full + (read / full) ** 2;
  return counted + (step * step) / 12;
}

/** Normal distribution's integral, Abramowitz and Stegun 26.2.17: good to 7.5e-8. */
function phi(x: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(x));
  const tail =
    (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return x < 0 ? tail : 1 - tail;
}

/** Derivatives of the expected picture (linear light, 1 = full scale) in the rectangle around the visible edge. */
export type Derivatives = {
  readonly names: readonly (ShapeName | 'blur' | 'inside' | 'field')[];
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
  /** names.length values for each pixel, rows from the top */
  readonly data: Float64Array;
  readonly variance: Float64Array;
  /** whether light of the edge reaches the pixel */
  readonly reached: Uint8Array;
  readonly shape: Shape;
};

export function pictureDerivatives(spec: FrontSpec): Derivatives {
  const built = buildOutline(spec.tip, spec.interiorSeed);
  const shape = shapeOf(spec, built.flats);
  const worn = built.flats;
  const names = (Object.keys(halfStep) as ShapeName[]).filter((n) =>
    sides.every(
      (side) => (n !== depthOf[side] && n !== directionOf[side]) || worn[side].widthUm >= narrowestUm,
    ),
  );
  const moved = names.map((n) => ({
    step: 2 * halfStep[n],
    less: distanceTo(spec.tip, { ...shape, [n]: shape[n] - halfStep[n] }),
    more: distanceTo(spec.tip, { ...shape, [n]: shape[n] + halfStep[n] }),
  }));
  const as = distanceTo(spec.tip, shape);
  const interior = (spec.light === 'backlit' ? backlitInterior : ringInterior)(
    built.worn,
    spec.interiorSeed,
    spec.seed,
  );
  const psf = spread(spec.camera, spec.umPerPx);
  const factor = lightFactor(spec);
  const pieces = edgePieces(built.seen, 0.3 * spec.camera.blurSigmaUm);
  const places = pieces.map((e) => tipToPicture(e.p, spec.pose, spec.umPerPx));
  const reachPx = psf.reachUm / spec.umPerPx;
  const bound = (v: number, size: number): number => Math.min(size - 1, Math.max(0, v));
  const left = bound(Math.floor(Math.min(...places.map((p) => p.x)) - reachPx), spec.widthPx);
  const right = bound(Math.ceil(Math.max(...places.map((p) => p.x)) + reachPx), spec.widthPx);
  const top = bound(Math.floor(Math.min(...places.map((p) => p.y)) - reachPx), spec.heightPx);
  const low = bound(Math.ceil(Math.max(...places.map((p) => p.y)) + reachPx), spec.heightPx);
  const [width, height] = [right - left + 1, low - top + 1];
  const count = names.length + 3;
  const blurAt = names.length;
  const data = new Float64Array(width * height * count);
  const variance = new Float64Array(width * height);
  const reached = new Uint8Array(width * height);
  const [cos, sin] = [Math.cos(spec.pose.rotationDeg * radian), Math.sin(spec.pose.rotationDeg * radian)];
  const speed = new Float64Array(names.length);
  pieces.forEach((e, k) => {
    // an edge of a chip or a lump: the part's own shape cannot be read from it
    if (Math.abs(as(e.p)) > 0.05) return;
    const slope =
      (as({ x: e.p.x + 0.02 * e.nx, y: e.p.y + 0.02 * e.ny }) -
        as({ x: e.p.x - 0.02 * e.nx, y: e.p.y - 0.02 * e.ny })) /
      0.04;
    // the foot of a lump: close to the part's own edge, but standing on it
    if (slope < 0.5) return;
    moved.forEach((m, i) => (speed[i] = (m.less(e.p) - m.more(e.p)) / (m.step * slope)));
    const contrast = interior.level(e.p.x, e.p.y, 0) - interior.background;
    // the normal in the picture's own directions
    const [nx, ny] = [cos * e.nx + sin * e.ny, -sin * e.nx + cos * e.ny];
    const at = places[k];
    for (
      let y = Math.max(top, Math.ceil(at.y - reachPx));
      y <= Math.min(low, Math.floor(at.y + reachPx));
      y++
    )
      for (
        let x = Math.max(left, Math.ceil(at.x - reachPx));
        x <= Math.min(right, Math.floor(at.x + reachPx));
        x++
      ) {
        const dx = (x - at.x) * spec.umPerPx;
        const dy = (y - at.y) * spec.umPerPx;
        const weight = psf.at(dx * dx + dy * dy) * e.length * contrast;
        const pixel = (y - top) * width + (x - left);
        const row = pixel * count;
        reached[pixel] = 1;
        for (let i = 0; i < blurAt; i++) data[row + i] += weight * speed[i];
        data[row + blurAt] += weight * psf.widening * (nx * dx + ny * dy);
      }
  });
  const soft = Math.hypot(spec.camera.blurSigmaUm, spec.umPerPx / Math.sqrt(12));
  for (let pixel = 0; pixel < reached.length; pixel++) {
    if (!reached[pixel]) continue;
    const [x, y] = [left + (pixel % width), top + Math.floor(pixel / width)];
    const p = pictureToTip({ x, y }, spec.pose, spec.umPerPx);
    const d = as(p);
    // straight edge: only the two levels and the noise are told by it, and neither moves a width
    const m = phi(-d / soft);
    const light = factor(x, y);
    const inside = m * interior.level(p.x, p.y, Math.max(0, -d));
    const field = (1 - m) * interior.background;
    const row = pixel * count;
    for (let i = 0; i <= blurAt; i++) data[row + i] *= light;
    data[row + blurAt + 1] = light * inside;
    data[row + blurAt + 2] = light * field;
    variance[pixel] = pixelVariance(spec.camera, light * (inside + field));
  }
  return {
    names: [...names, 'blur', 'inside', 'field'],
    left,
    top,
    width,
    height,
    data,
    variance,
    reached,
    shape,
  };
}
