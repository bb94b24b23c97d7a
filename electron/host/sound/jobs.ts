import { comparePassages, measureTone } from '../../../core/listening/index.ts';
import type { Control } from '../../../core/index.ts';
import { answer, refuse } from '../../../shared/index.ts';
import type { Outcome, PassageReport, SoundReason, ToneReport } from '../../../shared/index.ts';
import type { PictureSource } from '../engine-protocol.ts';
import { bytesOf } from '../pictures/source.ts';
import { readWav, type WavSound } from './wav.ts';

/** What the measuring thread does with sound. A file that cannot be read is an answer with a reason, never a throw. */
export type InspectedSound = {
  readonly sampleRate: number;
  readonly channelCount: number;
  readonly bits: number;
  readonly float: boolean;
  readonly seconds: number;
  readonly peakDb: number;
  readonly warnings: readonly string[];
};
export type ToneJob = {
  readonly source: PictureSource;
  readonly nominalHz: number;
  readonly cutOn: 'both' | 'left' | 'right';
};
export type PassageJob = { readonly earlier: PictureSource; readonly later: PictureSource };

type Read =
  { readonly ok: true; readonly value: WavSound } | { readonly ok: false; readonly reason: SoundReason };

async function soundOf(source: PictureSource): Promise<Read> {
  const bytes = await bytesOf(source);
  const unreadable = (message: string): Read => ({
    ok: false,
    reason: { code: 'unreadable-sound', message },
  });
  if (!bytes.ok) return unreadable(bytes.reason.message);
  const read = readWav(bytes.value);
  return read.ok ? read : unreadable(read.sentence);
}

export async function inspectSound({
  source,
}: {
  readonly source: PictureSource;
}): Promise<Outcome<InspectedSound>> {
  const read = await soundOf(source);
  if (!read.ok) return refuse('unreadable-image', read.reason.message);
  const { channels, sampleRate, bits, float, warnings } = read.value;
  let peak = 0;
  for (const channel of channels) for (const x of channel) peak = Math.max(peak, Math.abs(x));
  return answer({
    sampleRate,
    channelCount: channels.length,
    bits,
    float,
    seconds: channels[0].length / sampleRate,
    peakDb: 20 * Math.log10(Math.max(peak, 1e-9)),
    warnings: peak >= 0.999 ? [...warnings, CLIPPED] : warnings,
  });
}

const CLIPPED = 'The recording reaches full scale: it may be clipped. Record with a lower level.';

export async function toneJob(job: ToneJob, control: Control): Promise<Outcome<ToneReport>> {
  control.progress('Reading the recording', 0);
  const sound = await soundOf(job.source);
  if (!sound.ok) return answer(sound);
  const { nominalHz, cutOn } = job;
  return answer(measureTone({ sound: sound.value, nominalHz, cutOn }, control));
}

/** Longer ones say no more about the treble, and take minutes. */
const MOST_SECONDS = 120;

const shortened = ({ sampleRate, channels }: WavSound) => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, MOST_SECONDS * sampleRate)),
});

export async function passageJob(job: PassageJob, control: Control): Promise<Outcome<PassageReport>> {
  control.progress('Reading the recordings', 0);
  const earlier = await soundOf(job.earlier);
  if (!earlier.ok) return answer(earlier);
  control.check();
  const later = await soundOf(job.later);
  if (!later.ok) return answer(later);
  return answer(
    comparePassages({ before: shortened(earlier.value), after: shortened(later.value) }, control),
  );
}
