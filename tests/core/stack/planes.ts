import { gaussianBlur } from '../../../fixtures/render/blur.ts';
import { frontScene, type FrontSpec } from '../../../fixtures/render/front.ts';
import { createRandom } from '../../../fixtures/render/random.ts';
import { liveSpec } from '../live/frames.ts';

/**
 * A part that lies obliquely: its depth changes from the left of the frame to the right, so each focal plane is sharp in
 * one strip. Blur grows with the distance from the focus; size and place change a little with it, as they do when a
 * focus wheel is turned.
 */
export type PlaneSpec = {
  /** Several: at each place the nearest counts, which is what a perfect merge would be. */
  readonly focus: number | readonly number[];
  readonly zoom?: number;
  readonly dx?: number;
  readonly dy?: number;
};

export const SIZE = { width: 480, height: 360 };
export const SHARP_PX = 1.4;
/** Blur at the far end of the frame from a focus at the near end, pixels. */
const WIDEST_PX = 7;
const LEVELS = Array.from({ length: 15 }, (_, i) => i * 0.5);

export const stackSpec = (part: Partial<FrontSpec> = {}): FrontSpec =>
  liveSpec({
    widthPx: SIZE.width,
    heightPx: SIZE.height,
    pose: { tipXPx: 240, tipYPx: 235, rotationDeg: 4 },
    tip: { ...liveSpec().tip, radiusUm: 22, shankWidthUm: 220 },
    camera: { blurSigmaUm: SHARP_PX },
    ...part,
  });

/** The scene everywhere in focus, grey 0..1, no noise. */
export function sharpScene(): Float32Array {
  return frontScene(stackSpec()).scene.data;
}

function valueOf(plane: Float32Array, x: number, y: number): number {
  const cx = Math.min(SIZE.width - 1.001, Math.max(0, x));
  const cy = Math.min(SIZE.height - 1.001, Math.max(0, y));
  const x0 = Math.floor(cx);
  const y0 = Math.floor(cy);
  const u = cx - x0;
  const v = cy - y0;
  const at = (i: number, j: number): number => plane[(y0 + j) * SIZE.width + x0 + i];
  return (1 - v) * ((1 - u) * at(0, 0) + u * at(1, 0)) + v * ((1 - u) * at(0, 1) + u * at(1, 1));
}

const blurred = new WeakMap<Float32Array, Float32Array[]>();
function blurredOf(sharp: Float32Array): Float32Array[] {
  const known = blurred.get(sharp);
  if (known !== undefined) return known;
  const made = LEVELS.map((sigma) =>
    sigma === 0 ? sharp : gaussianBlur({ ...SIZE, data: sharp.slice() }, sigma).data,
  );
  blurred.set(sharp, made);
  return made;
}

/** One focal plane as RGBA with noise of `levels` grey levels. `focus` 0 = the left end of the frame, 1 = the right. */
export function renderPlane(
  sharp: Float32Array,
  { focus, zoom = 0, dx = 0, dy = 0 }: PlaneSpec,
  seed: number,
  noise = 2,
): Uint8Array<ArrayBuffer> {
  const { width, height } = SIZE;
  const stack = blurredOf(sharp);
  const random = createRandom(seed);
  const out = new Uint8Array(4 * width * height);
  const cx = (width - 1) / 2;
  const cy = (height - 1) / 2;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      // where this pixel's light comes from in the scene
      const sx = cx + (x - cx - dx) / (1 + zoom);
      const sy = cy + (y - cy - dy) / (1 + zoom);
      const away = Math.min(...[focus].flat().map((one) => Math.abs(sx / (width - 1) - one)));
      const blur = Math.min(7, WIDEST_PX * away);
      const at = Math.min(LEVELS.length - 1.001, blur / 0.5);
      const k = Math.floor(at);
      const v = (1 - at + k) * valueOf(stack[k], sx, sy) + (at - k) * valueOf(stack[k + 1], sx, sy);
      const grey = Math.min(255, Math.max(0, Math.round(255 * v + random.normal(0, noise))));
      const i = 4 * (y * width + x);
      out[i] = out[i + 1] = out[i + 2] = grey;
      out[i + 3] = 255;
    }
  return out;
}
