import { crc32, deflateRawSync } from 'node:zlib';

/**
 * ZIP files byte by byte (PKWARE's APPNOTE 4.3), so that a test can make one lie about everything. What is not given
 * is told truly.
 */
export type RawFile = {
  readonly name: string | Uint8Array;
  readonly data: Uint8Array;
  readonly method?: number;
  /** What stands in for the packed data. */
  readonly packed?: Uint8Array;
  readonly localName?: string;
  readonly localMethod?: number;
  readonly crc?: number;
  readonly compressedSize?: number;
  readonly uncompressedSize?: number;
  readonly flags?: number;
  readonly madeBy?: number;
  /** Unix mode, in the upper half of the external attributes. */
  readonly mode?: number;
  /** Where the directory says that the file begins. */
  readonly offset?: number;
  readonly extra?: Uint8Array;
};
export type RawOptions = {
  readonly entryCount?: number;
  readonly disk?: number;
  readonly directoryOffset?: number;
  readonly comment?: Uint8Array;
  readonly commentLength?: number;
  /** Adds a zip64 end record that says this. */
  readonly zip64?: { readonly entryCount: bigint; readonly directoryOffset?: bigint };
};

const u16 = (value: number): Buffer => {
  const bytes = Buffer.alloc(2);
  bytes.writeUInt16LE(value & 0xffff);
  return bytes;
};
const u32 = (value: number): Buffer => {
  const bytes = Buffer.alloc(4);
  bytes.writeUInt32LE(value >>> 0);
  return bytes;
};
const u64 = (value: bigint): Buffer => {
  const bytes = Buffer.alloc(8);
  bytes.writeBigUInt64LE(value);
  return bytes;
};

const raw = (name: string | Uint8Array): Buffer => Buffer.from(name as string);

export const DEFLATED = 8;
export const LINK_MODE = 0o120777;
const UTF8_FLAG = 0x800;

type Told = { readonly local: Buffer; readonly central: (offset: number) => Buffer };

function tell(file: RawFile): Told {
  const method = file.method ?? 0;
  const packed = file.packed ?? (method === DEFLATED ? deflateRawSync(file.data) : file.data);
  const sizes = [
    u32(file.crc ?? crc32(file.data)),
    u32(file.compressedSize ?? packed.byteLength),
    u32(file.uncompressedSize ?? file.data.byteLength),
  ];
  const flags = u16(file.flags ?? UTF8_FLAG);
  const name = raw(file.name);
  const localName = file.localName === undefined ? name : raw(file.localName);
  const local = Buffer.concat([
    u32(0x04034b50),
    u16(20),
    flags,
    u16(file.localMethod ?? method),
    u16(0),
    u16(0x21),
    ...sizes,
    u16(localName.length),
    u16(0),
    localName,
    packed,
  ]);
  const extra = file.extra ?? new Uint8Array();
  const central = (offset: number) =>
    Buffer.concat([
      u32(0x02014b50),
      u16(file.madeBy ?? (3 << 8) | 20),
      u16(20),
      flags,
      u16(method),
      u16(0),
      u16(0x21),
      ...sizes,
      u16(name.length),
      u16(extra.length),
      u16(0),
      u16(0),
      u16(0),
      u32(((file.mode ?? 0o100644) << 16) >>> 0),
      u32(file.offset ?? offset),
      name,
      extra,
    ]);
  return { local, central };
}

export function rawZip(files: readonly RawFile[], options: RawOptions = {}): Buffer {
  const told = files.map(tell);
  let at = 0;
  const offsets = told.map(({ local }) => {
    const offset = at;
    at += local.length;
    return offset;
  });
  const directory = Buffer.concat(told.map(({ central }, i) => central(offsets[i])));
  const end = at + directory.length;
  const { zip64 } = options;
  const zip64End = zip64
    ? [
        u32(0x06064b50),
        u64(44n),
        u16(45),
        u16(45),
        u32(0),
        u32(0),
        u64(zip64.entryCount),
        u64(zip64.entryCount),
        u64(BigInt(directory.length)),
        u64(zip64.directoryOffset ?? BigInt(at)),
        u32(0x07064b50),
        u32(0),
        u64(BigInt(end)),
        u32(1),
      ]
    : [];
  const comment = options.comment ?? new Uint8Array();
  return Buffer.concat([
    ...told.map(({ local }) => local),
    directory,
    ...zip64End,
    u32(0x06054b50),
    u16(options.disk ?? 0),
    u16(0),
    u16(options.entryCount ?? files.length),
    u16(options.entryCount ?? files.length),
    u32(directory.length),
    u32(options.directoryOffset ?? at),
    u16(options.commentLength ?? comment.length),
    comment,
  ]);
}

/** The zip64 extra field with sizes of 64 bits, as the directory of a huge file has it. */
export const zip64Sizes = (uncompressed: bigint, compressed: bigint): Buffer =>
  Buffer.concat([u16(1), u16(16), u64(uncompressed), u64(compressed)]);
