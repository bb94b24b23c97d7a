import { grouped } from '../../shared/number-words.ts';
import type { Measured, ToneChannel, ToneReport, ToneResult, Warning } from '../../shared/index.ts';
import { limitFrom, segmentBorders, segmentLevels, type SegmentLevels } from './harmonics.ts';
import { decibels, meanOf, METHOD_DB, METHOD_SHARE, widened } from './statistics.ts';
import { findTone, frequencyOf, steadyStretch, trackTone } from './track.ts';

/** One or two channels of decoded sound, -1..1, the same number of samples each. */
export type Sound = { readonly sampleRate: number; readonly channels: readonly Float64Array[] };

export type ToneQuestion = {
  readonly sound: Sound;
  /** What the record's label says, Hz. */
  readonly nominalHz: number;
  /** On which channels the band was cut. */
  readonly cutOn: 'both' | 'left' | 'right';
};
/** As everywhere in the core: `check` throws when the person cancelled. */
export type Listening = {
  readonly progress: (stage: string, fraction: number) => void;
  readonly check: () => void;
};

const LEAST_CYCLES = 400;
const MOST_SECONDS = 60;
const CHANNEL_NAMES = { one: ['mono'], two: ['left', 'right'] } as const;
const no = (
  code: (ToneReport & { ok: false })['reason']['code'],
  message: string,
): ToneReport & { ok: false } => ({
  ok: false,
  reason: { code, message },
});

/** The middle minute: a longer recording says no more about a steady tone. */
function middle(channel: Float64Array, sampleRate: number): Float64Array {
  const most = MOST_SECONDS * sampleRate;
  if (channel.length <= most) return channel;
  const from = (channel.length - most) >> 1;
  return channel.subarray(from, from + most);
}

const rms = (signal: Float64Array): number =>
  Math.sqrt(signal.reduce((sum, x) => sum + x * x, 0) / Math.max(1, signal.length));

/**
 * Levels of the 2nd to 5th harmonic, THD, speed, wow, balance or separation from a recorded test tone. Every value is the
 * mean over segments of the recording and carries the repeatability of those segments; what the record, the arm and the
 * converter do to all segments alike is not in it, so only the change between two recordings speaks of the stylus.
 */
export function measureTone(question: ToneQuestion, control: Listening): ToneReport {
  const { sound, nominalHz, cutOn } = question;
  const { sampleRate } = sound;
  if (!(nominalHz > 20) || nominalHz * 2.2 > sampleRate / 2)
    return no(
      'tone-not-found',
      `A tone of ${grouped(nominalHz)} Hz and its harmonics do not fit into a recording of ${grouped(sampleRate)} samples a second. Record with ${grouped(44_100)} or more, or choose a lower tone.`,
    );
  const channels = sound.channels.map((channel) => middle(channel, sampleRate));
  const lead = leading(channels, cutOn);
  if (channels[lead].length < 0.5 * sampleRate)
    return no('too-short', 'The recording is shorter than half a second. Record at least five seconds.');
  if (rms(channels[lead]) < 1e-5)
    return no(
      'too-quiet',
      'The recording is silent. Check the input and its level, and record the band again.',
    );
  control.progress('Looking for the tone', 0.05);
  const found = findTone(channels[lead], sampleRate, nominalHz);
  if (found === null)
    return no(
      'tone-not-found',
      `No tone stands out within 10 % of ${grouped(nominalHz)} Hz. Choose the band that was recorded, or correct its frequency.`,
    );
  control.progress('Following its speed', 0.15);
  const track = trackTone(channels[lead], sampleRate, found, control.check);
  const steady = steadyStretch(track);
  const cycles = (track.phase[steady.to - 1] - track.phase[steady.from]) / (2 * Math.PI);
  if (!(cycles >= LEAST_CYCLES))
    return no(
      'too-short',
      `The tone holds its level for ${Math.max(0, Math.round(cycles))} cycles only; ${LEAST_CYCLES} are needed. Record ${Math.ceil((2 * LEAST_CYCLES) / nominalHz)} s or more of it.`,
    );
  const segments = Math.max(5, Math.min(12, Math.floor(cycles / 100)));
  if (cycles / segments < 50)
    return no('too-short', 'The tone is too short to be parted into segments. Record it longer.');
  const borders = segmentBorders(track.phase, steady.from, steady.to, segments);
  const highest = Math.min(5, Math.floor((0.48 * sampleRate) / found - 0.5));
  const levels = channels.map((channel, index) => {
    control.progress('Measuring the harmonics', 0.4 + (0.55 * index) / channels.length);
    return borders.slice(1).map((to, s) => {
      control.check();
      return segmentLevels(channel, track.from, track.phase, borders[s], to, highest);
    });
  });
  const { meanHz, wowPercent } = frequencyOf(track, sampleRate, steady.from, steady.to);
  const names = channels.length === 1 ? CHANNEL_NAMES.one : CHANNEL_NAMES.two;
  const quiet = cutOn !== 'both' && channels.length === 2 ? 1 - lead : -1;
  return {
    ok: true,
    value: {
      kind: 'tone',
      nominalHz,
      frequencyHz: meanHz,
      speedErrorPercent: 100 * (meanHz / nominalHz - 1),
      wowPercent,
      usedSeconds: (steady.to - steady.from) / sampleRate,
      segments,
      window: '4-term Blackman-Harris, side lobes 92 dB down',
      // The channel that was not driven has crosstalk only; its harmonics say nothing.
      channels: levels.flatMap((one, i) => (i === quiet ? [] : [channelOf(names[i], one)])),
      balanceDb: cutOn === 'both' && levels.length === 2 ? balanceOf(levels[0], levels[1]) : null,
      separationDb: quiet < 0 ? null : separationOf(levels[lead], levels[quiet], lead),
      warnings: warningsFor(channels, highest, wowPercent),
    },
  };
}

function leading(channels: readonly Float64Array[], cutOn: ToneQuestion['cutOn']): number {
  if (channels.length === 1 || cutOn === 'left') return 0;
  if (cutOn === 'right') return 1;
  return rms(channels[0]) >= rms(channels[1]) ? 0 : 1;
}

const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;
const share = (power: number): number => Math.sqrt(Math.max(0, power));

/** Amplitude share in per cent: root of the mean power, its uncertainty from the spread of the segments' powers. */
function percentOf(powers: readonly number[], limitShare: number): Measured {
  const { value, expanded } = meanOf(powers);
  const amplitude = share(value);
  // d sqrt(p) = dp / (2 sqrt(p)); below the limit the limit itself is the scale of what is not known.
  const repeated = (100 * expanded) / (2 * Math.max(amplitude, limitShare));
  return widened({ value: 100 * amplitude, expanded: repeated }, METHOD_SHARE * 100 * amplitude);
}

function channelOf(name: ToneChannel['name'], levels: readonly SegmentLevels[]): ToneChannel {
  const orders = levels[0].harmonics.map((_, i) => i);
  const harmonics = orders.map((i) => {
    const limit = limitFrom(mean(levels.map((one) => one.noise[i])), levels.length);
    const percent = percentOf(
      levels.map((one) => one.harmonics[i]),
      limit,
    );
    return { order: i + 2, percent, detected: percent.value / 100 > limit, limitPercent: 100 * limit };
  });
  const total = (one: readonly number[]): number => one.reduce((sum, p) => sum + p, 0);
  const limit = limitFrom(mean(levels.map((one) => total(one.noise))), levels.length);
  const thdPercent = percentOf(
    levels.map((one) => total(one.harmonics)),
    limit,
  );
  return {
    name,
    levelDb: widened(meanOf(levels.map((one) => decibels(one.fundamental))), METHOD_DB),
    harmonics,
    thdPercent,
    thdDetected: thdPercent.value / 100 > limit,
    thdLimitPercent: 100 * limit,
  };
}

const balanceOf = (left: readonly SegmentLevels[], right: readonly SegmentLevels[]): Measured =>
  widened(meanOf(left.map((one, s) => decibels(one.fundamental / right[s].fundamental))), METHOD_DB);

/** Noise at the place of the tone is in the quiet channel's level too: where it is most of it, the answer is "at least". */
function separationOf(
  driven: readonly SegmentLevels[],
  quiet: readonly SegmentLevels[],
  lead: number,
): NonNullable<ToneResult['separationDb']> {
  const ratios = quiet.map((one, s) => decibels(driven[s].fundamental / one.fundamental));
  const value = widened(meanOf(ratios), METHOD_DB);
  // `noise` is relative to this channel's own fundamental: near 1 the fundamental is nothing but noise.
  const atLeast = mean(quiet.map((one) => one.noise[0])) > 0.1;
  return { driven: lead === 0 ? 'left' : 'right', value, atLeast };
}

function warningsFor(channels: readonly Float64Array[], highest: number, wowPercent: number): Warning[] {
  const warnings: Warning[] = [];
  const clipped = channels.some((channel) => isClipped(channel));
  if (clipped)
    warnings.push({
      code: 'clipped',
      message:
        'The recording touches full scale again and again: the converter adds harmonics of its own. Record with a lower level.',
    });
  if (highest < 5)
    warnings.push({
      code: 'few-harmonics',
      message: `At this rate of sampling only the harmonics up to the ${highest === 2 ? '2nd' : highest === 3 ? '3rd' : '4th'} can be measured; THD counts those alone.`,
    });
  if (wowPercent > 1)
    warnings.push({
      code: 'wow',
      message: 'The speed swings by more than 1 %. Check belt, centre hole and clamp.',
    });
  return warnings;
}

/** Four samples in a row at the same extreme, near full scale, more than once. */
function isClipped(channel: Float64Array): boolean {
  let runs = 0;
  let length = 1;
  for (let i = 1; i < channel.length; i++) {
    const held = Math.abs(channel[i]) > 0.98 && channel[i] === channel[i - 1];
    length = held ? length + 1 : 1;
    if (length === 4) runs++;
  }
  return runs > 1;
}
