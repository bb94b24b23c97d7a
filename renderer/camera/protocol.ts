import type { FrameVerdict, MeanPicture } from '../../core/live/mean.ts';
import type { PoseDifference } from '../../core/live/pose.ts';

/** What passes between the page and the thread that looks at the frames. Large buffers are handed over, not copied. */
export type ToReader =
  | { readonly type: 'frame'; readonly frame: VideoFrame }
  /** Starts a series of frames to be averaged; one frame is a series of one. */
  | { readonly type: 'collect'; readonly wanted: number }
  /** Starts a series of focal planes, while the wheel is turned; `merge` ends it. */
  | { readonly type: 'series' }
  | { readonly type: 'merge'; readonly number: number }
  | { readonly type: 'drop' }
  /** The picture whose pose is to be found again, or none. */
  | { readonly type: 'baseline'; readonly bitmap: ImageBitmap | null; readonly umPerPx: number | null }
  /** um per pixel of the live frames; null where it is not known. */
  | { readonly type: 'scale'; readonly umPerPx: number | null }
  /** Asks for the last frame as a picture to be looked at and kept. */
  | { readonly type: 'freeze' };

/** Bare pixels of a finished picture. */
export type TakenPicture = Pick<MeanPicture, 'width' | 'height' | 'channels' | 'bits' | 'data'>;

export type FromReader =
  /** A frame is done with: the next one may come. */
  | { readonly type: 'ready' }
  | { readonly type: 'reading'; readonly reading: LiveReading }
  /** The baseline's own outline; null: it could not be read. */
  | { readonly type: 'baseline-read'; readonly baseline: BaselineOutline | null }
  | { readonly type: 'collecting'; readonly counts: CollectingCounts }
  | { readonly type: 'collected'; readonly picture: TakenPicture; readonly mean: MeanFacts | null }
  | { readonly type: 'series'; readonly counts: SeriesCounts }
  | { readonly type: 'merging'; readonly number: number; readonly fraction: number }
  | { readonly type: 'merged'; readonly number: number; readonly merged: MergedPicture }
  | { readonly type: 'collect-failed'; readonly why: CollectFailure }
  | { readonly type: 'frozen'; readonly picture: TakenPicture; readonly bitmap: ImageBitmap }
  | { readonly type: 'broke-down' };

export type CollectingCounts = {
  readonly wanted: number;
  readonly taken: number;
  readonly same: number;
  readonly moved: number;
  readonly last: FrameVerdict;
};
export type MeanFacts = Pick<MeanPicture, 'frames' | 'same' | 'moved' | 'noise' | 'settled'>;

/** Why a series ended without a picture. */
export type CollectFailure = 'same' | 'moved' | 'size-changed' | 'one-plane';

export type SeriesCounts = { readonly frames: number; readonly planes: number };
export type MergedPicture = {
  readonly picture: TakenPicture;
  /** The planes that it was merged from, in the order in which they came. */
  readonly parts: readonly TakenPicture[];
  readonly alignmentPx: number;
  readonly sizeChange: number;
};

/** An outline as two flanks and an arc, in pixels of its own picture; angles in degrees. */
export type Outline = {
  readonly xPx: number;
  readonly yPx: number;
  readonly rotationDeg: number;
  readonly radiusPx: number;
  readonly halfDeg: number;
  readonly lengthPx: number;
};
export type BaselineOutline = {
  readonly width: number;
  readonly height: number;
  readonly outline: Outline;
  readonly edgePx: number | null;
};

/** What one frame showed; lengths in pixels, shares and noise as parts of full scale. */
export type LiveReading =
  | {
      readonly ok: true;
      readonly at: number;
      readonly outline: Outline;
      readonly edgePx: number | null;
      readonly clipped: number;
      readonly black: number;
      readonly noise: number;
      readonly limitPx: number | null;
      /** Lit from the front: everything that is read off the edge is rough. */
      readonly lit: boolean;
      /** Against the baseline; null without one, or where it could not be read. */
      readonly pose: PoseDifference | null;
      /** How long the reading took, ms. */
      readonly took: number;
    }
  | { readonly ok: false; readonly at: number; readonly sentence: string; readonly took: number };
