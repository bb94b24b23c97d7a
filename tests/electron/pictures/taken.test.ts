import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { inspectPicture } from '../../../electron/host/pictures/inspect.ts';
import { takenFromFileName, takenFromTags } from '../../../electron/host/pictures/taken.ts';
import { picture } from '../support.ts';

describe('the date in the picture', () => {
  it('is wall time with the offset beside it, whatever this machine thinks', () => {
    const tags = { DateTimeOriginal: '2024:03:18 14:22:30', OffsetTimeOriginal: '+05:45' };
    expect(takenFromTags(tags)).toEqual({ wall: '2024-03-18T14:22:30', offset: '+05:45', source: 'exif' });
  });

  it('keeps an unknown offset unknown', () => {
    expect(takenFromTags({ DateTimeOriginal: '2024:03:18 14:22:30' })?.offset).toBeNull();
    expect(
      takenFromTags({ DateTimeOriginal: '2024:03:18 14:22:30', OffsetTimeOriginal: '  ' })?.offset,
    ).toBeNull();
  });

  it('falls back on the time of digitising', () => {
    expect(takenFromTags({ CreateDate: '2024:03:18 14:22:30' })?.wall).toBe('2024-03-18T14:22:30');
  });

  it.each([
    '0000:00:00 00:00:00',
    '2024:02:30 10:00:00',
    '1970:01:01 00:00:00',
    '2024:01:01 25:00:00',
    '    ',
    7,
    null,
  ])('is not made up from %s', (value) => expect(takenFromTags({ DateTimeOriginal: value })).toBeNull());

  it('is never the time of the last change', () => {
    expect(takenFromTags({ ModifyDate: '2024:03:18 14:22:30' })).toBeNull();
  });

  it.each(['jpeg', 'png', 'webp'] as const)('is found in a %s', async (format) => {
    const bytes = await sharp(await picture())
      .withExif({ IFD2: { DateTimeOriginal: '2023:09:14 19:42:01', OffsetTimeOriginal: '-03:30' } })
      .toFormat(format)
      .toBuffer();
    const seen = await inspectPicture(new Uint8Array(bytes), 'IMG_20200101_000000.jpg');
    expect(seen).toMatchObject({
      ok: true,
      value: { taken: { wall: '2023-09-14T19:42:01', offset: '-03:30', source: 'exif' } },
    });
  });

  it('is asked for when neither picture nor name has one', async () => {
    expect(await inspectPicture(await picture(), 'left.png')).toMatchObject({
      ok: true,
      value: { taken: null },
    });
  });
});

describe('the date in the file name', () => {
  it.each([
    ['IMG_20240318_142230.jpg', '2024-03-18T14:22:30'],
    ['2024-03-18 14.22.30.png', '2024-03-18T14:22:30'],
    ['2024-03-18T14-22-30.png', '2024-03-18T14:22:30'],
    ['left 2024-03-18.tif', '2024-03-18'],
    ['left_2024.03.18_after.tif', '2024-03-18'],
    ['20240318-1422.jpg', '2024-03-18T14:22:00'],
  ])('%s', (name, wall) => {
    expect(takenFromFileName(name)).toEqual({ wall, offset: null, source: 'file-name' });
  });

  it.each(['IMG_1234.jpg', '20241318.jpg', '2024-02-30.jpg', '120240318.jpg', '202403181.jpg', 'x.jpg'])(
    'none in %s',
    (name) => expect(takenFromFileName(name)).toBeNull(),
  );
});
