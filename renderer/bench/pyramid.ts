import type { Tone } from './bench-state.ts';

/** A picture in grey at several sizes, so that a frame never touches more pixels than it shows. */
export type Level = {
  readonly image: ImageBitmap;
  /** The same in the tint of its role; null where it never lies over another picture. */
  readonly tinted: ImageBitmap | null;
  /** Pixels of this level per pixel of the picture. */
  readonly reduction: number;
};

export type PyramidJob = {
  readonly blob: Blob;
  /** Width of the picture itself, pixels; what is handed over may be smaller. */
  readonly widthPx: number;
  readonly tone: Tone;
  readonly tint: string | null;
};
export type Pyramid = { readonly levels: Level[]; readonly heightPx: number };

const SMALLEST_EDGE = 400;

function canvasOf(width: number, height: number): [OffscreenCanvas, OffscreenCanvasRenderingContext2D] {
  const canvas = new OffscreenCanvas(Math.max(1, Math.round(width)), Math.max(1, Math.round(height)));
  const context = canvas.getContext('2d');
  if (context === null) throw new Error('canvasOf: the browser gives no 2D canvas');
  return [canvas, context];
}

function tintedFrom(image: ImageBitmap, tint: string): ImageBitmap {
  const [canvas, context] = canvasOf(image.width, image.height);
  context.drawImage(image, 0, 0);
  context.globalCompositeOperation = 'multiply';
  context.fillStyle = tint;
  context.fillRect(0, 0, canvas.width, canvas.height);
  return canvas.transferToImageBitmap();
}

/** Decodes, turns grey and halves until the picture is smaller than any stage. Runs in a worker, or on the page. */
export async function buildPyramid({ blob, widthPx, tone, tint }: PyramidJob): Promise<Pyramid> {
  const bitmap = await createImageBitmap(blob);
  const heightPx = (bitmap.height * widthPx) / bitmap.width;
  const [first, context] = canvasOf(bitmap.width, bitmap.height);
  context.filter = `grayscale(1) brightness(${tone.brightness}) contrast(${tone.contrast})`;
  context.drawImage(bitmap, 0, 0);
  bitmap.close();
  const levelOf = (image: ImageBitmap): Level => ({
    image,
    tinted: tint === null ? null : tintedFrom(image, tint),
    reduction: image.width / widthPx,
  });
  const levels: Level[] = [levelOf(first.transferToImageBitmap())];
  for (let last = levels[0].image; Math.max(last.width, last.height) > 2 * SMALLEST_EDGE;) {
    const [half, drawing] = canvasOf(last.width / 2, last.height / 2);
    drawing.imageSmoothingQuality = 'high';
    drawing.drawImage(last, 0, 0, half.width, half.height);
    last = half.transferToImageBitmap();
    levels.push(levelOf(last));
  }
  return { levels, heightPx };
}
