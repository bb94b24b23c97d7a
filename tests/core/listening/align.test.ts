import { describe, expect, it } from 'vitest';
import { alignRecordings } from '../../../core/listening/align.ts';
import { makePassage, playPassage, recordTime } from './signals.ts';

const nothing = () => undefined;

/** Moment of the second recording that holds the same moment of the record, by bisection of the exact formula. */
function trueTime(t: number, first: (t: number) => number, second: (t: number) => number): number {
  const wanted = first(t);
  let [low, high] = [-5, 60];
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2;
    if (second(middle) < wanted) low = middle;
    else high = middle;
  }
  return low;
}

describe('two recordings of one passage', () => {
  it.each([
    [0.005, 0, 0],
    [-0.005, 0.0015, 0.0003],
    [0.03, 0.001, 0],
    [0, 0.002, 0],
  ])('%d apart in speed, wow %d, flutter %d: aligned to a sample or better', (speed, wow, flutter) => {
    const passage = makePassage(16, 3);
    const first = (t: number) => 0.4 + recordTime(t, 0, wow, 0);
    const second = (t: number) => 1.7 + recordTime(t + 0.3, speed, wow, flutter);
    const noise = { sigma: 0.001, seed: 8 };
    const a = playPassage(passage, 44_100, 13, first, noise);
    const b = playPassage(passage, 48_000, 12, second, { ...noise, seed: 9 });
    const found = alignRecordings(
      { sampleRate: 44_100, samples: a },
      { sampleRate: 48_000, samples: b },
      nothing,
      nothing,
    );
    if (found === null) throw new Error('not aligned');
    const errors: number[] = [];
    for (let t = found.from + 0.15; t < found.to - 0.15; t += 0.05)
      errors.push((found.timeInSecond(t) - trueTime(t, first, second)) * 48_000);
    const largest = Math.max(...errors.map(Math.abs));
    const rms = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
    expect(errors.length).toBeGreaterThan(180);
    expect(rms).toBeLessThan(0.5);
    expect(largest).toBeLessThan(1);
    expect(found.ratio).toBeCloseTo(1 / (1 + speed), 3);
  });

  it('of different passages are not aligned', () => {
    const noise = { sigma: 0.001, seed: 8 };
    const a = playPassage(makePassage(10, 3), 44_100, 9, (t) => t, noise);
    const b = playPassage(makePassage(10, 4), 44_100, 9, (t) => t, noise);
    expect(
      alignRecordings(
        { sampleRate: 44_100, samples: a },
        { sampleRate: 44_100, samples: b },
        nothing,
        nothing,
      ),
    ).toBeNull();
  });
});
