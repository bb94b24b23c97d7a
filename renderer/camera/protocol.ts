import type { FrameVerdict, MeanPicture } from '../../core/live/mean.ts';

/** What passes between the page and the thread that looks at the frames. Large buffers are handed over, not copied. */
export type ToReader =
  | { readonly type: 'frame'; readonly frame: VideoFrame }
  /** Starts a series of frames to be averaged; one frame is a series of one. */
  | { readonly type: 'collect'; readonly wanted: number }
  | { readonly type: 'drop' }
  /** Asks for the last frame as a picture to be looked at and kept. */
  | { readonly type: 'freeze' };

/** Bare pixels of a finished picture. */
export type TakenPicture = Pick<MeanPicture, 'width' | 'height' | 'channels' | 'bits' | 'data'>;

export type FromReader =
  /** A frame is done with: the next one may come. */
  | { readonly type: 'ready' }
  | { readonly type: 'collecting'; readonly counts: CollectingCounts }
  | { readonly type: 'collected'; readonly picture: TakenPicture; readonly mean: MeanFacts | null }
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
export type CollectFailure = 'same' | 'moved' | 'size-changed';
