import { describe, expect, it } from 'vitest';
import { cameraRecordSchema, datedSchema } from '../../../shared/index.ts';
import { createCollection } from '../../../renderer/camera/collecting.ts';
import { bytesOf, liveFileName, madeOf, nowDated, recordOf } from '../../../renderer/camera/record.ts';
import { scaleHere, scaleLost } from '../../../renderer/camera/scale-here.ts';
import { createSession } from '../../../renderer/camera/session.ts';
import { captureRow } from '../fake-host.ts';
import { fakeCamera, settle } from './fake-camera.ts';

const frame = (width: number, height: number, seed: number) => {
  const rgba = new Uint8Array(4 * width * height);
  for (let i = 0; i < rgba.length; i++)
    rgba[i] = i % 4 === 3 ? 255 : (100 + (((i >> 2) * 7 + seed * 31) % 5)) & 255;
  const grey = { width, height, data: new Float32Array(width * height).map((_, i) => rgba[4 * i] / 255) };
  return { width, height, rgba, grey };
};

describe('the record of a live picture', () => {
  it('is taken now, with the offset of this place at that moment', () => {
    const taken = nowDated(new Date(2025, 2, 1, 18, 20, 5));
    expect(taken).toMatchObject({ wall: '2025-03-01T18:20:05', source: 'camera' });
    expect(datedSchema.parse(taken)).toEqual(taken);
    expect(liveFileName('front', taken)).toBe('live front 2025-03-01 18.20.05.png');
  });

  it('says what the camera read back, and what was held', async () => {
    const camera = fakeCamera();
    const session = createSession(camera, () => undefined);
    session.open(null);
    await settle();
    await session.wish({ exposureTime: 120 });
    const picture = {
      width: 2592,
      height: 1944,
      channels: 1 as const,
      bits: 8 as const,
      data: new Uint8Array(1),
    };
    const record = recordOf(session.view(), picture, madeOf(picture, null));
    expect(cameraRecordSchema.parse(record)).toEqual(record);
    expect(record).toMatchObject({
      camera: 'Invented microscope',
      widthPx: 2592,
      resizeMode: 'none',
      frameRate: 15,
      held: ['exposureTime'],
      settings: { exposureMode: 'manual', exposureTime: 120, whiteBalanceMode: 'continuous' },
      made: { how: 'frame' },
    });
    expect(record.settings).not.toHaveProperty('deviceId');
  });

  it('hands 16-bit samples over low byte first', () => {
    const picture = {
      width: 1,
      height: 1,
      channels: 1 as const,
      bits: 16 as const,
      data: Uint16Array.of(0x1234),
    };
    expect([...bytesOf(picture)]).toEqual([0x34, 0x12]);
  });
});

describe('a series of frames', () => {
  it('of one is that frame, grey where it has no colour', () => {
    const result = createCollection(1).add(frame(8, 6, 1));
    expect(result).toMatchObject({
      at: 'done',
      mean: null,
      picture: { channels: 1, bits: 8, width: 8, height: 6 },
    });
  });

  it('ends with a reason when the camera repeats itself, or changes its size', () => {
    const same = createCollection(8);
    let last = same.add(frame(64, 48, 1));
    for (let i = 0; i < 200 && last.at === 'going'; i++) last = same.add(frame(64, 48, 1));
    expect(last).toEqual({ at: 'failed', why: 'same' });
    const changing = createCollection(8);
    changing.add(frame(64, 48, 1));
    expect(changing.add(frame(32, 24, 2))).toEqual({ at: 'failed', why: 'size-changed' });
  });
});

describe('the scale of a live picture', () => {
  const record = (part: object = {}) => ({
    camera: 'Invented microscope',
    widthPx: 640,
    heightPx: 480,
    frameRate: 15,
    resizeMode: 'none',
    settings: { zoom: 100 },
    held: [],
    made: { how: 'frame' as const },
    ...part,
  });
  const capture = captureRow('fake00000000', { camera: record() });

  it('comes from a picture with exactly this setting, and is marked as carried over', () => {
    expect(scaleHere([capture], record())?.scale).toMatchObject({ umPerPx: 1, source: 'carried-over' });
    expect(scaleLost([capture], record())).toBeNull();
  });

  it.each([
    [{ widthPx: 1280, heightPx: 960 }, 'the frame was 640 × 480 px'],
    [{ resizeMode: 'crop-and-scale' }, 'resized'],
    [{ settings: { zoom: 150 } }, 'zoom'],
    [{ settings: { zoom: 100, focusDistance: 0.02 } }, 'focus'],
  ])('is taken away by %j, with the reason', (change, words) => {
    expect(scaleHere([capture], record(change))).toBeNull();
    expect(scaleLost([capture], record(change))).toContain(words);
  });

  it('does not come from files, which do not say how they were taken', () => {
    expect(scaleHere([captureRow('fake00000000')], record())).toBeNull();
  });
});
