import { z } from 'zod';

/**
 * How a live picture was taken: kept with the capture, so that it can be taken the same way again and so that a scale
 * is used only where it belongs (camera, frame size, resize mode, zoom, focus distance).
 */
const name = z.string().max(300);
const settingSchema = z.union([z.number(), z.string().max(100), z.boolean()]);

/** How much the picture trembles, grey levels of 255: one frame, and what was stored. */
const noise = z.object({ oneFrame: z.number().nonnegative(), stored: z.number().nonnegative() });

export const madeSchema = z.discriminatedUnion('how', [
  /** One frame as it came. */
  z.object({ how: z.literal('frame') }),
  /** The mean of several frames; `same` and `moved` count those that were left out. */
  z.object({
    how: z.literal('mean'),
    frames: z.number().int().min(2),
    same: z.number().int().nonnegative(),
    moved: z.number().int().nonnegative(),
    bits: z.union([z.literal(8), z.literal(16)]),
    noise,
  }),
  /** Put together from the sharp places of several focal planes, which are kept as parts. */
  z.object({
    how: z.literal('merge'),
    planes: z.number().int().min(2),
    /** Root mean square of what was left between the planes after they were laid over each other, pixels. */
    alignmentPx: z.number().nonnegative(),
    /** Largest change of size between two planes, relative: focusing changes the magnification a little. */
    sizeChange: z.number().nonnegative(),
  }),
]);
export type Made = z.infer<typeof madeSchema>;

export const cameraRecordSchema = z.object({
  /** As the system names it. */
  camera: name,
  widthPx: z.number().int().positive(),
  heightPx: z.number().int().positive(),
  frameRate: z.number().nonnegative().nullable(),
  /** 'none': the camera's own frame; anything else: the browser resized it. */
  resizeMode: z.string().max(40),
  /** Every setting that the camera read back at the moment of taking. */
  settings: z.record(z.string().max(60), settingSchema),
  /** Names of the settings that were held, each read back. */
  held: z.array(z.string().max(60)),
  made: madeSchema,
});
export type CameraRecord = z.infer<typeof cameraRecordSchema>;

/** What a scale of a live picture hangs on; two pictures that agree here share their scale. */
export function scaleKey(record: CameraRecord): string {
  const { camera, widthPx, heightPx, resizeMode, settings } = record;
  const part = (key: string): string => String(settings[key] ?? '-');
  return [camera, `${widthPx}x${heightPx}`, resizeMode, part('zoom'), part('focusDistance')].join('|');
}
