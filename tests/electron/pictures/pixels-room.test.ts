import { expect, it } from 'vitest';
import sharp from 'sharp';
import { decodePicture } from '../../../electron/host/pictures/decode.ts';
import { withPixelsRoom } from '../../../electron/host/pictures/pixels-room.ts';

const noise = (channels: 1 | 3): Uint8Array =>
  Uint8Array.from({ length: 40 * 30 * channels }, (_, i) => (i * 7919) % 251);

async function pixels(png: Uint8Array, room?: Parameters<typeof decodePicture>[1]) {
  const decoded = await decodePicture(png, room);
  if (!decoded.ok) throw new Error(decoded.reason.message);
  return decoded.value.picture;
}

it('pixels in lent room are those that the decoder gives, of any kind, and the room is used again', async () => {
  const raw = (channels: 1 | 3) => sharp(noise(channels), { raw: { width: 40, height: 30, channels } });
  const files = await Promise.all([
    raw(1).png().toBuffer(),
    raw(3).png().toBuffer(),
    raw(3).toColourspace('rgb16').png().toBuffer(),
  ]);
  for (const file of files) {
    const alone = await pixels(file);
    const buffers: unknown[] = [];
    for (let round = 0; round < 2; round++)
      await withPixelsRoom(async (room) => {
        const lent = await pixels(file, room);
        expect(lent).toEqual(alone);
        buffers.push(lent.data.buffer);
      });
    expect(buffers[0]).toBe(buffers[1]);
  }
});
