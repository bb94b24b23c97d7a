import { describe, expect, it } from 'vitest';
import { bitsFor, createMean, type FrameMean } from '../../../core/live/mean.ts';
import { liveFrames, liveSpec, noiseless } from './frames.ts';

const SPEC = liveSpec();
const { frames } = liveFrames(SPEC, 44);
const clean = noiseless(SPEC);
const size = { width: SPEC.widthPx, height: SPEC.heightPx };

/** Root mean square of what the picture differs from the scene without noise, where nothing is clipped. */
function errorOf(data: ArrayLike<number>, full: number): number {
  let sum = 0;
  let n = 0;
  for (let i = 0; i < clean.length; i++) {
    if (clean[i] < 8 || clean[i] > 245) continue;
    sum += ((255 * data[i]) / full - clean[i]) ** 2;
    n++;
  }
  return Math.sqrt(sum / n);
}

const fill = (mean: FrameMean, from = 0): void => {
  for (let i = from; !mean.done() && i < frames.length; i++) mean.add(frames[i]);
};

describe('the mean of frames', () => {
  it('cuts the noise of 16 frames to about a quarter, against the scene without noise', () => {
    const mean = createMean({ ...size, wanted: 16 });
    fill(mean);
    const picture = mean.picture();
    const one = errorOf(
      Float32Array.from({ length: clean.length }, (_, i) => frames[0][4 * i]),
      255,
    );
    const many = errorOf(picture.data, 65535);
    expect(picture).toMatchObject({ frames: 16, same: 0, moved: 0, bits: 16, channels: 1, settled: true });
    expect(many / one).toBeGreaterThan(0.22);
    expect(many / one).toBeLessThan(0.29);
    // What it says about itself is what it is.
    expect(picture.noise.oneFrame / one).toBeCloseTo(1, 1);
    expect(picture.noise.stored / many).toBeGreaterThan(0.9);
    expect(picture.noise.stored / many).toBeLessThan(1.1);
  });

  it('of 8 frames to about 1/sqrt(8)', () => {
    const mean = createMean({ ...size, wanted: 8 });
    fill(mean);
    const { noise } = mean.picture();
    expect(noise.stored / noise.oneFrame).toBeCloseTo(1 / Math.sqrt(8), 1);
  });

  it('takes a repeated frame once, however late it comes again', () => {
    const mean = createMean({ ...size, wanted: 8 });
    for (const frame of frames.slice(0, 8)) mean.add(frame);
    const before = mean.counts();
    for (const frame of frames.slice(4, 8)) expect(mean.add(frame)).toBe('same');
    expect(mean.counts()).toMatchObject({ taken: before.taken, same: 4 });
  });

  it('never gets anywhere with a camera that repeats one frame', () => {
    const mean = createMean({ ...size, wanted: 8 });
    for (let i = 0; i < 60; i++) mean.add(frames[0]);
    expect(mean.counts().taken).toBeLessThanOrEqual(1);
    expect(() => mean.picture()).toThrow('two frames');
  });

  it('leaves out frames in which the part has moved, and takes those after it came back', () => {
    const away = liveFrames(liveSpec({ pose: { ...SPEC.pose, tipXPx: SPEC.pose.tipXPx + 1.2 } }), 3).frames;
    const mean = createMean({ ...size, wanted: 12 });
    for (const frame of frames.slice(0, 10)) mean.add(frame);
    expect(away.map((frame) => mean.add(frame))).toEqual(['moved', 'moved', 'moved']);
    expect(mean.counts().movedInARow).toBe(3);
    expect(mean.add(frames[10])).toBe('taken');
    expect(mean.counts()).toMatchObject({ moved: 3, movedInARow: 0 });
  });

  it('takes frames that tremble by less than a third of a pixel', () => {
    const near = liveFrames(liveSpec({ pose: { ...SPEC.pose, tipYPx: SPEC.pose.tipYPx + 0.15 } }), 2).frames;
    const mean = createMean({ ...size, wanted: 12 });
    for (const frame of frames.slice(0, 8)) mean.add(frame);
    expect(near.map((frame) => mean.add(frame))).toEqual(['taken', 'taken']);
  });

  it('waits until the exposure has settled', () => {
    const mean = createMean({ ...size, wanted: 8 });
    const verdicts: string[] = [];
    for (let i = 0; i < 12; i++) {
      const gain = Math.min(1, 0.4 + 0.1 * i);
      verdicts.push(mean.add(frames[i].map((v, k) => (k % 4 === 3 ? v : v * gain))));
    }
    expect(verdicts.slice(0, 8)).toEqual(Array.from({ length: 8 }, () => 'settling'));
    expect(verdicts.at(-1)).toBe('taken');
  });

  it('keeps colour where there is one, and 8 bits where more would only pretend', () => {
    const mean = createMean({ ...size, wanted: 2 });
    for (let i = 0; !mean.done() && i < frames.length; i++)
      mean.add(frames[i].map((v, k) => (k % 4 === 2 ? v * 0.9 : v)));
    expect(mean.picture().channels).toBe(3);
    expect(bitsFor({ oneFrame: 2, stored: 0.5 })).toBe(16);
    // Frames without noise: rounding errors do not average out.
    expect(bitsFor({ oneFrame: 0.1, stored: 0.03 })).toBe(8);
    // So much noise that whole levels lose nothing.
    expect(bitsFor({ oneFrame: 12, stored: 3 })).toBe(8);
  });

  it('names what does not fit', () => {
    expect(() => createMean({ ...size, wanted: 7 })).toThrow('even number');
    expect(() => createMean({ ...size, wanted: 8 }).add(new Uint8Array(8))).toThrow('320 x 240');
  });
});
