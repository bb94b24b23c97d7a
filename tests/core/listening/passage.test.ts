import { describe, expect, it } from 'vitest';
import { comparePassages } from '../../../core/listening/passage.ts';
import { makePassage, NOTHING, playPassage, recordTime } from './signals.ts';

const passage = makePassage(14, 11);
const take = (rate: number, seed: number, treble: number, speed = 0, start = 0.5) =>
  playPassage(
    passage,
    rate,
    11,
    (t) => start + recordTime(t, speed, 0.001, 0),
    { sigma: 3e-4, seed },
    treble,
  );

describe('change of a passage above 5 kHz', () => {
  const before = { sampleRate: 44_100, channels: [take(44_100, 1, 1), take(44_100, 2, 1)] };

  it('is found, band by band and channel by channel, at another speed, rate and level', () => {
    const after = {
      sampleRate: 48_000,
      channels: [take(48_000, 3, 0.5, 0.005, 0.9), take(48_000, 4, 1, 0.005, 0.9)].map((c) =>
        c.map((x) => 0.6 * x),
      ),
    };
    const report = comparePassages({ before, after }, NOTHING);
    if (!report.ok) throw new Error(report.reason.message);
    const { channels, speedDifferencePercent, residualSamples } = report.value;
    expect(speedDifferencePercent).toBeCloseTo(0.5, 1);
    expect(residualSamples).toBeLessThan(1);
    const [left, right] = channels;
    // 6300 to 10,000: the partials of the bursts; the band at 5 kHz holds untouched ones below its middle.
    for (const band of left.bands.filter((b) => b.centreHz >= 6300 && b.centreHz <= 10_000))
      expect(Math.abs(band.changeDb.value + 6.02), `${band.centreHz} Hz`).toBeLessThan(1.2);
    for (const band of right.bands.filter((b) => b.centreHz <= 10_000))
      expect(Math.abs(band.changeDb.value), `${band.centreHz} Hz`).toBeLessThan(0.6);
    expect(left.above5kDb.value + left.above5kDb.expanded).toBeLessThan(-3);
    expect(Math.abs(right.above5kDb.value)).toBeLessThan(right.above5kDb.expanded + 0.3);
  });

  it('is refused with a sentence when there is no common passage', () => {
    const other = playPassage(makePassage(14, 12), 44_100, 11, (t) => t, { sigma: 3e-4, seed: 5 });
    const ask = (after: Float64Array) => {
      const report = comparePassages({ before, after: { sampleRate: 44_100, channels: [after] } }, NOTHING);
      return report.ok ? 'answered' : report.reason.code;
    };
    expect(ask(other)).toBe('passages-differ');
    expect(ask(new Float64Array(44_100))).toBe('too-short');
    expect(ask(new Float64Array(300_000))).toBe('too-quiet');
  });
});
