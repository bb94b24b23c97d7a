import pkg, { type Mat } from 'opencv-wasm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { blurPlane, outerContours, reducePlane, type Blob } from '../../../core/cv/index.ts';
import { BYTES } from '../../../core/cv/kernel/bytes.ts';
import { compile } from '../../../electron/build/kernel.mjs';

/** Our operations against those of OpenCV, bit for bit. It is 7 MB of code that the program itself does without. */
const { cv } = pkg;

// The library aborts the process from these two.
const handlers = ['uncaughtException', 'unhandledRejection'] as const;
const kept = new Map<string, unknown[]>();
beforeAll(() => {
  for (const name of handlers) {
    kept.set(name, process.listeners(name as never));
    process.removeAllListeners(name);
  }
});
afterAll(() => {
  for (const name of handlers)
    for (const one of kept.get(name) ?? []) process.on(name, one as (...all: unknown[]) => void);
});

function scoped<T>(work: (keep: <M extends { delete(): void }>(thing: M) => M) => T): T {
  const all: { delete(): void }[] = [];
  try {
    return work((thing) => {
      all.push(thing);
      return thing;
    });
  } finally {
    for (const thing of all) thing.delete();
  }
}

function matOf(data: Float32Array | Uint8Array, width: number, height: number): Mat {
  const isFloat = data instanceof Float32Array;
  const mat = new cv.Mat(height, width, isFloat ? cv.CV_32FC1 : cv.CV_8UC1);
  if (isFloat) mat.data32F.set(data);
  else mat.data.set(data);
  return mat;
}

const theirBlur = (data: Float32Array, width: number, height: number, sigma: number): Float32Array =>
  scoped((keep) => {
    const source = keep(matOf(data, width, height));
    const target = keep(new cv.Mat());
    cv.GaussianBlur(source, target, new cv.Size(0, 0), sigma, sigma, cv.BORDER_REPLICATE);
    return target.data32F.slice();
  });

const theirReduction = (data: Float32Array, from: Size, to: Size): Float32Array =>
  scoped((keep) => {
    const source = keep(matOf(data, ...from));
    const target = keep(new cv.Mat());
    cv.resize(source, target, new cv.Size(...to), 0, 0, cv.INTER_AREA);
    return target.data32F.slice();
  });

function theirContours(mask: Uint8Array, [width, height]: Size, closePx: number, openPx: number): Blob[] {
  return scoped((keep) => {
    const source = keep(matOf(mask, width, height));
    const closed = keep(new cv.Mat());
    const anchor = new cv.Point(-1, -1);
    const round = keep(cv.getStructuringElement(cv.MORPH_ELLIPSE, new cv.Size(5, 5)));
    const square = keep(cv.getStructuringElement(cv.MORPH_RECT, new cv.Size(5, 5)));
    const steps = (px: number): number => Math.max(1, Math.round(px / 4));
    cv.morphologyEx(source, closed, cv.MORPH_CLOSE, square, anchor, steps(closePx), cv.BORDER_CONSTANT);
    if (openPx > 0)
      cv.morphologyEx(closed, closed, cv.MORPH_OPEN, round, anchor, steps(openPx), cv.BORDER_REPLICATE);
    const contours = keep(new cv.MatVector());
    cv.findContours(closed, contours, keep(new cv.Mat()), cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE);
    const found: Blob[] = [];
    for (let i = 0; i < contours.size(); i++) {
      const contour = keep(contours.get(i));
      const points = contour.data32S;
      if (contour.rows < 40) continue;
      const coordinate = (which: 0 | 1) =>
        Float64Array.from({ length: contour.rows }, (_, k) => points[2 * k + which]);
      found.push({ areaPx: cv.contourArea(contour), x: coordinate(0), y: coordinate(1) });
    }
    return found.sort((a, b) => b.areaPx - a.areaPx).slice(0, 4);
  });
}

type Size = [width: number, height: number];

/** Reproducible numbers from 0 to 1 (mulberry32). */
function chance(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

const noise = ([width, height]: Size, seed: number): Float32Array => {
  const next = chance(seed);
  return Float32Array.from({ length: width * height }, next);
};

/** Blots of all sizes: noise, blurred, against a level; some touch the frame, some have holes, some islands in them. */
function blots(size: Size, seed: number): Uint8Array {
  const next = chance(seed);
  const soft = blurPlane(noise(size, seed + 1), ...size, 0.75 + 6 * next() ** 2);
  const sorted = soft.toSorted();
  const level = sorted[Math.floor(sorted.length * (0.1 + 0.8 * next()))];
  return Uint8Array.from(soft, (value) => (value > level ? 255 : 0));
}

/** Place of the first number whose bits differ, -0 and 0 told apart; -1 for none. */
function firstDifference(ours: Float32Array | Float64Array, theirs: Float32Array | Float64Array): number {
  if (ours.length !== theirs.length) return Math.min(ours.length, theirs.length);
  for (let i = 0; i < ours.length; i++) if (!Object.is(ours[i], theirs[i])) return i;
  return -1;
}

/** The same list without the points, once these are found to agree. */
const withoutPoints = (blobs: readonly Blob[]) => blobs.map(({ areaPx, x }) => [areaPx, x.length]);

const SIZES: readonly Size[] = [
  [640, 480],
  [641, 479],
  [97, 130],
  [16, 16],
  [33, 5],
  [5, 40],
  [2, 7],
];

describe('compiled operations on pictures', () => {
  it('are what the sources say', async () => expect(await compile('cv/kernel')).toBe(BYTES), 60_000);

  it.each(SIZES)('blur %i x %i as OpenCV does', { timeout: 60_000 }, (...size) => {
    const data = noise(size, size[0]);
    for (const sigma of [1.2, 0.75, 2, 3.3])
      expect(
        firstDifference(blurPlane(data, ...size, sigma), theirBlur(data, ...size, sigma)),
        `sigma ${sigma}`,
      ).toBe(-1);
  });

  it('leave a picture as it is without a sigma', () => {
    const data = noise([12, 8], 3);
    expect(blurPlane(data, 12, 8, 0)).toEqual(data);
    expect(blurPlane(data, 12, 8, 0)).not.toBe(data);
  });

  it.each<[Size, Size]>([
    [
      [1280, 960],
      [640, 480],
    ],
    [
      [1920, 1440],
      [640, 480],
    ],
    [
      [1600, 1200],
      [640, 480],
    ],
    [
      [2592, 1944],
      [640, 480],
    ],
    [
      [2592, 1944],
      [1400, 1050],
    ],
    [
      [1281, 961],
      [640, 480],
    ],
    [
      [800, 601],
      [640, 481],
    ],
    [
      [301, 97],
      [43, 97],
    ],
    [
      [90, 60],
      [30, 12],
    ],
    [
      [7, 50],
      [1, 1],
    ],
    [
      [640, 3],
      [500, 2],
    ],
  ])('reduce %j to %j as OpenCV does', (from, to) => {
    const data = noise(from, from[0]);
    expect(firstDifference(reducePlane(data, ...from, ...to), theirReduction(data, from, to))).toBe(-1);
  });

  it('reduce to nothing and to more than there is never', () => {
    const data = noise([12, 8], 3);
    for (const [width, height] of [
      [0, 4],
      [6, 0],
      [13, 8],
      [12, 9],
      [Number.NaN, 4],
    ])
      expect(() => reducePlane(data, 12, 8, width, height)).toThrow(RangeError);
  });

  it('find the outlines that OpenCV finds, in the same order', { timeout: 120_000 }, () => {
    let some = 0;
    for (let seed = 0; seed < 70; seed++) {
      const size = SIZES[seed % SIZES.length];
      const mask = blots(size, seed);
      for (const [closePx, openPx] of [
        [3, 0],
        [5, 7],
        [11, 0],
        [10, 30],
      ]) {
        const ours = outerContours(mask, ...size, closePx, openPx, 4);
        const theirs = theirContours(mask, size, closePx, openPx);
        const which = `blots ${seed}, ${closePx}, ${openPx}`;
        expect(withoutPoints(ours), which).toEqual(withoutPoints(theirs));
        for (const [i, { x, y }] of ours.entries())
          expect([firstDifference(x, theirs[i].x), firstDifference(y, theirs[i].y)], which).toEqual([-1, -1]);
        some += ours.length;
      }
    }
    expect(some).toBeGreaterThan(250);
  });

  it('find one outline round everything, and none round nothing', () => {
    expect(outerContours(new Uint8Array(600), 30, 20, 3, 0, 4)).toEqual([]);
    const [all, ...rest] = outerContours(new Uint8Array(600).fill(255), 30, 20, 3, 0, 4);
    expect(rest).toEqual([]);
    expect(all.areaPx).toBe(29 * 19);
    expect(all.x.length).toBe(2 * (30 + 20) - 4);
  });
});
