import { describe, expect, it } from 'vitest';
import { powerSpectrum } from '../../core/listening/fourier.ts';
import { measureTone } from '../../core/listening/tone.ts';
import { valueAt } from '../../core/listening/resample.ts';
import { blackmanHarris } from '../../core/listening/windows.ts';
import { makeTone, NOTHING } from '../core/listening/signals.ts';
import { notRun } from '../not-run.ts';
import { askPython } from './python.ts';

/** Sound against scipy, which makes its own signals and its own transforms. */
const near = (ours: ArrayLike<number>, theirs: readonly number[], tolerance: number): void =>
  theirs.forEach((value, i) => expect(Math.abs(ours[i] - value), `at ${i}`).toBeLessThan(tolerance));

function ask(what: string, script: string): unknown {
  const found = askPython(what, ['numpy', 'scipy'], script);
  if (found === null) notRun(what, 'scipy is not installed for /usr/bin/python3');
  return found;
}

describe('scipy', () => {
  it('has the same window and the same power spectrum', () => {
    const found = ask(
      'window and spectrum against scipy',
      `
import json, numpy as np, scipy.signal, scipy.fft
w = scipy.signal.get_window('blackmanharris', 256)
x = np.cos(0.37 * np.arange(256)) + 0.01 * np.cos(1.91 * np.arange(256) + 1) + 0.1
print(json.dumps({'window': w.tolist(), 'power': (abs(scipy.fft.rfft(w * x)) ** 2).tolist()}))`,
    ) as { window: number[]; power: number[] } | null;
    if (found === null) return;
    expect(found.window).toHaveLength(256);
    const window = Float64Array.from({ length: 256 }, (_, i) => blackmanHarris(i / 256));
    near(window, found.window, 1e-12);
    const signal = window.map((w, i) => w * (Math.cos(0.37 * i) + 0.01 * Math.cos(1.91 * i + 1) + 0.1));
    near(powerSpectrum(signal, 256), found.power, 1e-8);
  });

  it('measures the same harmonics in a distorted tone', () => {
    const make = { sampleRate: 48_000, seconds: 6, hz: 1000, snrDb: 80, seed: 4 } as const;
    // A soft limiter, whose harmonics nobody wrote down beforehand; scipy makes the same without our noise.
    const tone = makeTone({ ...make, harmonics: [] }).map((x) => x - 0.6 * x ** 3 + 0.08 * x ** 2);
    const found = ask(
      'harmonics against scipy',
      `
import json, numpy as np, scipy.signal
n = np.arange(${tone.length})
x = 0.3 * np.cos(2 * np.pi * 1000 * n / 48000)
x = x - 0.6 * x ** 3 + 0.08 * x ** 2
w = scipy.signal.get_window('flattop', len(x))
s = abs(np.fft.rfft(w * x))
f = np.fft.rfftfreq(len(x), 1 / 48000)
level = lambda hz: s[abs(f - hz) < 20].max()
print(json.dumps([level(1000 * k) / level(1000) for k in range(2, 6)]))`,
    ) as number[] | null;
    if (found === null) return;
    const report = measureTone(
      { sound: { sampleRate: 48_000, channels: [tone] }, nominalHz: 1000, cutOn: 'both' },
      NOTHING,
    );
    if (!report.ok) throw new Error(report.reason.message);
    report.value.channels[0].harmonics.forEach((one, i) =>
      expect(Math.abs(one.percent.value - 100 * found[i]), `harmonic ${i + 2}`).toBeLessThan(
        0.01 * 100 * found[i] + one.limitPercent,
      ),
    );
  });

  it('reads a signal between its samples alike', () => {
    const found = ask(
      'resampling against scipy',
      `
import json, numpy as np, scipy.signal
rng = np.random.default_rng(3)
b = scipy.signal.firwin(201, 0.7)
x = np.convolve(rng.standard_normal(1200), b, 'same')
y = scipy.signal.resample_poly(x, 4, 1, window=('kaiser', 12.0))
print(json.dumps({'x': x.tolist(), 'y': y.tolist()}))`,
    ) as { x: number[]; y: number[] } | null;
    if (found === null) return;
    const signal = Float64Array.from(found.x);
    for (let i = 4 * 300; i < 4 * 900; i++)
      expect(Math.abs(valueAt(signal, i / 4) - found.y[i]), `at ${i / 4}`).toBeLessThan(0.01);
  });
});
