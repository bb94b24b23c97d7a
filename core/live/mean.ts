import { brightnessAndCrispness, factorFor, greyOfRgba, reduceBy, type Plane } from './planes.ts';
import { shiftBetween } from './shift.ts';

/**
 * The mean of several distinct frames of one scene. Only frames that bring something new and show the same thing in
 * the same place are taken: a frame that repeats one already seen brings nothing, a moved one would blur the edge.
 *
 * Noise is measured, not assumed: the frames taken fall into two halves, and half the difference of the halves' means
 * has the spread of the whole mean (s/sqrt(n) for independent frames), whatever the camera did to its frames before.
 */
export type FrameVerdict = 'settling' | 'taken' | 'same' | 'moved';

export type MeanSpec = {
  readonly width: number;
  readonly height: number;
  /** Even, 2 to 64. */
  readonly wanted: number;
  /** Largest shift against the first frame taken, pixels of the frame. */
  readonly mostShiftPx?: number;
};

export type MeanPicture = {
  readonly width: number;
  readonly height: number;
  readonly channels: 1 | 3;
  readonly bits: 8 | 16;
  /** Samples rows from the top; 16-bit ones span 0..65535 for the frame's 0..255. */
  readonly data: Uint8Array<ArrayBuffer> | Uint16Array<ArrayBuffer>;
  readonly frames: number;
  readonly same: number;
  readonly moved: number;
  /** Standard deviation of a pixel from frame to frame, grey levels of 255: one frame, and the stored picture. */
  readonly noise: { readonly oneFrame: number; readonly stored: number };
  /** False: brightness or sharpness were still changing when the frames were taken. */
  readonly settled: boolean;
};

/** A tenth of the blur of a sharp microscope picture; such a shift widens an edge by less than one in a hundred. */
const MOST_SHIFT_PX = 0.3;
/** Two frames whose brightness and sharpness agree this well follow a camera that has settled. */
const SETTLED = { brightness: 0.01, crispness: 0.04, inARow: 3 } as const;
/** After this many frames the camera counts as one that never settles. */
const MOST_WARM_UP = 45;
/** Long edge of the copy in which movement is looked for. */
const LOOK_EDGE_PX = 640;
/** Every so many pixels carry the noise figures. */
const NOISE_STEP = 7;

/** FNV-1a over whole pixels: equal for a repeated frame, different for any other with all but certainty. */
function contentOf(rgba: Uint8Array | Uint8ClampedArray, n: number): number {
  const words = new Uint32Array(rgba.buffer, rgba.byteOffset, n);
  let hash = 0x811c9dc5;
  for (let i = 0; i < n; i++) hash = Math.imul(hash ^ words[i], 0x01000193) ^ (hash >>> 15);
  return hash >>> 0;
}

export type FrameMean = {
  /** Looks at one frame of exactly the agreed size; `rgba` must start at a multiple of four bytes. */
  add(rgba: Uint8Array | Uint8ClampedArray, grey?: Plane): FrameVerdict;
  readonly counts: () => {
    readonly taken: number;
    readonly same: number;
    readonly moved: number;
    /** Moved frames since the last one that was taken: somebody is still turning a wheel. */
    readonly movedInARow: number;
  };
  readonly done: () => boolean;
  /** The picture of what was taken so far; throws when that is less than two frames. */
  picture(): MeanPicture;
};

export function createMean(spec: MeanSpec): FrameMean {
  const { width, height, wanted, mostShiftPx = MOST_SHIFT_PX } = spec;
  if (!(wanted >= 2 && wanted <= 64 && wanted % 2 === 0))
    throw new RangeError(`createMean: an even number of frames from 2 to 64 was expected, got ${wanted}`);
  const n = width * height;
  const factor = factorFor(width, height, LOOK_EDGE_PX);
  const sums = createSums(n);
  const warmUp = createWarmUp();
  const seen = new Set<number>();
  let reference: Plane | null = null;
  let same = 0;
  let moved = 0;
  let movedInARow = 0;
  const done = (): boolean => sums.taken() >= wanted;
  return {
    add(rgba, grey) {
      if (rgba.length !== 4 * n)
        throw new RangeError(`FrameMean: ${width} x ${height} needs ${4 * n} bytes, got ${rgba.length}`);
      if (done()) return 'same';
      const content = contentOf(rgba, n);
      if (seen.has(content)) {
        same++;
        return 'same';
      }
      const small = reduceBy(grey ?? greyOfRgba(rgba, width, height), factor);
      if (warmUp.isSettling(small)) return 'settling';
      seen.add(content);
      if (reference !== null) {
        const { dx, dy } = shiftBetween(reference, small);
        if (factor * Math.hypot(dx, dy) > mostShiftPx) {
          moved++;
          movedInARow++;
          return 'moved';
        }
      } else reference = small;
      movedInARow = 0;
      sums.take(rgba);
      return 'taken';
    },
    counts: () => ({ taken: sums.taken(), same, moved, movedInARow }),
    done,
    picture() {
      if (sums.taken() < 2) throw new RangeError('FrameMean: two frames at least are needed for a mean');
      const noise = sums.noise();
      const bits = bitsFor(noise);
      const stored = { ...sums.mean(bits), frames: sums.taken(), same, moved };
      return { width, height, bits, ...stored, noise, settled: warmUp.settled() };
    },
  };
}

/** Knows when brightness and sharpness stop changing from frame to frame (exposure, white balance, focus). */
function createWarmUp(): { isSettling: (small: Plane) => boolean; settled: () => boolean } {
  let frames = 0;
  let steady = 0;
  let before: { mean: number; crisp: number } | null = null;
  const settled = (): boolean => steady >= SETTLED.inARow;
  return {
    settled,
    isSettling(small) {
      if (settled() || frames >= MOST_WARM_UP) return false;
      const now = brightnessAndCrispness(small);
      const close =
        before !== null &&
        Math.abs(now.mean - before.mean) < SETTLED.brightness * Math.max(0.02, before.mean) &&
        Math.abs(now.crisp - before.crisp) < SETTLED.crispness * Math.max(1e-7, before.crisp);
      before = now;
      frames++;
      steady = close ? steady + 1 : 0;
      return !settled();
    },
  };
}

type Sums = {
  readonly take: (rgba: Uint8Array | Uint8ClampedArray) => void;
  readonly taken: () => number;
  readonly noise: () => { oneFrame: number; stored: number };
  readonly mean: (bits: 8 | 16) => Pick<MeanPicture, 'channels' | 'data'>;
};

/** Sums of all channels; and on every NOISE_STEP-th pixel what the two noise figures need. */
function createSums(n: number): Sums {
  const sums = new Uint16Array(3 * n);
  const points = Math.ceil(n / NOISE_STEP);
  const halves = new Float32Array(points);
  const greys = new Float32Array(points);
  const squares = new Float32Array(points);
  let taken = 0;
  let coloured = false;
  return {
    taken: () => taken,
    take(rgba) {
      let colours = false;
      for (let i = 0, j = 0, k = 0; i < n; i++, j += 4, k += 3) {
        const r = rgba[j];
        const g = rgba[j + 1];
        const b = rgba[j + 2];
        sums[k] += r;
        sums[k + 1] += g;
        sums[k + 2] += b;
        if (r !== g || g !== b) colours = true;
      }
      coloured ||= colours;
      const sign = taken % 2 === 0 ? 1 : -1;
      for (let i = 0, p = 0; i < n; i += NOISE_STEP, p++) {
        const j = 4 * i;
        const grey = 0.299 * rgba[j] + 0.587 * rgba[j + 1] + 0.114 * rgba[j + 2];
        halves[p] += sign * grey;
        greys[p] += grey;
        squares[p] += grey * grey;
      }
      taken++;
    },
    /** Over pixels that never come near black or full scale, where nothing trembles. */
    noise() {
      let count = 0;
      let one = 0;
      let mean = 0;
      for (let p = 0; p < points; p++) {
        const level = greys[p] / taken;
        if (level < 3 || level > 251) continue;
        count++;
        one += Math.max(0, squares[p] - taken * level * level) / (taken - 1);
        mean += (halves[p] / taken) ** 2;
      }
      if (count === 0) return { oneFrame: 0, stored: 0 };
      return { oneFrame: Math.sqrt(one / count), stored: Math.sqrt(mean / count) };
    },
    mean(bits) {
      const channels = coloured ? 3 : 1;
      const step = coloured ? 1 : 3;
      const data = bits === 16 ? new Uint16Array(n * channels) : new Uint8Array(n * channels);
      const factor = (bits === 16 ? 257 : 1) / taken;
      for (let i = 0, k = 0; i < data.length; i++, k += step) data[i] = Math.round(sums[k] * factor);
      return { channels, data };
    },
  };
}

/**
 * 16 bits where 8 would lose something: rounding to whole levels adds 1/sqrt(12) level of its own, which counts once it
 * would raise the mean's noise by a twentieth. Without noise in the frames (they were smoothed, or stand still) the
 * steps between levels do not average out, and more bits would only pretend.
 */
export function bitsFor(noise: { readonly oneFrame: number; readonly stored: number }): 8 | 16 {
  const rounding = 1 / 12;
  const gains = Math.sqrt(noise.stored ** 2 + rounding) > 1.05 * noise.stored;
  return noise.oneFrame > 0.3 && gains ? 16 : 8;
}
