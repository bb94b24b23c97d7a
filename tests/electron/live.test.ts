import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { beforeAll, describe, expect, it } from 'vitest';
import { scaleKey, type CameraRecord } from '../../shared/index.ts';
import { DRAFT, FACTS, buildHost, temporaryFolder, testHost, type TestHost } from './support.ts';

beforeAll(buildHost);

const RECORD: CameraRecord = {
  camera: 'Invented microscope (0000:0000)',
  widthPx: 60,
  heightPx: 40,
  frameRate: 30,
  resizeMode: 'none',
  settings: { exposureMode: 'manual', exposureTime: 120, zoom: 100 },
  held: ['exposureMode', 'exposureTime'],
  made: { how: 'mean', frames: 8, same: 1, moved: 0, bits: 16, noise: { oneFrame: 2.1, stored: 0.75 } },
};

/** A smooth field whose neighbouring values differ by less than one grey level of 255. */
function field(bits: 8 | 16, channels: 1 | 3, shade: number): Uint8Array<ArrayBuffer> {
  const count = 60 * 40 * channels;
  const samples = bits === 16 ? new Uint16Array(count) : new Uint8Array(count);
  for (let i = 0; i < count; i++)
    samples[i] = (i * (bits === 16 ? 9 : 1) + shade) % (bits === 16 ? 65536 : 256);
  return new Uint8Array(samples.buffer);
}

const offer = (host: TestHost, bits: 8 | 16, channels: 1 | 3, shade = 0) =>
  host.ask('picture.offerPixels', {
    fileName: 'live.png',
    widthPx: 60,
    heightPx: 40,
    channels,
    bits,
    pixels: field(bits, channels, shade),
  });

const filesIn = (host: TestHost, folder: string): string[] => {
  const path = join(host.collectionFolder, folder);
  return existsSync(path) ? readdirSync(path) : [];
};
const stored = (host: TestHost) => filesIn(host, 'originals');

describe('live pictures', () => {
  it.each([
    [8, 1],
    [8, 3],
    [16, 1],
    [16, 3],
  ] as const)('keep every sample: %i bits, %i channels', async (bits, channels) => {
    const host = await testHost(temporaryFolder());
    const { id: stylusId } = await host.ask('stylus.create', DRAFT);
    const offered = await offer(host, bits, channels);
    expect(offered).toMatchObject({ mediaType: 'image/png', widthPx: 60, heightPx: 40 });
    await host.ask('capture.add', { ...FACTS, token: offered.token, stylusId, camera: RECORD });
    const [name] = stored(host);
    const file = readFileSync(join(host.collectionFolder, 'originals', name));
    const meta = await sharp(file).metadata();
    expect([meta.depth, meta.channels]).toEqual([bits === 16 ? 'ushort' : 'uchar', channels]);
    const space = channels === 1 ? (bits === 16 ? 'grey16' : 'b-w') : bits === 16 ? 'rgb16' : 'srgb';
    const raw = await sharp(file)
      .toColourspace(space)
      .raw({ depth: bits === 16 ? 'ushort' : 'uchar' })
      .toBuffer();
    expect(new Uint8Array(raw)).toEqual(field(bits, channels, 0));
  });

  it('carry how they were taken through a restart', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const { id: stylusId } = await host.ask('stylus.create', DRAFT);
    const { token } = await offer(host, 16, 1);
    const taken = { wall: '2025-03-01T18:20:05', offset: '+01:00', source: 'camera' as const };
    await host.ask('capture.add', { ...FACTS, token, stylusId, taken, camera: RECORD });
    await host.close();
    const again = await testHost(folder);
    const [capture] = (await again.ask('stylus.page', { id: stylusId })).captures;
    expect(capture).toMatchObject({ camera: RECORD, taken });
  });

  it('are refused when they come over incomplete, and leave nothing', async () => {
    const host = await testHost(temporaryFolder());
    const pixels = field(8, 1, 0).subarray(1);
    await expect(
      host.ask('picture.offerPixels', {
        fileName: 'a.png',
        widthPx: 60,
        heightPx: 40,
        channels: 1,
        bits: 8,
        pixels,
      }),
    ).rejects.toThrow('incomplete');
    expect(filesIn(host, 'incoming')).toEqual([]);
  });

  it('keep the parts of a merge behind it, and all or nothing', async () => {
    const folder = temporaryFolder();
    const host = await testHost(folder);
    const { id: stylusId } = await host.ask('stylus.create', DRAFT);
    const merge = await offer(host, 8, 1, 1);
    const parts = [await offer(host, 8, 1, 2), await offer(host, 8, 1, 3)];
    const made = { how: 'merge' as const, planes: 2, alignmentPx: 0.1, sizeChange: 0.002 };
    const facts = { ...FACTS, token: merge.token, stylusId, camera: { ...RECORD, made } };
    await expect(
      host.ask('capture.add', { ...facts, parts: [parts[0].token, 'f'.repeat(32)] }),
    ).rejects.toThrow('no-such-picture');
    expect(stored(host)).toEqual([]);
    const capture = await host.ask('capture.add', { ...facts, parts: parts.map((part) => part.token) });
    expect(stored(host)).toHaveLength(3);
    await host.close();
    // The start puts files that no row names into the bin: parts are named.
    const again = await testHost(folder);
    expect(stored(again)).toHaveLength(3);
    const part = await again.ask('capture.part', { id: capture.id, number: 1, maxEdgePx: 60 });
    expect(part).toMatchObject({ widthPx: 60, heightPx: 40 });
    await expect(again.ask('capture.part', { id: capture.id, number: 2, maxEdgePx: 60 })).rejects.toThrow(
      'not-found',
    );
  });

  it('share a scale only with the same camera, frame, zoom and focus', () => {
    expect(scaleKey({ ...RECORD, settings: { ...RECORD.settings, exposureTime: 9 } })).toBe(scaleKey(RECORD));
    for (const change of [
      { camera: 'Another' },
      { widthPx: 61 },
      { resizeMode: 'crop-and-scale' },
      { settings: { zoom: 101 } },
      { settings: { ...RECORD.settings, focusDistance: 0.1 } },
    ])
      expect(scaleKey({ ...RECORD, ...change })).not.toBe(scaleKey(RECORD));
  });
});
