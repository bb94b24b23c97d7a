import type {
  CantileverReport,
  ComparisonReport,
  ExaminationReport,
  GivenRepeatability,
  Outcome,
  PassageReport,
  Pose,
  ToneReport,
  View,
} from '../../shared/index.ts';
import type { RuledSlideOutcome } from '../../core/calibration/index.ts';
import type { GivenLine, GivenScale } from '../../core/index.ts';
import type { WearLaw, WearPoint } from '../../core/wear/index.ts';
import type { Inspected, ShownPicture } from './pictures/inspect.ts';
import type { Window } from './pictures/overlay.ts';
import type { InspectedSound, PassageJob, ToneJob } from './sound/jobs.ts';

/**
 * What passes between the host and its workers. A picture travels as its file's bytes or as a path; with a hash the
 * worker refuses a file whose content is not the one that was stored.
 */
export type PictureSource =
  { readonly bytes: Uint8Array } | { readonly path: string; readonly sha256?: string };

export type CompareJob = {
  readonly view: View;
  readonly baseline: PictureSource;
  readonly later: PictureSource;
  readonly baselineScale: GivenScale | null;
  readonly laterScale: GivenScale | null;
  /** How a hand laid the two over each other; both or none. */
  readonly baselinePoseHint?: Pose;
  readonly laterPoseHint?: Pose;
  readonly baselineRepeatability?: GivenRepeatability;
  readonly laterRepeatability?: GivenRepeatability;
};
export type SingleJob = {
  readonly view: View;
  readonly picture: PictureSource;
  readonly scale: GivenScale | null;
  /** Examining end-on: the same part under a lamp from another side. */
  readonly otherLight?: PictureSource;
  /** Cantilever: the line that its skew is told against. */
  readonly line?: GivenLine;
  /** Examining a front or side view: what the person's own study says. */
  readonly repeatability?: GivenRepeatability;
};
export type SlideJob = {
  readonly picture: PictureSource;
  readonly pitchUm: number;
  readonly pitchRelativeStandard: number | null;
};
/** A picture without a ruling is an answer about the picture: it travels inside. */
export type SlideMeasured = {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly found: RuledSlideOutcome;
  readonly timingMs: number;
};
/** Both captures laid over each other in the tip frame; the poses come from a comparison's report. */
export type OverlayJob = {
  readonly baseline: PictureSource;
  readonly later: PictureSource;
  readonly baselinePose: Pose;
  readonly laterPose: Pose;
  readonly window: Window;
};

/** Bare pixels of a live picture, to be kept as PNG; 16-bit samples low byte first. */
export type EncodeJob = {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly channels: 1 | 3;
  readonly bits: 8 | 16;
  readonly pixels: Uint8Array;
};

export type LawJob = { readonly points: readonly WearPoint[]; readonly unknownStart: boolean };

export type EngineJobs = {
  encode: { input: EncodeJob; output: Outcome<Uint8Array> };
  compare: { input: CompareJob; output: Outcome<ComparisonReport> };
  examine: { input: SingleJob; output: Outcome<ExaminationReport> };
  cantilever: { input: SingleJob; output: Outcome<CantileverReport> };
  slide: { input: SlideJob; output: Outcome<SlideMeasured> };
  inspect: { input: { source: PictureSource; fileName: string }; output: Outcome<Inspected> };
  overlay: { input: OverlayJob; output: Outcome<ShownPicture> };
  sound: { input: { source: PictureSource }; output: Outcome<InspectedSound> };
  tone: { input: ToneJob; output: Outcome<ToneReport> };
  passages: { input: PassageJob; output: Outcome<PassageReport> };
  show: { input: { source: PictureSource; maxEdgePx: number }; output: Outcome<ShownPicture> };
  /** The wear law of one wall; here because many points take long and nobody should wait for them. */
  law: { input: LawJob; output: Outcome<WearLaw | null> };
  /** A copy to be given away: full size, no metadata. */
  share: { input: { source: PictureSource }; output: Outcome<ShownPicture> };
};
export type JobKind = keyof EngineJobs;
export type JobInput<K extends JobKind> = EngineJobs[K]['input'];
export type JobOutput<K extends JobKind> = EngineJobs[K]['output'];

export type ToWorker = { readonly number: number; readonly kind: JobKind; readonly input: unknown };
export type FromWorker =
  | { readonly number: number; readonly type: 'progress'; readonly stage: string; readonly fraction: number }
  | { readonly number: number; readonly type: 'cancelled' }
  /** `spoilt`: something was thrown that may have left the image library's memory in a bad state. */
  | {
      readonly number: number;
      readonly type: 'done';
      readonly output: Outcome<unknown>;
      readonly spoilt: boolean;
    };
/** The flag by which a job is asked to stop while the worker's thread is busy: index 0 of a shared Int32Array. */
export type WorkerStart = { readonly cancelFlag: SharedArrayBuffer };
