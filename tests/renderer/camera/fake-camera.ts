import type { Camera, Stream, Surroundings, Track } from '../../../renderer/camera/session.ts';

/**
 * A camera without a browser. Like the real thing it refuses a request that mixes size with picture settings, ignores
 * a value while its mode is automatic, and can be told to answer with another value than it was asked for.
 */
export type FakeCamera = Surroundings<Stream> & {
  readonly requests: object[];
  readonly stopped: () => number;
  /** The next opening fails with an error of this name; null: works again. */
  fail: (name: string | null) => void;
  /** Openings wait until `answer` is called. */
  hold: () => void;
  answer: () => Promise<void>;
  plug: (cameras: readonly Camera[]) => void;
  pull: () => void;
  /** What the camera really sets when it is asked for a value of this name. */
  stubborn: Record<string, number | string>;
  advance: (ms: number) => void;
};

export const CAMERA: Camera = { deviceId: 'scope-1', label: 'Invented microscope' };

export const CAPABILITIES = {
  deviceId: 'scope-1',
  width: { min: 1, max: 2592 },
  height: { min: 1, max: 1944 },
  exposureMode: ['continuous', 'manual'],
  exposureTime: { min: 1, max: 5000, step: 1 },
  whiteBalanceMode: ['continuous', 'manual'],
  colorTemperature: { min: 2800, max: 6500, step: 10 },
  brightness: { min: -64, max: 64, step: 1 },
  // reported, but with nothing to set
  sharpness: { min: 3, max: 3, step: 1 },
};

const failure = (name: string): Error => Object.assign(new Error(name), { name });

export function fakeCamera(given = { width: 2592, height: 1944 }): FakeCamera {
  const settings: Record<string, number | string> = {
    deviceId: 'scope-1',
    ...given,
    frameRate: 15,
    resizeMode: 'none',
    exposureMode: 'continuous',
    exposureTime: 333,
    whiteBalanceMode: 'continuous',
    colorTemperature: 4600,
    brightness: 0,
  };
  const requests: object[] = [];
  let cameras: readonly Camera[] = [CAMERA];
  let failing: string | null = null;
  let waiting: (() => void)[] | null = null;
  let onDevices = (): void => undefined;
  let ended = (): void => undefined;
  let stopped = 0;
  let time = 0;
  const ticks: { ms: number; next: number; work: () => void }[] = [];
  const MODE: Record<string, string> = { exposureTime: 'exposureMode', colorTemperature: 'whiteBalanceMode' };

  const fake: FakeCamera = {
    requests,
    stopped: () => stopped,
    stubborn: {},
    fail: (name) => (failing = name),
    hold: () => (waiting = []),
    async answer() {
      waiting?.forEach((go) => go());
      waiting = null;
      await settle();
    },
    plug(next) {
      cameras = next;
      onDevices();
    },
    pull() {
      cameras = [];
      ended();
      onDevices();
    },
    advance(ms) {
      time += ms;
      for (const tick of ticks)
        while (tick.next <= time) {
          tick.next += tick.ms;
          tick.work();
        }
    },
    async ask(request) {
      requests.push(request);
      if (waiting !== null) await new Promise<void>((go) => waiting?.push(go));
      if (failing !== null) throw failure(failing);
      if (cameras.length === 0) throw failure('NotFoundError');
      return { getVideoTracks: () => [track] };
    },
    cameras: async () => cameras,
    onDevices(listener) {
      onDevices = listener;
      return () => (onDevices = () => undefined);
    },
    now: () => time,
    every(ms, work) {
      const tick = { ms, next: time + ms, work };
      ticks.push(tick);
      return () => ticks.splice(ticks.indexOf(tick), 1);
    },
  };
  const track: Track = {
    label: CAMERA.label,
    getSettings: () => settings,
    getCapabilities: () => CAPABILITIES,
    async applyConstraints(request) {
      requests.push(request);
      const { advanced } = request as { advanced: Record<string, number | string>[] };
      const names = advanced.flatMap((set) => Object.keys(set));
      if (names.some((name) => ['width', 'height', 'resizeMode'].includes(name)) && names.length > 1)
        throw failure('OverconstrainedError');
      for (const set of advanced)
        for (const [name, value] of Object.entries(set)) {
          const mode = MODE[name];
          if (mode === undefined || settings[mode] === 'manual')
            settings[name] = fake.stubborn[name] ?? value;
        }
    },
    stop: () => stopped++,
    addEventListener: (_name, listener) => (ended = listener),
  };
  return fake;
}

/** Lets everything that is already promised happen. */
export async function settle(): Promise<void> {
  for (let i = 0; i < 20; i++) await Promise.resolve();
}
