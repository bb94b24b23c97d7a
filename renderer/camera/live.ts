import { createStore, type StoreApi } from 'zustand/vanilla';
import type {
  BaselineOutline,
  CollectFailure,
  CollectingCounts,
  FromReader,
  LiveReading,
  MeanFacts,
  MergedPicture,
  SeriesCounts,
  TakenPicture,
} from './protocol.ts';
import { pumpFrames } from './pump.ts';
import { createReadingThread } from './reading-thread.ts';
import { createWatcher, type Moment } from './release.ts';
import { createSession, type Camera, type Session, type SessionView, type Surroundings } from './session.ts';

/** Everything that lives while the live screen is open: camera, reading thread, and what they last said. */
export type Frozen = { readonly picture: TakenPicture; readonly bitmap: ImageBitmap };
export type LiveState = {
  readonly session: SessionView<MediaStream>;
  readonly collecting: CollectingCounts | null;
  /** Focal planes so far, while a series is taken. */
  readonly series: SeriesCounts | null;
  /** How far the merge is, 0..1; null when none is made. */
  readonly merging: number | null;
  readonly frozen: Frozen | null;
  /** What the last frame that was read showed, and whether this is the moment; null before the first one. */
  readonly reading: LiveReading | null;
  readonly moment: Moment | null;
  readonly baseline: BaselineOutline | null;
  /** Readings a second, as they come. */
  readonly rate: number;
  /** The reading thread broke down; the screen has to be opened again. */
  readonly broken: boolean;
};
/** Why there is no picture: the frames did not give one, or the camera went away, or the person stopped. */
export type NotTaken = CollectFailure | 'dropped';
export type Taken = { readonly picture: TakenPicture; readonly mean: MeanFacts | null };

export type Live = {
  readonly store: StoreApi<LiveState>;
  readonly session: Session<MediaStream>;
  /** Opens the camera of last time where it is there, else the system's first one. */
  readonly start: () => void;
  /** Resolves to the picture, or to the reason why there is none; 'dropped' when the camera went away. */
  readonly take: (frames: number) => Promise<Taken | NotTaken>;
  readonly startSeries: () => void;
  /** Ends the series; the planes are laid over each other and merged. */
  readonly mergeSeries: () => Promise<MergedPicture | NotTaken>;
  readonly stopTaking: () => void;
  readonly setScale: (umPerPx: number | null) => void;
  /** The picture whose pose is to be found again; it is handed over. */
  readonly setBaseline: (bitmap: ImageBitmap | null, umPerPx: number | null) => void;
  /** Called with every reading while everything has held for a second. */
  readonly onMoment: (listener: (() => void) | null) => void;
  readonly freeze: () => void;
  readonly unfreeze: () => void;
  readonly close: () => void;
};

export const COLLECT_SENTENCES: Readonly<Record<NotTaken, string>> = {
  same: 'The camera sends the same frame again and again, so there is nothing to average. Check that its picture moves when you touch the table, or take a single frame.',
  moved:
    'The part keeps moving, so no frames could be averaged. Let everything come to rest, without a hand on the microscope, and take the picture again.',
  'size-changed':
    'The camera changed its frame size while frames were being taken. Nothing was kept; take the picture again.',
  'one-plane':
    'Only one focal plane was found, so there is nothing to merge. Turn the focus wheel slowly through the whole depth of the part while the series runs, or take a single picture.',
  dropped: 'The camera stopped while frames were being taken. Nothing was kept.',
};

const LAST_CAMERA = 'daybook-camera';

export function browserSurroundings(): Surroundings<MediaStream> {
  const { mediaDevices } = navigator;
  return {
    ask: (request) => mediaDevices.getUserMedia(request),
    cameras: async (): Promise<Camera[]> =>
      (await mediaDevices.enumerateDevices())
        .filter((device) => device.kind === 'videoinput')
        .map(({ deviceId, label }) => ({ deviceId, label })),
    onDevices(listener) {
      mediaDevices.addEventListener('devicechange', listener);
      return () => mediaDevices.removeEventListener('devicechange', listener);
    },
    now: () => performance.now(),
    every(ms, work) {
      const timer = setInterval(work, ms);
      return () => clearInterval(timer);
    },
  };
}

function remembered(): string | null {
  try {
    return localStorage.getItem(LAST_CAMERA);
  } catch {
    return null;
  }
}

export function createLive(): Live {
  let waiting: ((taken: Taken | NotTaken) => void) | null = null;
  let merges = 0;
  let merging: ((merged: MergedPicture | NotTaken) => void) | null = null;
  let stopPump = (): void => undefined;
  let pumped: MediaStream | null = null;

  const finish = (result: Taken | NotTaken): void => {
    const answer = waiting;
    waiting = null;
    store.setState({ collecting: null });
    answer?.(result);
  };
  const finishMerge = (result: MergedPicture | NotTaken): void => {
    const answer = merging;
    merging = null;
    store.setState({ series: null, merging: null });
    answer?.(result);
  };
  const drop = (): void => {
    thread.send({ type: 'drop' });
    finish('dropped');
    // A merge that is under way runs to its end in the thread; what it makes is not taken.
    finishMerge('dropped');
  };
  const session = createSession(browserSurroundings(), drop, remembered());
  const store = createStore<LiveState>()(() => ({
    session: session.view(),
    collecting: null,
    series: null,
    merging: null,
    frozen: null,
    reading: null,
    moment: null,
    baseline: null,
    rate: 0,
    broken: false,
  }));
  const watcher = createWatcher();
  let atMoment: (() => void) | null = null;
  let times: number[] = [];
  const see = (reading: LiveReading): void => {
    const { granted } = store.getState().session.state;
    const moment = watcher.see(reading, Math.max(granted?.widthPx ?? 0, granted?.heightPx ?? 0));
    times = [...times.filter((time) => reading.at - time < 3000), reading.at];
    const span = times.length > 1 ? reading.at - times[0] : 0;
    store.setState({ reading, moment, rate: span > 0 ? (1000 * (times.length - 1)) / span : 0 });
    if (moment.release) atMoment?.();
  };

  const onFrame = (frame: VideoFrame): void => {
    session.frame(frame.displayWidth, frame.displayHeight);
    thread.frame(frame);
  };

  session.listen(() => {
    const view = session.view();
    const idle = view.state.at === 'live' ? {} : { reading: null, moment: null };
    store.setState({ session: view, ...idle });
    if (view.stream === pumped) return;
    stopPump();
    pumped = view.stream;
    const track = view.stream?.getVideoTracks()[0];
    stopPump = track === undefined ? () => undefined : pumpFrames(track, onFrame);
    if (track !== undefined) rememberCamera(String(view.settings['deviceId'] ?? ''));
  });

  const hear = (data: Exclude<FromReader, { type: 'ready' }>): void => {
    switch (data.type) {
      case 'reading':
        return see(data.reading);
      case 'baseline-read':
        store.setState({ baseline: data.baseline });
        return;
      case 'collecting':
        if (waiting !== null) store.setState({ collecting: data.counts });
        return;
      case 'collected':
        return finish({ picture: data.picture, mean: data.mean });
      case 'collect-failed':
        finish(data.why);
        return finishMerge(data.why);
      case 'series':
        if (store.getState().series !== null) store.setState({ series: data.counts });
        return;
      case 'merging':
        if (merging !== null && data.number === merges) store.setState({ merging: data.fraction });
        return;
      case 'merged':
        // One that was stopped meanwhile is not taken.
        return data.number === merges ? finishMerge(data.merged) : undefined;
      case 'frozen':
        store.getState().frozen?.bitmap.close();
        store.setState({ frozen: { picture: data.picture, bitmap: data.bitmap } });
        return;
      case 'broke-down':
        break;
    }
    breakDown();
  };
  const breakDown = (): void => {
    store.setState({ broken: true });
    finish('dropped');
    finishMerge('dropped');
  };
  const thread = createReadingThread(
    () => new Worker(new URL('./reader.worker.ts', import.meta.url), { type: 'module' }),
    hear,
    breakDown,
  );

  return {
    store,
    session,
    start() {
      thread.start();
      void startWith(session);
    },
    take(frames) {
      if (waiting !== null) return Promise.resolve('dropped');
      return new Promise((resolve) => {
        waiting = resolve;
        store.setState({ collecting: { wanted: frames, taken: 0, same: 0, moved: 0, last: 'settling' } });
        thread.send({ type: 'collect', wanted: frames });
      });
    },
    startSeries() {
      store.setState({ series: { frames: 0, planes: 0 } });
      thread.send({ type: 'series' });
    },
    mergeSeries: () =>
      new Promise((resolve) => {
        merging = resolve;
        store.setState({ merging: 0 });
        thread.send({ type: 'merge', number: ++merges });
      }),
    stopTaking: drop,
    setScale: (umPerPx) => thread.send({ type: 'scale', umPerPx }),
    setBaseline(bitmap, umPerPx) {
      store.setState({ baseline: null });
      thread.send({ type: 'baseline', bitmap, umPerPx }, bitmap === null ? [] : [bitmap]);
    },
    onMoment(listener) {
      atMoment = listener;
    },
    freeze: () => thread.send({ type: 'freeze' }),
    unfreeze() {
      store.getState().frozen?.bitmap.close();
      store.setState({ frozen: null });
    },
    close() {
      stopPump();
      pumped = null;
      session.close();
      thread.end();
      store.getState().frozen?.bitmap.close();
      store.setState({ frozen: null, reading: null, moment: null });
    },
  };
}

async function startWith(session: Session<MediaStream>): Promise<void> {
  const wished = remembered();
  const cameras = await browserSurroundings()
    .cameras()
    .catch(() => []);
  session.open(cameras.some((camera) => camera.deviceId === wished) ? wished : null);
}

function rememberCamera(deviceId: string): void {
  try {
    if (deviceId !== '') localStorage.setItem(LAST_CAMERA, deviceId);
  } catch {
    // Without storage the person chooses again next time.
  }
}
