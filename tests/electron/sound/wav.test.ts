import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readWav } from '../../../electron/host/sound/wav.ts';
import { wavFile } from './wav-file.ts';

const left = Array.from({ length: 301 }, (_, n) => 0.7 * Math.sin(n / 7));
const right = Array.from({ length: 301 }, (_, n) => -0.4 * Math.cos(n / 5));

function read(bytes: Uint8Array) {
  const outcome = readWav(bytes);
  if (!outcome.ok) throw new Error(outcome.sentence);
  return outcome.value;
}
const sentence = (bytes: Uint8Array): string => {
  const outcome = readWav(bytes);
  return outcome.ok ? 'read' : outcome.sentence;
};
const changed = (bytes: Uint8Array, at: number, ...values: number[]): Uint8Array => {
  const copy = bytes.slice();
  copy.set(values, at);
  return copy;
};

describe('a WAV file', () => {
  it.each([
    ['int16', false, 1 / 32_768],
    ['int24', false, 1 / 8_388_608],
    ['int32', false, 1e-9],
    ['float32', false, 1e-7],
    ['float64', false, 1e-15],
    ['int24', true, 1 / 8_388_608],
    ['float32', true, 1e-7],
  ] as const)('of %s, extensible %s, comes back sample by sample', (format, extensible, step) => {
    const { channels, sampleRate, float } = read(
      wavFile({ sampleRate: 44_100, channels: [left, right], format, extensible }),
    );
    expect(sampleRate).toBe(44_100);
    expect(float).toBe(format.startsWith('float'));
    expect(channels).toHaveLength(2);
    left.forEach((x, n) => expect(Math.abs(channels[0][n] - x)).toBeLessThanOrEqual(step));
    right.forEach((x, n) => expect(Math.abs(channels[1][n] - x)).toBeLessThanOrEqual(step));
  });

  it('may hold other chunks of odd length, and be one channel', () => {
    const list = ['LIST', new Uint8Array([1, 2, 3])] as const;
    const { channels } = read(wavFile({ channels: [left], before: [list, ['bext', new Uint8Array(601)]] }));
    expect(channels).toHaveLength(1);
    expect(channels[0]).toHaveLength(301);
  });

  it('of a recorder that was switched off is read to its end, and says so', () => {
    for (const stated of [0, 0xffff_ffff]) {
      const { channels, warnings } = read(wavFile({ channels: [left, right], statedDataLength: stated }));
      expect(channels[0]).toHaveLength(301);
      expect(warnings).toHaveLength(1);
    }
  });

  it('is refused with a sentence that says what to do', () => {
    const good = wavFile({ channels: [left, right] });
    expect(sentence(new Uint8Array())).toMatch(/empty/);
    expect(sentence(new TextEncoder().encode('fLaC and more than twelve'))).toMatch(/FLAC.*Export it as WAV/);
    expect(sentence(new TextEncoder().encode('just some text here'))).toMatch(/not a WAV/);
    expect(sentence(good.slice(0, 30))).toMatch(/no samples|cut short/);
    expect(sentence(good.slice(0, good.length - 400))).toMatch(/cut short: \d+ %/);
    // Format tag 2 (ADPCM), 8 bits, no channel, six channels, a rate of 5 Hz, a block that does not fit.
    expect(sentence(changed(good, 20, 2, 0))).toMatch(/compressed/);
    expect(sentence(changed(good, 34, 8, 0))).toMatch(/8 bits/);
    expect(sentence(changed(good, 22, 0, 0))).toMatch(/0 channels/);
    expect(sentence(changed(good, 22, 6, 0))).toMatch(/6 channels/);
    expect(sentence(changed(good, 24, 5, 0, 0, 0))).toMatch(/5 samples a second/);
    expect(sentence(changed(good, 32, 7, 0))).toMatch(/contradicts itself/);
    const infinite = wavFile({ channels: [[0, Infinity, 0]], format: 'float32' });
    expect(sentence(infinite)).toMatch(/no numbers/);
    expect(sentence(wavFile({ channels: [[]] }))).toMatch(/no samples/);
    for (const text of [sentence(good.slice(0, 30)), sentence(changed(good, 20, 2, 0))])
      expect(text).toMatch(/[.]$/);
  });

  it('that lies anywhere in its head neither throws nor takes memory that is not there', () => {
    const good = wavFile({ channels: [left, right], before: [['LIST', new Uint8Array(10)]] });
    expect(sentence(good)).toBe('read');
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(80), fc.nat(255)), { minLength: 1, maxLength: 12 }),
        fc.nat(good.length),
        (changes, length) => {
          const bytes = good.slice(0, length);
          for (const [at, value] of changes) if (at < bytes.length) bytes[at] = value;
          const outcome = readWav(bytes);
          const samples = outcome.ok ? outcome.value.channels.reduce((sum, c) => sum + c.length, 0) : 0;
          // Every sample has at least two bytes in the file behind it.
          return 2 * samples <= bytes.length && (outcome.ok || outcome.sentence.length > 20);
        },
      ),
      { numRuns: 5000 },
    );
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (tail) => {
        const bytes = new Uint8Array([...new TextEncoder().encode('RIFF....WAVEfmt '), ...tail]);
        return typeof readWav(bytes).ok === 'boolean';
      }),
      { numRuns: 2000 },
    );
  });
});
