import { describe, expect, it } from 'vitest';
import { blackmanHarris, WINDOW_LEAKAGE } from '../../../core/listening/windows.ts';
import { powerSpectrum } from '../../../core/listening/fourier.ts';
import { measureTone } from '../../../core/listening/tone.ts';
import type { ToneResult } from '../../../shared/index.ts';
import { harmonicsFor, makeTone, NOTHING, type ToneMake } from './signals.ts';

function measured(make: ToneMake, nominalHz = make.hz): ToneResult {
  const channel = makeTone(make);
  const report = measureTone(
    { sound: { sampleRate: make.sampleRate, channels: [channel] }, nominalHz, cutOn: 'both' },
    NOTHING,
  );
  if (!report.ok) throw new Error(report.reason.message);
  return report.value;
}

const WARPED = { speedError: 0.01, wow: 0.003, flutter: 0.0005, snrDb: 60 } as const;

describe('distortion of a recorded tone', () => {
  it.each([0.001, 0.003, 0.01, 0.03, 0.1])(
    'THD %d comes back within 5 % of itself at 60 dB, 1 % fast, with wow',
    (thd) => {
      for (const [seed, hz] of [
        [1, 1000],
        [2, 315],
        [3, 3150],
      ]) {
        const result = measured({
          sampleRate: 48_000,
          seconds: 8,
          hz,
          harmonics: harmonicsFor(thd),
          ...WARPED,
          seed,
        });
        const { thdPercent, harmonics, thdDetected } = result.channels[0];
        expect(Math.abs(thdPercent.value / (100 * thd) - 1), `${hz} Hz`).toBeLessThan(0.05);
        expect(thdDetected).toBe(true);
        harmonicsFor(thd).forEach((share, i) => {
          const error = Math.abs(harmonics[i].percent.value - 100 * share);
          expect(error, `${hz} Hz, harmonic ${i + 2}`).toBeLessThan(
            0.05 * 100 * share + 2 * harmonics[i].limitPercent,
          );
        });
        expect(result.speedErrorPercent).toBeCloseTo(1, 1);
      }
    },
  );

  it('states an interval that holds the truth about as often as it says', () => {
    let held = 0;
    for (let seed = 10; seed < 40; seed++) {
      const { thdPercent } = measured({
        sampleRate: 44_100,
        seconds: 4,
        hz: 1000,
        harmonics: harmonicsFor(0.001),
        ...WARPED,
        seed,
      }).channels[0];
      if (Math.abs(thdPercent.value - 0.1) <= thdPercent.expanded) held++;
    }
    // 95 in 100 of 30 is 28.6; fewer than 25 happens once in a thousand.
    expect(held).toBeGreaterThanOrEqual(25);
  });

  it('does not find harmonics in a pure tone, and says below what', () => {
    const { thdDetected, thdLimitPercent, harmonics, thdPercent } = measured({
      sampleRate: 48_000,
      seconds: 8,
      hz: 1000,
      harmonics: [],
      ...WARPED,
    }).channels[0];
    expect(thdDetected).toBe(false);
    expect(harmonics.filter((one) => one.detected)).toEqual([]);
    expect(thdPercent.value).toBeLessThanOrEqual(thdLimitPercent);
    expect(thdLimitPercent).toBeLessThan(0.02);
  });

  it('measures wow', () => {
    const { wowPercent } = measured({
      sampleRate: 48_000,
      seconds: 9,
      hz: 3150,
      harmonics: [0.02],
      wow: 0.002,
    });
    expect(wowPercent).toBeGreaterThan((0.2 / Math.SQRT2) * 0.9);
    expect(wowPercent).toBeLessThan((0.2 / Math.SQRT2) * 1.1);
  });

  it('leaves out silence around the band', () => {
    const make = { sampleRate: 48_000, seconds: 4, hz: 1000, harmonics: harmonicsFor(0.01), snrDb: 60 };
    const tone = makeTone(make);
    const channel = new Float64Array(12 * 48_000);
    channel.set(tone, 3 * 48_000);
    const report = measureTone(
      { sound: { sampleRate: 48_000, channels: [channel] }, nominalHz: 1000, cutOn: 'both' },
      NOTHING,
    );
    if (!report.ok) throw new Error(report.reason.message);
    expect(report.value.usedSeconds).toBeGreaterThan(3.7);
    expect(report.value.usedSeconds).toBeLessThan(4.1);
    expect(report.value.channels[0].thdPercent.value).toBeCloseTo(1, 1);
  });

  it('tells balance and separation of two channels', () => {
    const left = makeTone({ sampleRate: 48_000, seconds: 6, hz: 1000, harmonics: [], ...WARPED, seed: 5 });
    const other = makeTone({ sampleRate: 48_000, seconds: 6, hz: 1000, harmonics: [], ...WARPED, seed: 6 });
    const ask = (right: Float64Array, cutOn: 'both' | 'left') => {
      const report = measureTone(
        { sound: { sampleRate: 48_000, channels: [left, right] }, nominalHz: 1000, cutOn },
        NOTHING,
      );
      if (!report.ok) throw new Error(report.reason.message);
      return report.value;
    };
    const scaled = (db: number) => other.map((x) => x * 10 ** (db / 20));
    const { balanceDb } = ask(scaled(-1.5), 'both');
    expect(balanceDb?.value).toBeCloseTo(1.5, 2);
    const { separationDb, channels } = ask(scaled(-28), 'left');
    expect(separationDb).toMatchObject({ driven: 'left', atLeast: false });
    expect(separationDb?.value.value).toBeCloseTo(28, 1);
    expect(channels.map((one) => one.name)).toEqual(['left']);
    const noise = other.map((x, i) => 1e-4 * (x - left[i]));
    expect(ask(noise, 'left').separationDb?.atLeast).toBe(true);
  });

  it('says when the converter clipped, and refuses what is no tone', () => {
    const make = { sampleRate: 48_000, seconds: 4, hz: 1000, harmonics: [], amplitude: 1.3 };
    const clipped = makeTone(make).map((x) => Math.max(-1, Math.min(1, x)));
    const ask = (channel: Float64Array, nominalHz: number, sampleRate = 48_000) =>
      measureTone({ sound: { sampleRate, channels: [channel] }, nominalHz, cutOn: 'both' }, NOTHING);
    const report = ask(clipped, 1000);
    expect(report.ok && report.value.warnings.map((one) => one.code)).toEqual(['clipped']);
    const reason = (r: ReturnType<typeof ask>) => (r.ok ? 'answered' : r.reason.code);
    expect(reason(ask(clipped, 2000))).toBe('tone-not-found');
    expect(reason(ask(new Float64Array(200_000), 1000))).toBe('too-quiet');
    expect(reason(ask(clipped.subarray(0, 9000), 1000))).toBe('too-short');
    expect(reason(ask(clipped, 10_000, 32_000))).toBe('tone-not-found');
    const noise = makeTone({ ...make, amplitude: 1e-6, snrDb: -90 });
    expect(reason(ask(noise, 1000))).toBe('tone-not-found');
  });
});

describe('the window', () => {
  it('has side lobes 92 dB down beyond four bins (Harris 1978, table I)', () => {
    const n = 512;
    const oversampled = 32;
    const power = powerSpectrum(
      Float64Array.from({ length: n }, (_, i) => blackmanHarris(i / n)),
      n * oversampled,
    );
    let highest = 0;
    for (let k = 4 * oversampled + 1; k < power.length; k++) highest = Math.max(highest, power[k]);
    expect(10 * Math.log10(highest / power[0])).toBeCloseTo(20 * Math.log10(WINDOW_LEAKAGE), 0);
  });
});
