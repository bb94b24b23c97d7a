import { parentPort, workerData } from 'node:worker_threads';
import { calibrateFromRuledSlide } from '../../core/calibration/index.ts';
import type { Control, DecodedPicture, GivenLine } from '../../core/index.ts';
import { Cancelled, answer, refuse } from '../../shared/index.ts';
import type { GivenRepeatability, Outcome } from '../../shared/index.ts';
import { decodePicture } from './pictures/decode.ts';
import { encodePicture } from './pictures/encode.ts';
import { inspectPicture, sharePicture, showPicture } from './pictures/inspect.ts';
import { overlayPictures } from './pictures/overlay.ts';
import { withPixelsRoom, type PixelsRoom } from './pictures/pixels-room.ts';
import { bytesOf } from './pictures/source.ts';
import type {
  EngineJobs,
  FromWorker,
  JobKind,
  PictureSource,
  SingleJob,
  ToWorker,
  WorkerStart,
} from './engine-protocol.ts';

/**
 * One measuring thread: decodes and measures, one job after the other. Whatever goes wrong in here ends in a refusal
 * or in the thread's end, never in the program's.
 */
const port = parentPort!;
const cancelFlag = new Int32Array((workerData as WorkerStart).cancelFlag);

/** Loaded with the first measurement: a thread that only shrinks pictures needs neither its code nor its memory. */
async function loadCore() {
  const core = await import('../../core/index.ts');
  // The image library aborts the whole process from these two; an error here must end one job only.
  process.removeAllListeners('uncaughtException');
  process.removeAllListeners('unhandledRejection');
  return core;
}

const PROGRESS_EVERY_MS = 50;

function controlFor(number: number): Control {
  let last = -Infinity;
  const check = () => {
    if (Atomics.load(cancelFlag, 0) !== 0) throw new Cancelled('cancelled');
  };
  return {
    check,
    now: () => performance.now(),
    progress: (stage, fraction) => {
      check();
      const now = performance.now();
      if (now - last < PROGRESS_EVERY_MS && fraction < 1) return;
      last = now;
      const message: FromWorker = { number, type: 'progress', stage, fraction };
      port.postMessage(message);
    },
  };
}

async function pixelsOf(
  source: PictureSource,
  label: string,
  room?: PixelsRoom,
): Promise<Outcome<DecodedPicture>> {
  const bytes = await bytesOf(source);
  const decoded = bytes.ok ? await decodePicture(bytes.value, room) : bytes;
  if (!decoded.ok) return refuse(decoded.reason.code, `${label}: ${decoded.reason.message}`);
  return answer(decoded.value.picture);
}

type Measure<R> = (
  input: {
    view: SingleJob['view'];
    picture: DecodedPicture;
    scale: SingleJob['scale'];
    otherLight?: DecodedPicture;
    line?: GivenLine;
    repeatability?: GivenRepeatability;
  },
  control: Control,
) => Promise<R>;

const single =
  <R>(measure: () => Promise<Measure<R>>) =>
  async (job: SingleJob, control: Control): Promise<Outcome<R>> => {
    control.progress('Reading the picture', 0);
    const picture = await pixelsOf(job.picture, 'The picture');
    if (!picture.ok) return picture;
    control.check();
    const other = job.otherLight && (await pixelsOf(job.otherLight, 'The picture under the other light'));
    if (other && !other.ok) return other;
    control.check();
    const run = await measure();
    const { view, scale, line, repeatability } = job;
    const light = other ? { otherLight: other.value } : {};
    const more = { ...light, ...(line ? { line } : {}), ...(repeatability ? { repeatability } : {}) };
    return answer(await run({ view, picture: picture.value, scale, ...more }, control));
  };

async function compare(
  job: EngineJobs['compare']['input'],
  control: Control,
  room: PixelsRoom,
): Promise<EngineJobs['compare']['output']> {
  control.progress('Reading the pictures', 0);
  // The decoder has threads of its own; meanwhile a first measurement loads what it measures with.
  const [baseline, later, { comparePair }] = await Promise.all([
    pixelsOf(job.baseline, 'The baseline picture', room),
    pixelsOf(job.later, 'The later picture', room),
    loadCore(),
  ]);
  if (!baseline.ok) return baseline;
  if (!later.ok) return later;
  control.check();
  const { view, baselineScale, laterScale, baselinePoseHint, laterPoseHint } = job;
  const { baselineRepeatability, laterRepeatability } = job;
  const pictures = { baseline: baseline.value, later: later.value };
  const hint =
    laterPoseHint === undefined || baselinePoseHint === undefined ? {} : { baselinePoseHint, laterPoseHint };
  const study = {
    ...(baselineRepeatability ? { baselineRepeatability } : {}),
    ...(laterRepeatability ? { laterRepeatability } : {}),
  };
  return answer(
    await comparePair({ view, ...pictures, baselineScale, laterScale, ...hint, ...study }, control),
  );
}

type Jobs = {
  [K in JobKind]: (input: EngineJobs[K]['input'], control: Control) => Promise<EngineJobs[K]['output']>;
};

const jobs: Jobs = {
  examine: single(async () => (await loadCore()).examineCapture),
  cantilever: single(async () => (await loadCore()).measureCantilever),
  compare: (job, control) => withPixelsRoom((room) => compare(job, control, room)),
  slide: async (job, control) => {
    control.progress('Reading the picture', 0);
    const started = control.now();
    const picture = await pixelsOf(job.picture, 'The picture');
    if (!picture.ok) return picture;
    control.check();
    const { width: widthPx, height: heightPx } = picture.value;
    const { pitchUm, pitchRelativeStandard } = job;
    const known = pitchRelativeStandard === null ? {} : { pitchRelativeStandard };
    const found = calibrateFromRuledSlide({ picture: picture.value, pitchUm, ...known }, control);
    return answer({ widthPx, heightPx, found, timingMs: control.now() - started });
  },
  inspect: async ({ source, fileName }) => {
    const bytes = await bytesOf(source);
    return bytes.ok ? inspectPicture(bytes.value, fileName) : bytes;
  },
  overlay: async (job) => {
    const baseline = await bytesOf(job.baseline);
    if (!baseline.ok) return baseline;
    const later = await bytesOf(job.later);
    if (!later.ok) return later;
    return overlayPictures(
      { bytes: baseline.value, pose: job.baselinePose },
      { bytes: later.value, pose: job.laterPose },
      job.window,
    );
  },
  law: async ({ points, unknownStart }) =>
    answer((await import('../../core/wear/index.ts')).fit(points, unknownStart)),
  encode: async (job) => encodePicture(job),
  sound: async (job) => (await import('./sound/jobs.ts')).inspectSound(job),
  tone: async (job, control) => (await import('./sound/jobs.ts')).toneJob(job, control),
  passages: async (job, control) => (await import('./sound/jobs.ts')).passageJob(job, control),
  share: async ({ source }) => {
    const bytes = await bytesOf(source);
    return bytes.ok ? sharePicture(bytes.value) : bytes;
  },
  show: async ({ source, maxEdgePx }) => {
    const bytes = await bytesOf(source);
    return bytes.ok ? showPicture(bytes.value, maxEdgePx) : bytes;
  },
};

/** The core says so itself when something broke down inside it; its memory is not trusted any further. */
function brokeDown(output: Outcome<unknown>): boolean {
  const inner = output.ok ? (output.value as { reason?: { code?: unknown } } | null) : output;
  return inner?.reason?.code === 'failed';
}

async function outputOf(message: ToWorker): Promise<Omit<Extract<FromWorker, { type: 'done' }>, 'number'>> {
  const job = jobs[message.kind] as (input: unknown, control: Control) => Promise<Outcome<unknown>>;
  try {
    const output = await job(message.input, controlFor(message.number));
    return { type: 'done', output, spoilt: brokeDown(output) };
  } catch (error) {
    if (error instanceof Cancelled) throw error;
    // A thrown number is a pointer into the image library's memory, which such an error leaves littered.
    process.stderr.write(`engine: ${error instanceof Error ? error.stack : `thrown ${String(error)}`}\n`);
    const output = refuse(
      'failed',
      'The measurement broke down inside the program. Try again with a picture of the same part that is sharper or ' +
        'cropped less; if it stays, this is a fault of the program.',
    );
    return { type: 'done', output, spoilt: true };
  }
}

async function serve(message: ToWorker): Promise<void> {
  const { number } = message;
  try {
    const done = await outputOf(message);
    port.postMessage({ number, ...done } satisfies FromWorker);
  } catch {
    port.postMessage({ number, type: 'cancelled' } satisfies FromWorker);
  }
}

port.on('message', (message: ToWorker) => void serve(message));
