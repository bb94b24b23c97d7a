import { grouped } from '../../shared/number-words.ts';
import type { Measured, PassageReport, PassageResult, Warning } from '../../shared/index.ts';
import { alignRecordings, type Alignment, type Mono } from './align.ts';
import { powerSpectrum } from './fourier.ts';
import { meanOf } from './statistics.ts';
import type { Listening, Sound } from './tone.ts';
import { hann } from './windows.ts';

/** The same passage recorded on two days; two takes of one day tell how far takes differ. */
export type PassageQuestion = { readonly before: Sound; readonly after: Sound };

/** Middles of the thirds of an octave (IEC 61260-1 nominal values, from memory), Hz. */
const CENTRES = [
  200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10_000,
  12_500, 16_000, 20_000,
];
const FROM_HZ = 5000;
/** What wear changes least: the level of each recording is taken from here. */
const REFERENCE_HZ = [315, 3150] as const;
const FRAME_SECONDS = 0.085;
const MOST_SEGMENTS = 12;

export function comparePassages({ before, after }: PassageQuestion, control: Listening): PassageReport {
  const refused = (
    code: (PassageReport & { ok: false })['reason']['code'],
    message: string,
  ): PassageReport => ({
    ok: false,
    reason: { code, message },
  });
  const [first, second] = [mono(before), mono(after)];
  for (const [name, one] of [
    ['earlier', first],
    ['later', second],
  ] as const) {
    if (one.samples.length < 3 * one.sampleRate)
      return refused('too-short', `The ${name} recording is shorter than 3 s. Record ten seconds or more.`);
    if (!one.samples.some((x) => Math.abs(x) > 1e-4))
      return refused('too-quiet', `The ${name} recording is silent. Check the input and its level.`);
  }
  control.progress('Laying the recordings over each other', 0.05);
  const alignment = alignRecordings(
    first,
    second,
    (fraction) => control.progress('Laying the recordings over each other', 0.05 + 0.75 * fraction),
    control.check,
  );
  if (alignment === null)
    return refused(
      'passages-differ',
      'The two recordings could not be laid over each other: no stretch of 2 s or more is the same in both, or their speeds differ by more than 4 %. Record the same passage, from before its beginning to after its end.',
    );
  control.progress('Comparing the spectra', 0.85);
  return { ok: true, value: resultOf(before, after, alignment, control) };
}

function mono({ sampleRate, channels }: Sound): Mono {
  if (channels.length === 1) return { sampleRate, samples: channels[0] };
  return { sampleRate, samples: channels[0].map((x, i) => x + channels[1][i]) };
}

/** Power in each third of an octave; `speed` scales the edges, so that the same groove falls into the same band. */
type BandPowers = Float64Array;

function frameBands(signal: Float64Array, rate: number, at: number, size: number, speed: number): BandPowers {
  const first = Math.round(at * rate) - size / 2;
  const frame = Float64Array.from({ length: size }, (_, i) => (signal[first + i] ?? 0) * hann(i / size));
  const power = powerSpectrum(frame, size);
  const bin = rate / size;
  return Float64Array.from(CENTRES, (centre) => {
    const [low, high] = [centre * 2 ** (-1 / 6) * speed, centre * 2 ** (1 / 6) * speed].map((hz) => hz / bin);
    let sum = 0;
    // Bins at the edges count by the share that lies inside.
    for (let k = Math.floor(low - 0.5); k <= Math.ceil(high + 0.5); k++) {
      if (k < 0 || k >= power.length) continue;
      sum += power[k] * Math.max(0, Math.min(k + 0.5, high) - Math.max(k - 0.5, low));
    }
    // Frames of two sampling rates differ in length: power for each second, and for each Hz-wide bin alike.
    return (sum * bin) / (size * rate);
  });
}

const powerOfTwoNear = (value: number): number => 2 ** Math.round(Math.log2(value));
const add = (sum: BandPowers, more: BandPowers): void => more.forEach((p, i) => (sum[i] += p));

/** Bands that both recordings hold with some room below half their sampling rate. */
function usableBands(before: Sound, after: Sound): number[] {
  const most = 0.45 * Math.min(before.sampleRate, after.sampleRate);
  return CENTRES.flatMap((centre, i) => (centre * 2 ** (1 / 6) * 1.04 <= most ? [i] : []));
}

const db = (power: number): number => 10 * Math.log10(Math.max(power, 1e-30));
const sumOver = (bands: BandPowers, indices: readonly number[]): number =>
  indices.reduce((sum, i) => sum + bands[i], 0);

function resultOf(before: Sound, after: Sound, alignment: Alignment, control: Listening): PassageResult {
  const { from, to, ratio, timeInSecond } = alignment;
  const usable = usableBands(before, after);
  const reference = usable.filter((i) => CENTRES[i] >= REFERENCE_HZ[0] && CENTRES[i] <= REFERENCE_HZ[1]);
  const high = usable.filter((i) => CENTRES[i] >= FROM_HZ);
  const segments = Math.max(4, Math.min(MOST_SEGMENTS, Math.floor(to - from)));
  const sizes = [before, after].map(({ sampleRate }) => powerOfTwoNear(FRAME_SECONDS * sampleRate));
  const pairs = Math.min(before.channels.length, after.channels.length);
  const names: PassageResult['channels'][number]['name'][] = pairs === 1 ? ['mono'] : ['left', 'right'];
  const overall = [new Float64Array(CENTRES.length), new Float64Array(CENTRES.length)];
  const channels = names.map((name, c) => {
    const perSegment = Array.from({ length: segments }, (_, s) => {
      control.check();
      const sums = [new Float64Array(CENTRES.length), new Float64Array(CENTRES.length)];
      const [start, end] = [s, s + 1].map((k) => from + ((to - from) * k) / segments);
      for (let t = start + FRAME_SECONDS / 2; t < end; t += FRAME_SECONDS / 2) {
        add(sums[0], frameBands(before.channels[c], before.sampleRate, t, sizes[0], 1));
        add(sums[1], frameBands(after.channels[c], after.sampleRate, timeInSecond(t), sizes[1], 1 / ratio));
      }
      overall.forEach((sum, i) => add(sum, sums[i]));
      return sums;
    });
    const change = (indices: readonly number[]): Measured =>
      meanOf(
        perSegment.map(
          ([a, b]) =>
            db(sumOver(b, indices)) -
            db(sumOver(a, indices)) -
            (db(sumOver(b, reference)) - db(sumOver(a, reference))),
        ),
      );
    return {
      name,
      bands: high.map((i) => ({ centreHz: CENTRES[i], changeDb: change([i]) })),
      above5kDb: change(high),
    };
  });
  const [a, b] = overall;
  return {
    kind: 'passage',
    speedDifferencePercent: 100 * (1 / ratio - 1),
    offsetSeconds: alignment.offsetSeconds,
    overlapSeconds: to - from,
    residualUs: 1e6 * alignment.residualSeconds,
    residualSamples: alignment.residualSeconds * before.sampleRate,
    likeness: alignment.likeness,
    referenceHz: [REFERENCE_HZ[0], REFERENCE_HZ[1]],
    segments,
    channels,
    spectra: usable.map((i) => [
      CENTRES[i],
      db(a[i] / sumOver(a, reference)),
      db(b[i] / sumOver(b, reference)),
    ]),
    warnings: warningsFor(alignment, before, after),
  };
}

function warningsFor(alignment: Alignment, before: Sound, after: Sound): Warning[] {
  const warnings: Warning[] = [];
  if (alignment.residualSeconds * before.sampleRate > 1)
    warnings.push({
      code: 'loosely-aligned',
      message:
        'The two recordings lie more than one sample apart in places. Their spectra can still be compared; single samples cannot.',
    });
  if (before.channels.length !== after.channels.length)
    warnings.push({
      code: 'channels-differ',
      message: 'One recording has one channel and the other two: the left one is compared with it.',
    });
  if (before.sampleRate !== after.sampleRate)
    warnings.push({
      code: 'rates-differ',
      message: `The recordings were sampled at ${grouped(before.sampleRate)} and ${grouped(after.sampleRate)} a second: filters of the converters may differ near the top.`,
    });
  return warnings;
}
