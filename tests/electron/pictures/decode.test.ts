import { crc32, deflateSync } from 'node:zlib';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { decodePicture } from '../../../electron/host/pictures/decode.ts';
import { inspectPicture, showPicture } from '../../../electron/host/pictures/inspect.ts';
import { overlayPictures } from '../../../electron/host/pictures/overlay.ts';
import { MAX_PIXELS } from '../../../electron/host/pictures/open.ts';
import { bytesOf } from '../../../electron/host/pictures/source.ts';
import { picture, root, sha256, temporaryFolder } from '../support.ts';

const plain = (bytes: Uint8Array | Buffer): Uint8Array => new Uint8Array(bytes);

async function pixels(bytes: Uint8Array) {
  const decoded = await decodePicture(bytes);
  if (!decoded.ok) throw new Error(decoded.reason.message);
  return decoded.value.picture;
}

async function refusal(bytes: Uint8Array): Promise<string> {
  const decoded = await decodePicture(bytes);
  expect(decoded).toMatchObject({ ok: false, reason: { code: 'unreadable-image' } });
  return decoded.ok ? '' : decoded.reason.message;
}

/** 3 wide, 2 high, six grey levels: where each one lands shows the orientation. */
const LEVELS = [10, 50, 90, 130, 170, 210];
const oriented = async (
  orientation: number,
  format: 'jpeg' | 'png' | 'webp' | 'tiff',
): Promise<Uint8Array> => {
  // Blocks of 16 pixels, so that JPEG keeps their middles.
  const raw = Buffer.alloc(48 * 32);
  for (let y = 0; y < 32; y++)
    for (let x = 0; x < 48; x++) raw[y * 48 + x] = LEVELS[Math.floor(y / 16) * 3 + Math.floor(x / 16)];
  const image = sharp(raw, { raw: { width: 48, height: 32, channels: 1 } }).withMetadata({ orientation });
  return plain(
    await (format === 'webp' ? image.webp({ lossless: true }) : image.toFormat(format)).toBuffer(),
  );
};

/** What must be seen, row by row, for EXIF orientations 1 to 8 (the standard's own table, written out). */
const UPRIGHT: Record<number, number[][]> = {
  1: [
    [0, 1, 2],
    [3, 4, 5],
  ],
  2: [
    [2, 1, 0],
    [5, 4, 3],
  ],
  3: [
    [5, 4, 3],
    [2, 1, 0],
  ],
  4: [
    [3, 4, 5],
    [0, 1, 2],
  ],
  5: [
    [0, 3],
    [1, 4],
    [2, 5],
  ],
  6: [
    [3, 0],
    [4, 1],
    [5, 2],
  ],
  7: [
    [5, 2],
    [4, 1],
    [3, 0],
  ],
  8: [
    [2, 5],
    [1, 4],
    [0, 3],
  ],
};

function blocks(data: ArrayLike<number>, width: number, height: number, channels: number): number[][] {
  return Array.from({ length: height / 16 }, (_, r) =>
    Array.from({ length: width / 16 }, (_, c) => {
      const level = data[((r * 16 + 8) * width + c * 16 + 8) * channels];
      return LEVELS.findIndex((known) => Math.abs(known - level) < 15);
    }),
  );
}

describe('orientation', () => {
  const cases = [1, 2, 3, 4, 5, 6, 7, 8].flatMap((n) =>
    (['jpeg', 'png', 'webp', 'tiff'] as const).map((format) => [n, format] as const),
  );
  it.each(cases)('%i of a %s is the same for measuring, screen and size', async (orientation, format) => {
    const bytes = await oriented(orientation, format);
    const want = UPRIGHT[orientation];
    const { data, width, height, channels } = await pixels(bytes);
    expect(blocks(data, width, height, channels)).toEqual(want);
    const inspected = await inspectPicture(bytes, '');
    expect(inspected).toMatchObject({ ok: true, value: { widthPx: width, heightPx: height } });
    const shown = await showPicture(bytes, 48);
    if (!shown.ok) throw new Error('not shown');
    const screen = await sharp(shown.value.bytes).greyscale().raw().toBuffer({ resolveWithObject: true });
    expect(blocks(screen.data, screen.info.width, screen.info.height, 1)).toEqual(want);
  });
});

describe('depth and colour', () => {
  it('keeps 16-bit grey exactly', async () => {
    const values = Uint16Array.from({ length: 64 }, (_, i) => i * 1000 + 7);
    const bytes = await sharp(values, { raw: { width: 8, height: 8, channels: 1 } })
      .toColourspace('grey16')
      .png()
      .toBuffer();
    const { data, channels } = await pixels(plain(bytes));
    expect(channels).toBe(1);
    expect(data).toBeInstanceOf(Uint16Array);
    expect([...data]).toEqual([...values]);
  });

  it('keeps 16-bit colour exactly', async () => {
    const values = Uint16Array.from({ length: 4 * 4 * 3 }, (_, i) => i * 1300 + 3);
    const bytes = await sharp(values, { raw: { width: 4, height: 4, channels: 3 } })
      .toColourspace('rgb16')
      .png()
      .toBuffer();
    const { data, channels } = await pixels(plain(bytes));
    expect(channels).toBe(3);
    expect([...data]).toEqual([...values]);
  });

  it('turns printing colours into screen colours and says so', async () => {
    const create = { width: 16, height: 16, channels: 3 as const, background: { r: 200, g: 60, b: 40 } };
    const bytes = await sharp({ create }).toColourspace('cmyk').jpeg({ quality: 100 }).toBuffer();
    const decoded = await decodePicture(plain(bytes));
    if (!decoded.ok) throw new Error(decoded.reason.message);
    expect(decoded.value.warnings.map((warning) => warning.code)).toContain('print-colours');
    const [r, g, b] = decoded.value.picture.data;
    // Out and back through two profiles: near, not equal.
    expect(Math.abs(r - 200) + Math.abs(g - 60) + Math.abs(b - 40)).toBeLessThan(60);
  });

  it('takes an opaque alpha channel off and refuses a transparent one', async () => {
    const create = (alpha: number) => ({
      create: { width: 8, height: 8, channels: 4 as const, background: { r: 9, g: 99, b: 199, alpha } },
    });
    const opaque = await pixels(plain(await sharp(create(1)).png().toBuffer()));
    expect([opaque.channels, ...opaque.data.slice(0, 3)]).toEqual([3, 9, 99, 199]);
    expect(await refusal(plain(await sharp(create(0.5)).png().toBuffer()))).toContain('transparent');
  });

  it('uses the first of several pictures and says so', async () => {
    const frame = (level: number) => Buffer.alloc(8 * 8 * 3, level);
    const raw = { width: 8, height: 16, channels: 3 as const, pageHeight: 8 };
    const bytes = await sharp(Buffer.concat([frame(40), frame(200)]), { raw })
      .tiff()
      .toBuffer();
    const decoded = await decodePicture(plain(bytes));
    if (!decoded.ok) throw new Error(decoded.reason.message);
    expect([decoded.value.picture.width, decoded.value.picture.height]).toEqual([8, 8]);
    expect(decoded.value.picture.data[0]).toBe(40);
    expect(decoded.value.warnings.map((warning) => warning.code)).toContain('several-pages');
  });

  it('reads a 16-bit TIFF exactly and refuses numbers that are no brightness', async () => {
    const values = [0, 1, 300, 40_000, 65_535, 12_345];
    const whole = Buffer.alloc(12);
    values.forEach((value, i) => whole.writeUInt16LE(value, i * 2));
    const { data, width, height } = await pixels(tiff(3, 2, 16, 1, whole));
    expect([width, height, ...data]).toEqual([3, 2, ...values]);
    const fractions = Buffer.alloc(24);
    values.forEach((_, i) => fractions.writeFloatLE(i / 10, i * 4));
    expect(await refusal(tiff(3, 2, 32, 3, fractions))).toContain('neither 8 nor 16 bits');
  });
});

/** The smallest grey TIFF: sample format 1 counts, 3 has fractions. */
function tiff(
  width: number,
  height: number,
  bits: number,
  sampleFormat: number,
  samples: Buffer,
): Uint8Array {
  const tags: [tag: number, value: number][] = [
    [256, width],
    [257, height],
    [258, bits],
    [259, 1],
    [262, 1],
    [273, 8],
    [277, 1],
    [278, height],
    [279, samples.length],
    [339, sampleFormat],
  ];
  const at = 8 + samples.length;
  const file = Buffer.alloc(at + 2 + tags.length * 12 + 4);
  file.write('II*\0', 0, 'latin1');
  file.writeUInt32LE(at, 4);
  file.set(samples, 8);
  file.writeUInt16LE(tags.length, at);
  tags.forEach(([tag, value], i) => {
    const entry = at + 2 + i * 12;
    file.writeUInt16LE(tag, entry);
    file.writeUInt16LE(3, entry + 2);
    file.writeUInt32LE(1, entry + 4);
    file.writeUInt16LE(value, entry + 8);
  });
  return plain(file);
}

function chunk(type: string, data: Buffer): Buffer {
  const whole = Buffer.alloc(12 + data.length);
  whole.writeUInt32BE(data.length, 0);
  whole.write(type, 4, 'latin1');
  whole.set(data, 8);
  whole.writeUInt32BE(crc32(whole.subarray(4, 8 + data.length)), 8 + data.length);
  return whole;
}

/** A PNG whose head claims a size that its content does not have. */
function liar(width: number, height: number): Uint8Array {
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 2, 0, 0, 0], 8);
  const magic = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  const few = deflateSync(Buffer.alloc(100));
  return plain(
    Buffer.concat([magic, chunk('IHDR', head), chunk('IDAT', few), chunk('IEND', Buffer.alloc(0))]),
  );
}

describe('bad pictures', () => {
  it.each(['png', 'jpeg', 'tiff', 'webp'] as const)(
    'refuses a %s cut off at each 10 per cent',
    async (format) => {
      // Noise, so that no cut falls into padding.
      let seed = 1;
      const raw = Buffer.from(
        Uint8Array.from({ length: 160 * 120 * 3 }, () => (seed = (seed * 48271) % 2147483647) % 256),
      );
      const image = sharp(raw, { raw: { width: 160, height: 120, channels: 3 } });
      const whole = plain(await image.toFormat(format).toBuffer());
      await pixels(whole);
      for (let share = 0; share < 10; share++)
        expect(
          await refusal(whole.slice(0, Math.floor((whole.length * share) / 10))),
          `${share}0 %`,
        ).not.toBe('');
    },
  );

  it.each([
    ['GIF', 'GIF89a'],
    ['web page', '<!doctype html><html></html>'],
    ['drawing', '<svg xmlns="http://www.w3.org/2000/svg"><image href="file:///etc/passwd"/></svg>'],
    ['PDF', '%PDF-1.7 '],
    ['archive', 'PK\u0003\u0004'],
    ['known kind', 'plain text, whatever its name says'],
  ])('says what it is instead: %s', async (word, text) => {
    expect(await refusal(new TextEncoder().encode(text))).toContain(word);
  });

  it('names a HEIC picture', async () => {
    const bytes = Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from('ftypheic\0\0\0\0mif1heic')]);
    expect(await refusal(plain(bytes))).toContain('HEIC');
  });

  it('reads no other format even behind a right beginning', async () => {
    const svg = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"/>';
    await expect(sharp(Buffer.from(svg)).metadata()).rejects.toThrow(/unsupported/);
    const gif = Buffer.from('R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7', 'base64');
    await expect(sharp(gif).metadata()).rejects.toThrow(/unsupported/);
  });

  it('refuses an empty file, a lying head and a bomb, quickly', async () => {
    expect(await refusal(new Uint8Array())).toContain('empty');
    const started = performance.now();
    expect(await refusal(liar(60_000, 60_000))).toContain('million pixels');
    expect(await refusal(liar(400, 300))).toContain('cut short');
    const side = Math.ceil(Math.sqrt(MAX_PIXELS)) + 1;
    const bomb = await sharp({ create: { width: side, height: side, channels: 3, background: '#000' } })
      .png({ compressionLevel: 9 })
      .toBuffer();
    expect(bomb.length).toBeLessThan(400_000);
    const beforeBomb = process.memoryUsage().rss;
    expect(await refusal(plain(bomb))).toContain('million pixels');
    expect(process.memoryUsage().rss - beforeBomb).toBeLessThan(100e6);
    expect(performance.now() - started).toBeLessThan(20_000);
  });
});

describe('files as sources', () => {
  it('are refused with a sentence when they are no file', async () => {
    const folder = temporaryFolder();
    expect(await bytesOf({ path: folder })).toMatchObject({
      ok: false,
      reason: { code: 'unreadable-image' },
    });
    expect(await bytesOf({ path: `${folder}/none.jpg` })).toMatchObject({ ok: false });
    expect(await bytesOf({ path: '/dev/zero' })).toMatchObject({ ok: false });
  });

  it('must have the content that was stored', async () => {
    const path = `${root}/LICENSE`;
    const read = await bytesOf({ path });
    if (!read.ok) throw new Error('not read');
    expect((await bytesOf({ path, sha256: sha256(read.value) })).ok).toBe(true);
    expect((await bytesOf({ path, sha256: sha256(new Uint8Array([1])) })).ok).toBe(false);
  });
});

describe('pictures that leave the collection', () => {
  it('carry no metadata', async () => {
    const withPlace = await sharp(await picture(50, 'jpeg'))
      .withExif({ IFD0: { Make: 'X-SERIAL-1' }, IFD3: { GPSLatitudeRef: 'N' } })
      .jpeg()
      .toBuffer();
    expect((await sharp(withPlace).metadata()).exif).toBeDefined();
    const shown = await showPicture(plain(withPlace), 64);
    if (!shown.ok) throw new Error('not shown');
    expect((await sharp(shown.value.bytes).metadata()).exif).toBeUndefined();
    expect(Buffer.from(shown.value.bytes).includes('X-SERIAL-1')).toBe(false);
  });

  it('are laid over each other with what only one of them shows in its own colour', async () => {
    const box = async (left: number): Promise<Uint8Array> => {
      const raw = Buffer.alloc(60 * 60, 240);
      for (let y = 20; y < 40; y++) raw.fill(20, y * 60 + left, y * 60 + left + 20);
      return plain(
        await sharp(raw, { raw: { width: 60, height: 60, channels: 1 } })
          .png()
          .toBuffer(),
      );
    };
    const pose = { xPx: 30, yPx: 30, rotationDeg: 0, umPerPx: 1 };
    const window = { leftUm: -30, topUm: -30, widthPx: 60, heightPx: 60, umPerPx: 1 };
    const made = await overlayPictures(
      { bytes: await box(15), pose },
      { bytes: await box(25), pose },
      window,
    );
    if (!made.ok) throw new Error(made.reason.message);
    const { data } = await sharp(made.value.bytes).removeAlpha().raw().toBuffer({ resolveWithObject: true });
    const at = (x: number): number[] => [...data.subarray((30 * 60 + x) * 3, (30 * 60 + x) * 3 + 3)];
    expect(at(18)).toEqual([230, 159, 0]);
    expect(at(30)).toEqual([0, 0, 0]);
    expect(at(42)).toEqual([0, 114, 178]);
    expect(at(52)).toEqual([255, 255, 255]);
  });
});
