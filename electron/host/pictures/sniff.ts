/** What a file is by its first bytes; its name is never asked. */
export const MEDIA_TYPES = ['image/jpeg', 'image/png', 'image/tiff', 'image/webp'] as const;
export type MediaType = (typeof MEDIA_TYPES)[number];

const ascii = (bytes: Uint8Array, from: number, to: number): string =>
  String.fromCharCode(...bytes.subarray(from, to));

const startsWith = (bytes: Uint8Array, ...head: number[]): boolean =>
  bytes.byteLength >= head.length && head.every((value, i) => bytes[i] === value);

export function mediaTypeOf(bytes: Uint8Array): MediaType | null {
  if (startsWith(bytes, 0xff, 0xd8, 0xff)) return 'image/jpeg';
  if (startsWith(bytes, 0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return 'image/png';
  // 42 is classic TIFF, 43 BigTIFF.
  if (startsWith(bytes, 0x49, 0x49, 0x2a, 0) || startsWith(bytes, 0x49, 0x49, 0x2b, 0)) return 'image/tiff';
  if (startsWith(bytes, 0x4d, 0x4d, 0, 0x2a) || startsWith(bytes, 0x4d, 0x4d, 0, 0x2b)) return 'image/tiff';
  if (ascii(bytes, 0, 4) === 'RIFF' && ascii(bytes, 8, 12) === 'WEBP') return 'image/webp';
  return null;
}

/** A name for what it is instead, where that helps the person; null when it is anybody's guess. */
export function otherKindOf(bytes: Uint8Array): string | null {
  if (ascii(bytes, 0, 3) === 'GIF') return 'a GIF';
  if (ascii(bytes, 0, 2) === 'BM') return 'a Windows bitmap';
  if (ascii(bytes, 0, 4) === '%PDF') return 'a PDF document';
  if (ascii(bytes, 0, 2) === 'PK') return 'an archive';
  if (ascii(bytes, 4, 8) === 'ftyp') {
    const brand = ascii(bytes, 8, 12);
    if (/^(hei|hev|mif|msf)/.test(brand)) return 'a HEIC picture';
    return brand.startsWith('avif') ? 'an AVIF picture' : 'a film';
  }
  const text = ascii(bytes, 0, 512).trimStart().toLowerCase();
  if (text.startsWith('<svg') || text.startsWith('<?xml')) return 'a drawing or XML text';
  if (text.startsWith('<!doctype html') || text.startsWith('<html')) return 'a web page';
  return null;
}
