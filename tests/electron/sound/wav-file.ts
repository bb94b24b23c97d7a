/** WAV files made by hand, byte by byte, so that the reader is not tested with a writer of its own kind. */
export type WavMake = {
  readonly sampleRate?: number;
  readonly channels: readonly ArrayLike<number>[];
  readonly format?: 'int16' | 'int24' | 'int32' | 'float32' | 'float64';
  readonly extensible?: boolean;
  /** Chunks in front of the samples: name of four letters and bytes. */
  readonly before?: readonly (readonly [string, Uint8Array])[];
  /** What the head of the samples states, instead of the truth. */
  readonly statedDataLength?: number;
};

export function wavFile(make: WavMake): Uint8Array<ArrayBuffer> {
  const { sampleRate = 48_000, channels, format = 'int16', extensible = false, before = [] } = make;
  const each = { int16: 2, int24: 3, int32: 4, float32: 4, float64: 8 }[format];
  const frames = channels[0].length;
  const data = Buffer.alloc(frames * channels.length * each);
  for (let n = 0, at = 0; n < frames; n++)
    for (const channel of channels) {
      const x = channel[n];
      if (format === 'float32') data.writeFloatLE(x, at);
      else if (format === 'float64') data.writeDoubleLE(x, at);
      else {
        const full = 2 ** (8 * each - 1);
        const whole = Math.max(-full, Math.min(full - 1, Math.round(x * full)));
        data.writeIntLE(whole, at, each);
      }
      at += each;
    }
  const fmt = Buffer.alloc(extensible ? 40 : 16);
  const tag = format.startsWith('float') ? 3 : 1;
  fmt.writeUInt16LE(extensible ? 0xfffe : tag, 0);
  fmt.writeUInt16LE(channels.length, 2);
  fmt.writeUInt32LE(sampleRate, 4);
  fmt.writeUInt32LE(sampleRate * channels.length * each, 8);
  fmt.writeUInt16LE(channels.length * each, 12);
  fmt.writeUInt16LE(8 * each, 14);
  if (extensible) {
    fmt.writeUInt16LE(22, 16);
    fmt.writeUInt16LE(8 * each, 18);
    fmt.writeUInt32LE(channels.length === 2 ? 3 : 4, 20);
    Buffer.from([tag, 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71]).copy(fmt, 24);
  }
  const chunk = (id: string, bytes: Uint8Array, stated = bytes.byteLength): Buffer => {
    const head = Buffer.alloc(8);
    head.write(id, 0, 'latin1');
    head.writeUInt32LE(stated, 4);
    return Buffer.concat([head, bytes, Buffer.alloc(bytes.byteLength & 1)]);
  };
  const body = Buffer.concat([
    Buffer.from('WAVE'),
    chunk('fmt ', fmt),
    ...before.map(([id, bytes]) => chunk(id, bytes)),
    chunk('data', data, make.statedDataLength ?? data.byteLength),
  ]);
  const riff = Buffer.alloc(8);
  riff.write('RIFF', 0, 'latin1');
  riff.writeUInt32LE(body.byteLength, 4);
  return new Uint8Array(Buffer.concat([riff, body]));
}
