import { encodeCapture } from '../../fixtures/render/encode.ts';
import { randomRuledSlideSpec, renderRuledSlide } from '../../fixtures/render/ruled-slide.ts';
import type { PictureFile } from './pictures.ts';

/** A rendered picture of a ruled slide, 100 µm from line to line, every fifth line missing, as a file. */
export async function slideFile(
  seed: number,
  rotationDeg: number,
): Promise<PictureFile & { readonly umPerPx: number }> {
  const base = randomRuledSlideSpec(seed, { pitchUm: 100, everyFifthMissing: true });
  const rendered = renderRuledSlide({
    ...base,
    widthPx: 1024,
    heightPx: 768,
    umPerPx: 2.5,
    lineWidthUm: 18,
    pose: { originXPx: 509.3, originYPx: 381.2, rotationDeg },
  });
  return {
    name: `slide-${seed}.png`,
    mimeType: 'image/png',
    buffer: Buffer.from(await encodeCapture(rendered)),
    umPerPx: rendered.truth.pitchUm / rendered.truth.pitchPx,
  };
}
