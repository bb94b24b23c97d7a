import type {
  CantileverReport,
  ComparisonReport,
  ExaminationReport,
  GivenRepeatability,
  Pose,
  View,
} from '../shared/index.ts';

/** Version of the measuring engine: stored with every result, part of every cache key. */
export { ENGINE_VERSION } from './version.ts';

/** A decoded picture: row-major, interleaved, upright by its EXIF orientation. 8-bit or 16-bit, grey or RGB. */
export type DecodedPicture = {
  readonly width: number;
  readonly height: number;
  readonly channels: 1 | 3;
  readonly data: Uint8Array | Uint8ClampedArray | Uint16Array;
};

/** A scale as the engine takes it: um/px and its standard uncertainty (null: the default of 0.3 % is used and said). */
export type GivenScale = { readonly umPerPx: number; readonly standardUmPerPx: number | null };

/** How a long computation talks to its caller: called between stages; `check` throws Cancelled. */
export type Control = {
  readonly progress: (stage: string, fraction: number) => void;
  readonly check: () => void;
  /** Milliseconds from any fixed start; the core has no clock of its own. */
  readonly now: () => number;
};

export type CompareInput = {
  readonly view: View;
  readonly baseline: DecodedPicture;
  readonly later: DecodedPicture;
  /** null = no scale known: answer in per cent of the baseline's shank width. */
  readonly baselineScale: GivenScale | null;
  readonly laterScale: GivenScale | null;
  readonly id?: string;
  /**
   * Registration helped by hand: where the two captures lie in one frame, as somebody laid them. The later tip is then
   * not searched but started from there. Both or none; only how they lie to each other counts.
   */
  readonly baselinePoseHint?: Pose;
  readonly laterPoseHint?: Pose;
  /** What the person's own study says of each picture; one and the same study may stand for both. */
  readonly baselineRepeatability?: GivenRepeatability;
  readonly laterRepeatability?: GivenRepeatability;
};
export type ExamineInput = {
  readonly view: View;
  readonly picture: DecodedPicture;
  readonly scale: GivenScale | null;
  readonly id?: string;
  /** End-on only: the same part, not moved, under a lamp from another side. */
  readonly otherLight?: DecodedPicture;
  /** Front and side views: what the person's own study says. */
  readonly repeatability?: GivenRepeatability;
};
/** A line that the person gave: two points in picture pixels, or its angle on screen, anticlockwise from level. */
export type GivenLine =
  | { readonly from: readonly [number, number]; readonly to: readonly [number, number] }
  | { readonly angleDeg: number };
export type CantileverInput = Omit<ExamineInput, 'otherLight' | 'repeatability'> & {
  /** For the skew; none asked for without it. */
  readonly line?: GivenLine;
};

export { comparePair } from './compare.ts';
export { examineCapture } from './examine.ts';
export { measureCantilever } from './cantilever/index.ts';
export type CompareFunction = (input: CompareInput, control: Control) => Promise<ComparisonReport>;
export type ExamineFunction = (input: ExamineInput, control: Control) => Promise<ExaminationReport>;
export type CantileverFunction = (input: CantileverInput, control: Control) => Promise<CantileverReport>;
