/**
 * Bad and odd picture files, all made here: what each of them must do is part of it. 'refused' means a sentence with
 * the reason; 'right' means decoded with the size and the brightness that were put in.
 *
 * Over 400 lines because it is one catalogue: each file is a line or two, and splitting it would hide what is missing.
 */
import { crc32, deflateRawSync, deflateSync, gzipSync } from 'node:zlib';
import sharp, { type Sharp } from 'sharp';

export type Right = {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Brightness 0..255 (after conversion to 8 bits) of the upright picture at [x, y]; colour pictures: their green. */
  readonly at?: readonly (readonly [x: number, y: number, level: number, tolerance: number])[];
  readonly warning?: string;
};
export type Odd = {
  readonly name: string;
  /** The name the file comes with. */
  readonly fileName: string;
  readonly bytes: Uint8Array;
  readonly right: Right | null;
};

const plain = (bytes: Uint8Array | Buffer): Uint8Array => new Uint8Array(bytes);
const W = 96;
const H = 64;

/** Noise, so that no cut falls into padding; the same at every run. */
function noise(length: number): Buffer {
  let seed = 1;
  return Buffer.from(Uint8Array.from({ length }, () => (seed = (seed * 48271) % 2147483647) % 256));
}
const noisy = (): Sharp => sharp(noise(W * H * 3), { raw: { width: W, height: H, channels: 3 } });

/** Left half dark, right half bright, the upper third of the bright half brighter still: shows every turn. */
function stepped(channels: 1 | 3): Buffer {
  const data = Buffer.alloc(W * H * channels);
  for (let y = 0; y < H; y++)
    for (let x = 0; x < W; x++) data.fill(levelAt(x, y), (y * W + x) * channels, (y * W + x + 1) * channels);
  return data;
}
const levelAt = (x: number, y: number): number => (x < W / 2 ? 30 : y < H / 3 ? 230 : 140);
const steppedImage = (channels: 1 | 3 = 1): Sharp => {
  const image = sharp(stepped(channels), { raw: { width: W, height: H, channels } });
  return channels === 1 ? image.toColourspace('b-w') : image;
};
const AS_MADE: Right = {
  widthPx: W,
  heightPx: H,
  at: [
    [10, 10, 30, 8],
    [W - 10, 8, 230, 8],
    [W - 10, H - 8, 140, 8],
  ],
};

type Format = 'jpeg' | 'png' | 'tiff' | 'webp';
const FORMATS: readonly Format[] = ['jpeg', 'png', 'tiff', 'webp'];
const EXTENSION: Readonly<Record<Format, string>> = { jpeg: 'jpg', png: 'png', tiff: 'tif', webp: 'webp' };

async function encoded(image: Sharp, format: Format): Promise<Uint8Array> {
  const made = format === 'webp' ? image.webp({ lossless: true }) : image.toFormat(format);
  return plain(await made.toBuffer());
}

const refused = (name: string, bytes: Uint8Array | Buffer, fileName = 'picture.jpg'): Odd => ({
  name,
  fileName,
  bytes: plain(bytes),
  right: null,
});
const right = (
  name: string,
  bytes: Uint8Array | Buffer,
  what: Right = AS_MADE,
  fileName = 'picture.jpg',
): Odd => ({
  name,
  fileName,
  bytes: plain(bytes),
  right: what,
});

/** Cut off after each 5 per cent; a progressive JPEG shows something early, so it is one of its own. */
async function truncations(): Promise<Odd[]> {
  const whole: [string, Uint8Array][] = [];
  for (const format of FORMATS) whole.push([format, await encoded(noisy(), format)]);
  whole.push(['progressive jpeg', plain(await noisy().jpeg({ progressive: true }).toBuffer())]);
  return whole.flatMap(([kind, bytes]) =>
    Array.from({ length: 20 }, (_, i) =>
      refused(`a ${kind} cut off at ${5 * i} %`, bytes.slice(0, Math.floor((bytes.length * i) / 20))),
    ),
  );
}

/** EXIF orientations 1 to 8: where pixel (x, y) of the stored picture comes to lie in the upright one. */
const PLACES: Readonly<Record<number, (x: number, y: number) => readonly [number, number]>> = {
  1: (x, y) => [x, y],
  2: (x, y) => [W - 1 - x, y],
  3: (x, y) => [W - 1 - x, H - 1 - y],
  4: (x, y) => [x, H - 1 - y],
  5: (x, y) => [y, x],
  6: (x, y) => [H - 1 - y, x],
  7: (x, y) => [H - 1 - y, W - 1 - x],
  8: (x, y) => [y, W - 1 - x],
};

async function orientations(): Promise<Odd[]> {
  const made: Odd[] = [];
  for (const format of FORMATS)
    for (let orientation = 1; orientation <= 8; orientation++) {
      const bytes = await encoded(steppedImage().withMetadata({ orientation }), format);
      const turned = orientation > 4;
      const at = AS_MADE.at!.map(
        ([x, y, level, tolerance]) => [...PLACES[orientation](x, y), level, tolerance] as const,
      );
      made.push(
        right(`${format}, orientation ${orientation}`, bytes, {
          widthPx: turned ? H : W,
          heightPx: turned ? W : H,
          at,
        }),
      );
    }
  return made;
}

async function wrongNames(): Promise<Odd[]> {
  const made: Odd[] = [];
  for (const format of FORMATS)
    for (const other of FORMATS)
      if (other !== format)
        made.push(
          right(
            `a ${format} named .${EXTENSION[other]}`,
            await encoded(steppedImage(), format),
            AS_MADE,
            `picture.${EXTENSION[other]}`,
          ),
        );
  return made;
}

const text = (content: string): Uint8Array => new TextEncoder().encode(content);
const box = (brand: string): Buffer =>
  Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from(`ftyp${brand}\0\0\0\0mif1${brand}`), noise(64)]);

/** `reach` is an address that must never be asked for. */
function otherKinds(reach: string): Odd[] {
  const gif = Buffer.from('R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7', 'base64');
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="9" height="9"><image xlink:href="${reach}" width="9" height="9"/></svg>`;
  const entities = `<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "${'x'.repeat(99)}">${Array.from({ length: 9 }, (_, i) => `<!ENTITY ${String.fromCharCode(98 + i)} "${`&${String.fromCharCode(97 + i)};`.repeat(10)}">`).join('')}]><svg xmlns="http://www.w3.org/2000/svg"><text>&j;</text></svg>`;
  const outside = `<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY f SYSTEM "file:///etc/passwd">]><svg xmlns="http://www.w3.org/2000/svg"><text>&f;</text></svg>`;
  return [
    refused('a GIF', gif),
    refused('an animated GIF', Buffer.concat([gif.subarray(0, -1), gif.subarray(13)])),
    refused('an SVG with a picture from the network', text(svg)),
    refused('an SVG named .png with a picture from the network', text(`\n  ${svg}`), 'picture.png'),
    refused('an SVG with entities that grow a thousand million times', text(entities)),
    refused('an SVG with an entity from a file of the machine', text(outside)),
    refused('a compressed SVG', gzipSync(svg)),
    refused(
      'a PDF',
      text(`%PDF-1.7\n1 0 obj<</Type/Catalog/OpenAction<</S/URI/URI(${reach})>>>>endobj\n%%EOF`),
    ),
    ...['heic', 'heix', 'mif1', 'msf1', 'avif', 'avis', 'isom', 'qt  '].map((brand) =>
      refused(`a file of brand ${brand}`, box(brand)),
    ),
    refused('a Windows bitmap', Buffer.concat([Buffer.from('BM'), noise(200)])),
    refused('an icon', Buffer.concat([Buffer.from([0, 0, 1, 0, 1, 0]), noise(200)])),
    refused('a Photoshop file', Buffer.concat([Buffer.from('8BPS\0\u0001'), noise(200)])),
    refused('a portable pixel map', Buffer.concat([text('P6\n4 4\n255\n'), noise(48)])),
    refused('a portable float map', Buffer.concat([text('PF\n4 4\n-1.0\n'), noise(192)])),
    refused('a Radiance picture', text('#?RADIANCE\nFORMAT=32-bit_rle_rgbe\n\n-Y 1 +X 1\n0000')),
    refused('a FITS file', text('SIMPLE  =                    T'.padEnd(80).padEnd(2880))),
    refused('an OpenEXR file', Buffer.concat([Buffer.from([0x76, 0x2f, 0x31, 0x01]), noise(200)])),
    refused('a JPEG 2000 file', Buffer.concat([Buffer.from('0000000c6a5020200d0a870a', 'hex'), noise(200)])),
    refused('a JPEG XL file', Buffer.concat([Buffer.from([0xff, 0x0a]), noise(200)])),
    refused('a library’s own format', Buffer.concat([Buffer.from([0x08, 0xf2, 0xa6, 0xb6]), noise(200)])),
    refused('a table named .png', text('1,2,3\n4,5,6\n'), 'picture.png'),
    refused('a MATLAB file', Buffer.concat([text('MATLAB 5.0 MAT-file'.padEnd(128)), noise(64)])),
    refused('an archive', Buffer.concat([Buffer.from('PK\u0003\u0004'), noise(200)])),
    refused('a compressed archive', gzipSync(noise(200))),
    refused('a web page', text('<!doctype html><script>alert(1)</script>')),
    refused('a program', Buffer.concat([Buffer.from('\u007fELF'), noise(200)])),
    refused('a script', text('#!/bin/sh\nrm -rf /\n')),
    refused('a file of zeros', Buffer.alloc(4096)),
    refused('an empty file', new Uint8Array()),
    refused('one byte', Buffer.from([0xff])),
    refused('the beginning of a JPEG and nothing more', Buffer.from([0xff, 0xd8, 0xff])),
    refused('the beginning of a PNG and nothing more', Buffer.from('89504e470d0a1a0a', 'hex')),
    refused('the beginning of a TIFF and nothing more', Buffer.from('49492a00', 'hex')),
    refused('the beginning of a WebP and nothing more', Buffer.from('RIFF\0\0\0\0WEBP')),
    refused(
      'an SVG behind the beginning of a JPEG',
      Buffer.concat([Buffer.from([0xff, 0xd8, 0xff]), text(svg)]),
    ),
    refused(
      'a GIF behind the beginning of a PNG',
      Buffer.concat([Buffer.from('89504e470d0a1a0a', 'hex'), gif]),
    ),
    refused('a PDF behind the beginning of a TIFF', Buffer.concat([Buffer.from('II*\0'), text('%PDF-1.7')])),
  ];
}

function chunk(type: string, data: Buffer): Buffer {
  const whole = Buffer.alloc(12 + data.length);
  whole.writeUInt32BE(data.length, 0);
  whole.write(type, 4, 'latin1');
  whole.set(data, 8);
  whole.writeUInt32BE(crc32(whole.subarray(4, 8 + data.length)), 8 + data.length);
  return whole;
}
const MAGIC = Buffer.from('89504e470d0a1a0a', 'hex');
const END = chunk('IEND', Buffer.alloc(0));

type Head = {
  width: number;
  height: number;
  bits?: number;
  colour?: number;
  interlace?: number;
  filter?: number;
};
function head({ width, height, bits = 8, colour = 2, interlace = 0, filter = 0 }: Head): Buffer {
  const data = Buffer.alloc(13);
  data.writeUInt32BE(width, 0);
  data.writeUInt32BE(height, 4);
  data.set([bits, colour, 0, filter, interlace], 8);
  return chunk('IHDR', data);
}
/** A PNG of these parts. */
const png = (...parts: Buffer[]): Buffer => Buffer.concat([MAGIC, ...parts]);
const idat = (raw: Buffer): Buffer => chunk('IDAT', deflateSync(raw));
const rows = (width: number, height: number): Buffer => Buffer.alloc((1 + 3 * width) * height);

function lyingPngs(): Odd[] {
  const fits = idat(rows(8, 8));
  const bad = Buffer.from(png(head({ width: 8, height: 8 }), fits, END));
  bad[bad.length - 20] ^= 0xff;
  const badSum = Buffer.from(png(head({ width: 8, height: 8 }), fits, END));
  badSum[30] ^= 1;
  const comment = (length: number): Buffer =>
    chunk('zTXt', Buffer.concat([Buffer.from('Comment\0\0'), deflateSync(Buffer.alloc(length, 65))]));
  return [
    refused('a PNG that claims 60000 x 60000', png(head({ width: 60_000, height: 60_000 }), fits, END)),
    refused('a PNG that claims 2147483647 x 1', png(head({ width: 2_147_483_647, height: 1 }), fits, END)),
    refused(
      'a PNG that claims 4294967295 x 4294967295',
      png(head({ width: 2 ** 32 - 1, height: 2 ** 32 - 1 }), fits, END),
    ),
    refused(
      'a PNG longer than any camera makes',
      png(head({ width: 30_001, height: 1 }), idat(rows(30_001, 1)), END),
    ),
    refused('a PNG that claims more rows than it has', png(head({ width: 8, height: 80 }), fits, END)),
    refused('a PNG of no width', png(head({ width: 0, height: 8 }), fits, END)),
    refused('a PNG of no height', png(head({ width: 8, height: 0 }), fits, END)),
    refused('a PNG with 3 bits', png(head({ width: 8, height: 8, bits: 3 }), fits, END)),
    refused('a PNG of an unknown colour type', png(head({ width: 8, height: 8, colour: 5 }), fits, END)),
    refused('a PNG with an unknown filter method', png(head({ width: 8, height: 8, filter: 9 }), fits, END)),
    refused('a PNG with an unknown interlace', png(head({ width: 8, height: 8, interlace: 7 }), fits, END)),
    refused('a PNG without a head', png(fits, END)),
    refused('a PNG without pixels', png(head({ width: 8, height: 8 }), END)),
    refused(
      'a PNG with a palette type and no palette',
      png(head({ width: 8, height: 8, colour: 3 }), idat(Buffer.alloc(72)), END),
    ),
    refused(
      'a PNG whose pixels are no compressed data',
      png(head({ width: 8, height: 8 }), chunk('IDAT', noise(99)), END),
    ),
    refused('a PNG with a wrong checksum over its pixels', bad),
    refused('a PNG with a wrong checksum over its head', badSum),
    refused(
      'a PNG with a part longer than the file',
      png(head({ width: 8, height: 8 }), Buffer.from('7fffffff49444154', 'hex')),
    ),
    refused(
      'a PNG whose rows name unknown filters',
      png(head({ width: 8, height: 8 }), idat(Buffer.alloc(200, 77)), END),
    ),
    right(
      'a PNG with a comment that grows ten thousand times',
      png(head({ width: 8, height: 8 }), comment(20_000_000), fits, END),
      { widthPx: 8, heightPx: 8, at: [[3, 3, 0, 0]] },
    ),
  ];
}

type Tag = readonly [tag: number, type: 3 | 4, value: number];
/** The smallest grey TIFF; later tags of the same number win. */
function tiff(
  width: number,
  height: number,
  samples: Buffer,
  changes: readonly Tag[] = [],
  next = 0,
): Buffer {
  const tags = new Map<number, Tag>();
  const given: Tag[] = [
    [256, 4, width],
    [257, 4, height],
    [258, 3, 8],
    [259, 3, 1],
    [262, 3, 1],
    [273, 4, 8],
    [277, 3, 1],
    [278, 4, height],
    [279, 4, samples.length],
    ...changes,
  ];
  for (const tag of given) tags.set(tag[0], tag);
  const sorted = [...tags.values()].toSorted((a, b) => a[0] - b[0]);
  const at = 8 + samples.length + (samples.length % 2);
  const file = Buffer.alloc(at + 2 + sorted.length * 12 + 4);
  file.write('II*\0', 0, 'latin1');
  file.writeUInt32LE(at, 4);
  file.set(samples, 8);
  file.writeUInt16LE(sorted.length, at);
  sorted.forEach(([tag, type, value], i) => {
    const entry = at + 2 + i * 12;
    file.writeUInt16LE(tag, entry);
    file.writeUInt16LE(type, entry + 2);
    file.writeUInt32LE(1, entry + 4);
    if (type === 3) file.writeUInt16LE(value, entry + 8);
    else file.writeUInt32LE(value, entry + 8);
  });
  file.writeUInt32LE(next === -1 ? at : next, file.length - 4);
  return file;
}

function lyingTiffs(): Odd[] {
  const grey = Buffer.alloc(64, 90);
  const good: Right = { widthPx: 8, heightPx: 8, at: [[3, 3, 90, 0]] };
  return [
    right('the smallest TIFF', tiff(8, 8, grey), good),
    refused('a TIFF whose list of pictures goes round in a circle', tiff(8, 8, grey, [], -1)),
    refused('a TIFF that claims 30000 x 30000', tiff(30_000, 30_000, grey)),
    refused('a TIFF that claims 4294967295 rows', tiff(8, 2 ** 32 - 1, grey)),
    refused('a TIFF of no width', tiff(0, 8, grey)),
    refused('a TIFF of no height', tiff(8, 0, grey)),
    refused('a TIFF whose pixels lie behind its end', tiff(8, 8, grey, [[273, 4, 1_000_000]])),
    refused('a TIFF that promises more pixels than it has', tiff(8, 800, grey)),
    refused('a TIFF of an unknown compression', tiff(8, 8, grey, [[259, 3, 4711]])),
    refused('a TIFF with compressed pixels that are none', tiff(8, 8, grey, [[259, 3, 8]])),
    refused('a TIFF with 32 bits', tiff(8, 8, Buffer.alloc(256, 1), [[258, 3, 32]])),
    refused(
      'a TIFF with fractions',
      tiff(8, 8, Buffer.alloc(256, 1), [
        [258, 3, 32],
        [339, 3, 3],
      ]),
    ),
    refused('a TIFF with signed numbers', tiff(8, 8, grey, [[339, 3, 2]])),
    refused(
      'a TIFF with complex numbers',
      tiff(8, 8, Buffer.alloc(512, 1), [
        [258, 3, 64],
        [339, 3, 6],
      ]),
    ),
    refused('a TIFF with twenty samples a pixel', tiff(8, 8, Buffer.alloc(1280, 9), [[277, 3, 20]])),
    refused('a TIFF with its list of tags behind its end', Buffer.from('49492a00ffffff7f', 'hex')),
    refused('a BigTIFF and nothing more', Buffer.from('49492b000800000000', 'hex')),
  ];
}

/** Bytes of a JPEG with the frame header found and changed. */
async function lyingJpegs(): Promise<Odd[]> {
  const good = Buffer.from(await steppedImage(3).jpeg({ quality: 95 }).toBuffer());
  const frame = good.indexOf(Buffer.from([0xff, 0xc0]));
  const changed = (work: (copy: Buffer) => void): Buffer => {
    const copy = Buffer.from(good);
    work(copy);
    return copy;
  };
  const scan = good.indexOf(Buffer.from([0xff, 0xda]));
  const exif = (orientation: number): Promise<Buffer> =>
    steppedImage()
      .withMetadata({ orientation: 1 })
      .jpeg({ quality: 95 })
      .toBuffer()
      .then((bytes) => {
        const copy = Buffer.from(bytes);
        // Tag 0x0112, one short, in either byte order.
        const little = copy.indexOf(Buffer.from('12010300010000000100', 'hex'));
        const big = copy.indexOf(Buffer.from('0112000300000001', 'hex'));
        if (little < 0 && big < 0) throw new Error('exif: no orientation in the file');
        if (little >= 0) copy.writeUInt16LE(orientation, little + 8);
        else copy.writeUInt16BE(orientation, big + 8);
        return copy;
      });
  return [
    refused(
      'a JPEG that claims 65500 x 65500',
      changed((copy) => copy.writeUInt32BE(0xffdcffdc, frame + 5)),
    ),
    refused(
      'a JPEG that claims twice its rows',
      changed((copy) => copy.writeUInt16BE(H * 2, frame + 5)),
    ),
    refused(
      'a JPEG of no width',
      changed((copy) => copy.writeUInt16BE(0, frame + 7)),
    ),
    refused(
      'a JPEG with no components',
      changed((copy) => void (copy[frame + 9] = 0)),
    ),
    refused(
      'a JPEG with 200 components',
      changed((copy) => void (copy[frame + 9] = 200)),
    ),
    refused(
      'a JPEG with 12 bits in an 8-bit frame',
      changed((copy) => void (copy[frame + 4] = 12)),
    ),
    refused(
      'a JPEG of an arithmetic kind that is none',
      changed((copy) => void (copy[frame + 1] = 0xcb)),
    ),
    refused('a JPEG without its pixels', good.subarray(0, scan)),
    refused('a JPEG without its end', good.subarray(0, good.length - 2)),
    refused('a JPEG behind other bytes', Buffer.concat([Buffer.from('hello'), good])),
    right('a JPEG with other bytes behind it', Buffer.concat([good, noise(500)])),
    right(
      'a JPEG with an archive behind it',
      Buffer.concat([good, Buffer.from('PK\u0003\u0004'), noise(99)]),
    ),
    right('a JPEG with orientation 9', await exif(9)),
    right('a JPEG with orientation 0', await exif(0)),
    right('a JPEG with orientation 65535', await exif(65_535)),
  ];
}

async function lyingWebps(): Promise<Odd[]> {
  const good = Buffer.from(await steppedImage(3).webp({ lossless: true }).toBuffer());
  const changed = (at: number, ...values: number[]): Buffer => {
    const copy = Buffer.from(good);
    copy.set(values, at);
    return copy;
  };
  return [
    refused('a WebP whose pixels are noise', Buffer.concat([good.subarray(0, 25), noise(400)])),
    refused('a WebP of an unknown kind', changed(12, 0x58, 0x58, 0x58, 0x58)),
    refused('a WebP that is a sound file', changed(8, 0x57, 0x41, 0x56, 0x45)),
    refused('a WebP with a wrong mark', changed(20, 0)),
  ];
}

async function bombs(maxPixels: number): Promise<Odd[]> {
  const side = Math.ceil(Math.sqrt(maxPixels)) + 1;
  const flat = (width: number, height: number) =>
    sharp({ create: { width, height, channels: 3, background: '#000' }, limitInputPixels: false });
  return [
    refused('a PNG bomb', await flat(side, side).png({ compressionLevel: 9 }).toBuffer()),
    refused('a TIFF bomb', await flat(side, side).tiff({ compression: 'deflate' }).toBuffer()),
    refused('a JPEG bomb', await flat(side, side).jpeg().toBuffer()),
    refused('a progressive JPEG bomb', await flat(side, side).jpeg({ progressive: true }).toBuffer()),
    refused('a WebP bomb', await flat(16_000, 4_100).webp({ lossless: true, effort: 0 }).toBuffer()),
    refused(
      'a PNG bomb inside a bomb',
      png(
        head({ width: 20_000, height: 20_000 }),
        chunk('IDAT', deflateRawSync(deflateSync(Buffer.alloc(5_000_000)))),
        END,
      ),
    ),
  ];
}

async function oddButRight(): Promise<Odd[]> {
  const deep = Uint16Array.from(stepped(1), (value) => value * 257);
  const deepImage = sharp(deep, { raw: { width: W, height: H, channels: 1 } }).toColourspace('grey16');
  const withAlpha = (alpha: number): Sharp => steppedImage(3).ensureAlpha(alpha);
  const cmyk = steppedImage(3).toColourspace('cmyk');
  const loose: Right = { ...AS_MADE, at: AS_MADE.at!.map(([x, y, level]) => [x, y, level, 30] as const) };
  const frames = Buffer.concat([stepped(3), Buffer.alloc(W * H * 3, 7)]);
  const paged = (): Sharp => sharp(frames, { raw: { width: W, height: 2 * H, channels: 3, pageHeight: H } });
  const several: Right = { ...AS_MADE, warning: 'several-pages' };
  const tiny = (width: number, height: number, level: number): Sharp =>
    sharp(Buffer.alloc(width * height, level), { raw: { width, height, channels: 1 } }).toColourspace('b-w');
  return [
    right('a grey JPEG', await steppedImage().jpeg({ quality: 95 }).toBuffer()),
    right('a colour JPEG', await steppedImage(3).jpeg({ quality: 95 }).toBuffer()),
    right('a progressive JPEG', await steppedImage(3).jpeg({ quality: 95, progressive: true }).toBuffer()),
    right(
      'a JPEG without subsampling',
      await steppedImage(3).jpeg({ chromaSubsampling: '4:4:4' }).toBuffer(),
    ),
    right('an interlaced PNG', await steppedImage(3).png({ progressive: true }).toBuffer()),
    right('a PNG with a palette', await steppedImage(3).png({ palette: true }).toBuffer()),
    right('a 16-bit PNG', await deepImage.clone().png().toBuffer()),
    right('a 16-bit TIFF', await deepImage.clone().tiff().toBuffer()),
    right('a TIFF with LZW', await steppedImage(3).tiff({ compression: 'lzw' }).toBuffer()),
    right(
      'a TIFF in tiles',
      await steppedImage(3).tiff({ tile: true, tileWidth: 32, tileHeight: 32 }).toBuffer(),
    ),
    right(
      'a TIFF with a JPEG inside',
      await steppedImage(3).tiff({ compression: 'jpeg', quality: 95 }).toBuffer(),
    ),
    right('a CMYK JPEG', await cmyk.clone().jpeg({ quality: 100 }).toBuffer(), {
      ...loose,
      warning: 'print-colours',
    }),
    right('a CMYK TIFF', await cmyk.clone().tiff().toBuffer(), { ...loose, warning: 'print-colours' }),
    right('a PNG with an opaque alpha channel', await withAlpha(1).png().toBuffer()),
    right('a WebP with an opaque alpha channel', await withAlpha(1).webp({ lossless: true }).toBuffer()),
    refused('a PNG with transparent parts', await withAlpha(0.5).png().toBuffer()),
    refused('a WebP with transparent parts', await withAlpha(0.5).webp({ lossless: true }).toBuffer()),
    refused(
      'a TIFF with transparent parts',
      await withAlpha(0.5).tiff({ compression: 'deflate' }).toBuffer(),
    ),
    right('an animated WebP', await paged().webp({ lossless: true, loop: 0 }).toBuffer(), several),
    right('a TIFF of two pages', await paged().tiff().toBuffer(), several),
    right('a PNG of one pixel', await tiny(1, 1, 77).png().toBuffer(), {
      widthPx: 1,
      heightPx: 1,
      at: [[0, 0, 77, 0]],
    }),
    right('a PNG of one row', await tiny(5000, 1, 77).png().toBuffer(), {
      widthPx: 5000,
      heightPx: 1,
      at: [[4999, 0, 77, 0]],
    }),
    right(
      'a JPEG in sRGB with its profile',
      await steppedImage(3).withIccProfile('srgb').jpeg({ quality: 95 }).toBuffer(),
    ),
    right(
      'a JPEG in a wide colour space',
      await steppedImage(3).withIccProfile('p3').jpeg({ quality: 95 }).toBuffer(),
    ),
  ];
}

/** All of them, in a fixed order. */
export async function corpus(options: { maxPixels: number; reach: string }): Promise<Odd[]> {
  return [
    ...(await truncations()),
    ...(await orientations()),
    ...(await wrongNames()),
    ...otherKinds(options.reach),
    ...lyingPngs(),
    ...lyingTiffs(),
    ...(await lyingJpegs()),
    ...(await lyingWebps()),
    ...(await bombs(options.maxPixels)),
    ...(await oddButRight()),
  ];
}
