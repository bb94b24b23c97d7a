import { grouped } from '../../../shared/number-words.ts';

/**
 * Reads WAV files (RIFF/WAVE; Microsoft, Multiple Channel Audio Data and WAVE Files, 2007, for the extensible form). An own
 * reader, because the libraries at hand are unmaintained and believe the lengths that a file states; nothing here is read,
 * skipped or allocated on the word of a header alone.
 */
export type WavSound = {
  readonly sampleRate: number;
  /** -1..1 for whole numbers; floats as they stand. */
  readonly channels: readonly Float64Array[];
  readonly bits: number;
  readonly float: boolean;
  readonly warnings: readonly string[];
};
export type WavOutcome =
  { readonly ok: true; readonly value: WavSound } | { readonly ok: false; readonly sentence: string };

/** Samples of all channels together: five minutes of stereo at 48 kHz, 240 MB once they are numbers. */
export const MOST_SAMPLES = 30_000_000;
const RATES = [8_000, 384_000] as const;

const no = (sentence: string): { readonly ok: false; readonly sentence: string } => ({ ok: false, sentence });

type Chunk = { readonly id: string; readonly from: number; readonly length: number; readonly stated: number };

const textAt = (view: DataView, at: number): string =>
  String.fromCharCode(...[0, 1, 2, 3].map((i) => view.getUint8(at + i)));

/** Chunks as far as the file really goes; what a chunk states beyond that is cut, and remembered. */
function chunksOf(view: DataView): Chunk[] {
  const chunks: Chunk[] = [];
  let at = 12;
  // A thousand small chunks are already no recording that a converter wrote.
  while (at + 8 <= view.byteLength && chunks.length < 1000) {
    const stated = view.getUint32(at + 4, true);
    const from = at + 8;
    const length = Math.min(stated, view.byteLength - from);
    chunks.push({ id: textAt(view, at), from, length, stated });
    at = from + stated + (stated & 1);
  }
  return chunks;
}

type Format = {
  readonly float: boolean;
  readonly channelCount: number;
  readonly sampleRate: number;
  readonly bytesEach: number;
  readonly bits: number;
};

const PCM = 1;
const FLOAT = 3;
const EXTENSIBLE = 0xfffe;
/** The rest of a sub-format that stands for one of the plain tags: 0000-0010-8000-00AA00389B71. */
const PLAIN_TAG_TAIL = [0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xaa, 0x00, 0x38, 0x9b, 0x71];

function formatOf(
  view: DataView,
  chunk: Chunk,
): { readonly ok: true; readonly value: Format } | { readonly ok: false; readonly sentence: string } {
  if (chunk.length < 16)
    return no(
      'The head of the sound file is cut short. Export it again as WAV from the program it came from.',
    );
  const at = chunk.from;
  let tag = view.getUint16(at, true);
  const channelCount = view.getUint16(at + 2, true);
  const sampleRate = view.getUint32(at + 4, true);
  const blockAlign = view.getUint16(at + 12, true);
  const container = view.getUint16(at + 14, true);
  let bits = container;
  if (tag === EXTENSIBLE) {
    if (chunk.length < 40)
      return no(
        'The head of the sound file is cut short. Export it again as WAV from the program it came from.',
      );
    const valid = view.getUint16(at + 18, true);
    tag = view.getUint16(at + 24, true);
    if (!PLAIN_TAG_TAIL.every((byte, i) => view.getUint8(at + 26 + i) === byte)) tag = 0;
    if (valid > 0 && valid <= container) bits = valid;
  }
  if (tag !== PCM && tag !== FLOAT)
    return no('The sound is compressed. Export it as plain WAV: 16 or 24 bits, or 32-bit float.');
  const allowed = tag === FLOAT ? [32, 64] : [16, 24, 32];
  if (!allowed.includes(container))
    return no(
      `The sound has ${container} bits for each sample. Export it with 16, 24 or 32 bits, or as 32-bit float.`,
    );
  if (channelCount < 1 || channelCount > 2)
    return no(`The file has ${channelCount} channels. Export the left and the right one as a stereo file.`);
  if (sampleRate < RATES[0] || sampleRate > RATES[1])
    return no(
      `The file states ${grouped(sampleRate)} samples a second, which no converter gives. Export it again, with ${grouped(44_100)} or ${grouped(48_000)}.`,
    );
  if (blockAlign !== (channelCount * container) / 8)
    return no('The head of the sound file contradicts itself. Export it again as WAV.');
  return {
    ok: true,
    value: { float: tag === FLOAT, channelCount, sampleRate, bytesEach: container / 8, bits },
  };
}

function readSample(view: DataView, at: number, { float, bytesEach }: Format): number {
  if (float) return bytesEach === 4 ? view.getFloat32(at, true) : view.getFloat64(at, true);
  if (bytesEach === 2) return view.getInt16(at, true) / 2 ** 15;
  if (bytesEach === 4) return view.getInt32(at, true) / 2 ** 31;
  return ((view.getInt8(at + 2) << 16) | view.getUint16(at, true)) / 2 ** 23;
}

const OTHERS: readonly [test: (head: string) => boolean, sentence: string][] = [
  [(head) => head.startsWith('RF64') || head.startsWith('BW64'), 'a WAV of the 64-bit kind'],
  [(head) => head.startsWith('RIFX'), 'a WAV with its bytes in the other order'],
  [(head) => head.startsWith('fLaC'), 'a FLAC file'],
  [(head) => head.startsWith('OggS'), 'an Ogg file'],
  [(head) => head.startsWith('FORM'), 'an AIFF file'],
  [(head) => head.startsWith('ID3') || /^\u00ff[\u00fb\u00f3\u00f2]/.test(head), 'an MP3 file'],
  [(head) => head.slice(4, 8) === 'ftyp', 'an MPEG-4 file'],
];

/** Refuses with a sentence whatever is not a plain recording in one or two channels. */
export function readWav(bytes: Uint8Array): WavOutcome {
  if (bytes.byteLength === 0) return no('The file is empty. Copy or export it again.');
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const head = bytes.byteLength >= 12 ? textAt(view, 0) + textAt(view, 4) + textAt(view, 8) : '';
  if (!head.startsWith('RIFF') || head.slice(8, 12) !== 'WAVE') {
    const kind = OTHERS.find(([test]) => test(head))?.[1] ?? 'not a WAV recording';
    return no(`The file is ${kind}. Export it as WAV: 16 or 24 bits, or 32-bit float.`);
  }
  const chunks = chunksOf(view);
  const fmt = chunks.find((chunk) => chunk.id === 'fmt ');
  const data = chunks.find((chunk) => chunk.id === 'data');
  if (fmt === undefined || data === undefined)
    return no('The sound file holds no samples, or nothing that says what they are. Export it again as WAV.');
  if (fmt.from > data.from)
    return no('The parts of the sound file stand in the wrong order. Export it again as WAV.');
  const format = formatOf(view, fmt);
  return format.ok ? samplesOf(view, format.value, data) : format;
}

/** Recorders that write while they record leave a length of 0 or of all ones: the samples then go to the end. */
const OPEN_LENGTHS = new Set([0, 0xffff_ffff]);

function samplesOf(view: DataView, format: Format, data: Chunk): WavOutcome {
  const { channelCount, bytesEach, sampleRate, float, bits } = format;
  const open = OPEN_LENGTHS.has(data.stated);
  const length = open ? view.byteLength - data.from : data.length;
  const frame = channelCount * bytesEach;
  const frames = Math.floor(length / frame);
  if (frames === 0) return no('The sound file holds no samples. Record the passage again.');
  if (!open && data.stated > data.length)
    return no(
      `The recording is cut short: ${Math.round((100 * data.length) / data.stated)} % of it is there. Copy it again from where it was recorded.`,
    );
  if (frames * channelCount > MOST_SAMPLES)
    return no(
      `The recording is longer than ${Math.floor(MOST_SAMPLES / channelCount / sampleRate / 60)} minutes. Cut out the passage or the test band, from just before to just after it.`,
    );
  const channels = Array.from({ length: channelCount }, () => new Float64Array(frames));
  for (let n = 0, at = data.from; n < frames; n++)
    for (let c = 0; c < channelCount; c++, at += bytesEach) channels[c][n] = readSample(view, at, format);
  if (float && channels.some((channel) => channel.some((x) => !(Math.abs(x) < 1e6))))
    return no('The recording holds samples that are no numbers. Export it again as WAV.');
  const warnings = open ? ['The file does not say how long it is; everything up to its end was taken.'] : [];
  return { ok: true, value: { sampleRate, channels, bits, float, warnings } };
}
