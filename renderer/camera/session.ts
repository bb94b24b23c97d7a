import {
  controlsOf,
  grantedOf,
  heldOf,
  openingRequest,
  requestsFor,
  type Capabilities,
  type Control,
  type Settings,
  type Wishes,
} from './constraints.ts';
import { OFF, step, type CameraEvent, type CameraState } from './machine.ts';

/**
 * Drives one camera by the machine: opens it, applies what is wished in the right order, watches it. Everything of the
 * browser comes in through `Surroundings`, so that a test can be the camera.
 */
export type Track = {
  readonly label: string;
  getSettings(): object;
  getCapabilities?(): object;
  applyConstraints(request: object): Promise<void>;
  stop(): void;
  addEventListener(name: 'ended', listener: () => void): void;
};
export type Stream = { getVideoTracks(): Track[] };
export type Camera = { readonly deviceId: string; readonly label: string };

export type Surroundings<S extends Stream> = {
  readonly ask: (request: object) => Promise<S>;
  readonly cameras: () => Promise<readonly Camera[]>;
  /** Calls back when something was plugged in or out; returns its own undoing. */
  readonly onDevices: (listener: () => void) => () => void;
  readonly now: () => number;
  readonly every: (ms: number, work: () => void) => () => void;
};

export type SessionView<S extends Stream> = {
  readonly state: CameraState;
  readonly stream: S | null;
  readonly cameras: readonly Camera[];
  readonly label: string;
  readonly controls: readonly Control[];
  readonly capabilities: Capabilities;
  readonly settings: Settings;
  readonly wishes: Wishes;
  readonly held: readonly string[];
};

export type Session<S extends Stream> = {
  readonly view: () => SessionView<S>;
  /** Calls back on every change of the view. */
  readonly listen: (listener: () => void) => () => void;
  readonly open: (deviceId: string | null) => void;
  readonly wish: (wishes: Wishes) => Promise<void>;
  /** A frame came. */
  readonly frame: (widthPx: number, heightPx: number) => void;
  readonly acceptSize: () => void;
  readonly close: () => void;
};

const NOTHING = { label: '', controls: [], capabilities: {}, settings: {}, held: [] } as const;
/** How often a hanging camera is looked for. */
const TICK_MS = 1000;

export function createSession<S extends Stream>(
  around: Surroundings<S>,
  onDrop: () => void,
  remembered: string | null = null,
): Session<S> {
  let view: SessionView<S> = {
    ...NOTHING,
    state: { ...OFF, deviceId: remembered },
    stream: null,
    cameras: [],
    wishes: {},
  };
  let turn = 0;
  let undo: (() => void)[] = [];
  const listeners = new Set<() => void>();
  const set = (change: Partial<SessionView<S>>): void => {
    view = { ...view, ...change };
    for (const listener of listeners) listener();
  };

  function send(event: CameraEvent): void {
    const before = view.state;
    const { state, effect } = step(before, event);
    // That one more frame came is nothing that a screen would show.
    if (event.type === 'frame' && looksAlike(before, state)) view = { ...view, state };
    else if (state !== before) set({ state });
    if (effect === 'drop' || effect === 'close') onDrop();
    if (effect === 'close') letGo();
    if (effect === 'open') void give(++turn);
  }

  function letGo(): void {
    turn++;
    const { stream } = view;
    stream?.getVideoTracks().forEach((track) => track.stop());
    if (stream !== null) set({ ...NOTHING, stream: null });
  }

  async function give(mine: number): Promise<void> {
    letGoOf(view.stream);
    set({ stream: null });
    let stream: S;
    try {
      stream = await around.ask(openingRequest(view.state.deviceId));
    } catch (error) {
      if (mine === turn) send({ type: 'refused', name: nameOf(error) });
      await readCameras();
      return;
    }
    if (mine !== turn) return letGoOf(stream);
    const [track] = stream.getVideoTracks();
    track.addEventListener('ended', () => {
      if (view.stream === stream) send({ type: 'ended' });
    });
    set({ stream, label: track.label });
    readBack(track);
    const deviceId = String(view.settings['deviceId'] ?? view.state.deviceId ?? '');
    const granted = grantedOf(view.settings, view.capabilities);
    send({ type: 'given', deviceId, granted, now: around.now() });
    await readCameras();
    // What was held before an unplugging is held again.
    if (Object.keys(view.wishes).length > 0) await wish(view.wishes);
  }

  function readBack(track: Track): void {
    const capabilities = (track.getCapabilities?.() ?? {}) as Capabilities;
    const settings = { ...track.getSettings() } as Settings;
    const controls = controlsOf(capabilities);
    set({ capabilities, settings, controls, held: heldOf(view.wishes, capabilities, settings) });
  }

  async function wish(wishes: Wishes): Promise<void> {
    set({ wishes });
    const track = view.stream?.getVideoTracks()[0];
    if (track === undefined) return;
    for (const request of requestsFor(wishes, view.capabilities)) {
      // Refused as a whole: what was not taken shows when it is read back.
      await track.applyConstraints(request).catch(() => undefined);
    }
    if (view.stream?.getVideoTracks()[0] === track) readBack(track);
  }

  async function readCameras(): Promise<void> {
    const cameras = await around.cameras().catch(() => []);
    set({ cameras });
  }

  async function devicesChanged(): Promise<void> {
    await readCameras();
    send({ type: 'devices', deviceIds: view.cameras.map((camera) => camera.deviceId) });
  }

  return {
    view: () => view,
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    open(deviceId) {
      if (undo.length === 0)
        undo = [
          around.onDevices(() => void devicesChanged()),
          around.every(TICK_MS, () => send({ type: 'tick', now: around.now() })),
        ];
      // Another camera has other controls.
      if (deviceId !== view.state.deviceId) set({ wishes: {} });
      send({ type: 'open', deviceId });
    },
    wish,
    frame: (widthPx, heightPx) => send({ type: 'frame', widthPx, heightPx, now: around.now() }),
    acceptSize: () => send({ type: 'accept-size' }),
    close() {
      for (const one of undo) one();
      undo = [];
      send({ type: 'close' });
    },
  };
}

const looksAlike = (a: CameraState, b: CameraState): boolean =>
  a.at === b.at &&
  a.trouble === b.trouble &&
  a.granted === b.granted &&
  a.cameTo?.widthPx === b.cameTo?.widthPx &&
  a.cameTo?.heightPx === b.cameTo?.heightPx;

const letGoOf = (stream: Stream | null): void => stream?.getVideoTracks().forEach((track) => track.stop());

const nameOf = (error: unknown): string =>
  typeof (error as { name?: unknown } | null)?.name === 'string' ? (error as { name: string }).name : '';
