import sharp from 'sharp';
import { answer, refuse } from '../../../shared/index.ts';
import type { Outcome } from '../../../shared/index.ts';
import type { EncodeJob } from '../engine-protocol.ts';
import { MAX_PIXELS, unreadableBecause } from './open.ts';

/**
 * Bare pixels of a live picture to a PNG that holds every one of them: grey or sRGB, 8 or 16 bits, nothing converted
 * on the way. Quick settings: deflating harder saves a tenth of the file and costs seconds of waiting.
 */
export async function encodePicture(job: EncodeJob): Promise<Outcome<Uint8Array>> {
  const { widthPx: width, heightPx: height, channels, bits, pixels } = job;
  const samples = width * height * channels;
  if (width * height > MAX_PIXELS)
    return refuse('unreadable-image', `The picture has more than ${MAX_PIXELS / 1e6} million pixels.`);
  if (pixels.byteLength !== (samples * bits) / 8)
    return refuse('unreadable-image', 'The picture came over incomplete. Take it again.');
  // Copied, because 16-bit samples must start at an even address.
  const own = new Uint8Array(pixels);
  const data = bits === 16 ? new Uint16Array(own.buffer, 0, samples) : own;
  const space = channels === 1 ? (bits === 16 ? 'grey16' : 'b-w') : bits === 16 ? 'rgb16' : 'srgb';
  try {
    const file = await sharp(data, { raw: { width, height, channels } })
      .toColourspace(space)
      .png({ compressionLevel: 4, adaptiveFiltering: true })
      .toBuffer();
    return answer(new Uint8Array(file));
  } catch (error) {
    return unreadableBecause(error);
  }
}
