import { answer } from '../../../shared/index.ts';
import type { Outcome, Warning } from '../../../shared/index.ts';
import type { DecodedPicture } from '../../../core/index.ts';
import { openPicture, unreadableBecause } from './open.ts';
import type { OpenPicture } from './open.ts';
import type { PixelsRoom } from './pixels-room.ts';

/**
 * Bytes of a file to the pixels that the engine measures: upright by the EXIF orientation, grey or sRGB, 8 bits, or
 * 16 bits where the file has them. With `room` the pixels last no longer than that does.
 */
export async function decodePicture(
  bytes: Uint8Array,
  room?: PixelsRoom,
): Promise<Outcome<{ picture: DecodedPicture; warnings: Warning[] }>> {
  const opened = await openPicture(bytes);
  if (!opened.ok) return opened;
  try {
    return answer({ picture: await pixelsOf(opened.value, room), warnings: opened.value.warnings });
  } catch (error) {
    return unreadableBecause(error);
  }
}

async function pixelsOf(open: OpenPicture, room?: PixelsRoom): Promise<DecodedPicture> {
  const wide = open.sixteenBit;
  const space = open.grey ? (wide ? 'grey16' : 'b-w') : wide ? 'rgb16' : 'srgb';
  const { data, info } = await open
    .sharp()
    .removeAlpha()
    .toColourspace(space)
    .raw({ depth: wide ? 'ushort' : 'uchar' })
    .toBuffer({ resolveWithObject: true });
  const channels = info.channels as number;
  if (channels !== 1 && channels !== 3) throw new Error(`decoded to ${channels} channels`);
  const count = info.width * info.height * channels;
  // Small buffers come from a shared pool, and 16-bit samples must start at an even address: those are copied.
  const alone = data.byteOffset === 0 && data.byteLength === data.buffer.byteLength;
  const own = room ? copied(data, room) : alone ? data : new Uint8Array(data);
  const samples = wide ? new Uint16Array(own.buffer, 0, count) : new Uint8Array(own.buffer, 0, count);
  if (samples.length !== count) throw new Error('decoded to an unexpected length');
  return { width: info.width, height: info.height, channels, data: samples };
}

function copied(data: Uint8Array, room: PixelsRoom): Uint8Array {
  const own = room.take(data.byteLength);
  own.set(data);
  return own;
}
