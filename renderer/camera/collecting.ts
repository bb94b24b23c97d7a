import { createMean, type FrameMean } from '../../core/live/mean.ts';
import type { Plane } from '../../core/live/planes.ts';
import type { CollectFailure, CollectingCounts, MeanFacts, TakenPicture } from './protocol.ts';

/** One frame as the thread has it: RGBA, rows from the top. */
export type Frame = {
  readonly width: number;
  readonly height: number;
  readonly rgba: Uint8Array<ArrayBuffer>;
  readonly grey: Plane;
};

export type Collected =
  | { readonly at: 'going'; readonly counts: CollectingCounts }
  | { readonly at: 'done'; readonly picture: TakenPicture; readonly mean: MeanFacts | null }
  | { readonly at: 'failed'; readonly why: CollectFailure };

/** A camera that sends so many frames in a row that bring nothing new has no other frame to give. */
const MOST_SAME = 90;
/** So many moved frames in a row: the part lies somewhere else now, or is being held by hand. */
const MOST_MOVED = 60;

/** Takes frames one by one until the picture is there or it is clear that it will not come. */
export type Collection = { readonly add: (frame: Frame) => Collected };

export function createCollection(wanted: number): Collection {
  let mean: FrameMean | null = null;
  let size: { width: number; height: number } | null = null;
  let sameInARow = 0;
  return {
    add(frame) {
      const { width, height } = frame;
      if (wanted < 2) return { at: 'done', picture: singleFrame(frame), mean: null };
      if (size !== null && (size.width !== width || size.height !== height))
        return { at: 'failed', why: 'size-changed' };
      size = { width, height };
      mean ??= createMean({ width, height, wanted });
      const last = mean.add(frame.rgba, frame.grey);
      const counts = mean.counts();
      sameInARow = last === 'same' ? sameInARow + 1 : 0;
      if (mean.done()) {
        const { data, channels, bits, ...facts } = mean.picture();
        return { at: 'done', picture: { width, height, channels, bits, data }, mean: facts };
      }
      if (sameInARow >= MOST_SAME) return { at: 'failed', why: 'same' };
      if (counts.movedInARow >= MOST_MOVED) return { at: 'failed', why: 'moved' };
      const { taken, same, moved } = counts;
      return { at: 'going', counts: { wanted, taken, same, moved, last } };
    },
  };
}

/** A frame as it came, in grey where it has no colour. */
export function singleFrame({ width, height, rgba }: Omit<Frame, 'grey'>): TakenPicture {
  const n = width * height;
  let grey = true;
  for (let i = 0; i < 4 * n && grey; i += 4) grey = rgba[i] === rgba[i + 1] && rgba[i] === rgba[i + 2];
  const channels = grey ? 1 : 3;
  const data = new Uint8Array(channels * n);
  for (let i = 0, j = 0, k = 0; i < n; i++, j += 4)
    for (let c = 0; c < channels; c++) data[k++] = rgba[j + c];
  return { width, height, channels, bits: 8, data };
}
