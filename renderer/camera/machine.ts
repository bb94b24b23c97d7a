import type { Granted } from './constraints.ts';

/**
 * What can go wrong with a camera, as a machine of plain values: an event turns a state into the next one and says
 * what is to be done. The camera itself, the clock and the screen are elsewhere.
 */
export const TROUBLES = ['denied', 'none', 'busy', 'unplugged', 'hanging', 'size-changed', 'failed'] as const;
export type Trouble = (typeof TROUBLES)[number];

/** A camera that sends nothing for so long is said to hang. */
export const HANGING_MS = 10_000;

export type CameraState = {
  readonly at: 'off' | 'asking' | 'live' | 'trouble';
  readonly trouble: Trouble | null;
  /** The camera that is used or was used last; kept through troubles, so that the same one is picked up again. */
  readonly deviceId: string | null;
  readonly granted: Granted | null;
  /** When the last frame came, or when the camera was given, ms. */
  readonly lastFrame: number;
  /** Size of the frames that come, where it is no longer the one that was given. */
  readonly cameTo: { readonly widthPx: number; readonly heightPx: number } | null;
};

export const OFF: CameraState = {
  at: 'off',
  trouble: null,
  deviceId: null,
  granted: null,
  lastFrame: 0,
  cameTo: null,
};

export type CameraEvent =
  | { readonly type: 'open'; readonly deviceId: string | null }
  | { readonly type: 'given'; readonly deviceId: string; readonly granted: Granted; readonly now: number }
  /** `name` is the error's name as the specification has it. */
  | { readonly type: 'refused'; readonly name: string }
  | { readonly type: 'frame'; readonly widthPx: number; readonly heightPx: number; readonly now: number }
  | { readonly type: 'tick'; readonly now: number }
  /** The track ended by itself. */
  | { readonly type: 'ended' }
  /** Cameras that are there now, after something was plugged in or out. */
  | { readonly type: 'devices'; readonly deviceIds: readonly string[] }
  /** The person says: go on with the new size. */
  | { readonly type: 'accept-size' }
  | { readonly type: 'close' };

/** What the driver does next; `drop` also ends a series of frames that was being taken. */
export type CameraEffect = 'open' | 'close' | 'drop' | null;
export type Step = { readonly state: CameraState; readonly effect: CameraEffect };

const TROUBLE_OF: Readonly<Record<string, Trouble>> = {
  NotAllowedError: 'denied',
  SecurityError: 'denied',
  NotFoundError: 'none',
  OverconstrainedError: 'none',
  NotReadableError: 'busy',
  AbortError: 'busy',
};

const trouble = (state: CameraState, kind: Trouble): CameraState => ({
  ...state,
  at: 'trouble',
  trouble: kind,
});
const same = (state: CameraState): Step => ({ state, effect: null });

export function step(state: CameraState, event: CameraEvent): Step {
  switch (event.type) {
    case 'open':
      return { state: { ...OFF, at: 'asking', deviceId: event.deviceId }, effect: 'open' };
    case 'close':
      return { state: { ...OFF, deviceId: state.deviceId }, effect: 'close' };
    case 'given': {
      // An answer that nobody waits for any more (closed meanwhile) is given back.
      if (state.at !== 'asking') return { state, effect: 'close' };
      const { deviceId, granted, now } = event;
      return same({ at: 'live', trouble: null, deviceId, granted, lastFrame: now, cameTo: null });
    }
    case 'refused':
      return state.at === 'asking' ? same(trouble(state, TROUBLE_OF[event.name] ?? 'failed')) : same(state);
    case 'frame':
      return frame(state, event);
    case 'tick':
      if (state.at !== 'live' || event.now - state.lastFrame < HANGING_MS) return same(state);
      return { state: trouble(state, 'hanging'), effect: 'drop' };
    case 'ended':
      if (state.at !== 'live' && state.trouble !== 'hanging' && state.trouble !== 'size-changed')
        return same(state);
      return { state: trouble(state, 'unplugged'), effect: 'close' };
    case 'devices':
      return devices(state, event.deviceIds);
    case 'accept-size':
      break;
  }
  if (state.trouble !== 'size-changed' || state.granted === null || state.cameTo === null) return same(state);
  const granted = { ...state.granted, ...state.cameTo, notes: [] };
  return same({ ...state, at: 'live', trouble: null, granted, cameTo: null });
}

function frame(state: CameraState, event: Extract<CameraEvent, { type: 'frame' }>): Step {
  const { widthPx, heightPx, now } = event;
  const { granted } = state;
  if (granted === null) return same(state);
  const fits = widthPx === granted.widthPx && heightPx === granted.heightPx;
  const seen = { ...state, lastFrame: now };
  if (state.at === 'live') {
    if (fits) return same(seen);
    return { state: { ...trouble(seen, 'size-changed'), cameTo: { widthPx, heightPx } }, effect: 'drop' };
  }
  // A camera that hung and sends again goes on; one whose frames came back to their size does, too.
  if (fits && (state.trouble === 'hanging' || state.trouble === 'size-changed'))
    return same({ ...seen, at: 'live', trouble: null, cameTo: null });
  if (state.trouble === 'size-changed') return same({ ...seen, cameTo: { widthPx, heightPx } });
  return same(seen);
}

function devices(state: CameraState, deviceIds: readonly string[]): Step {
  const { deviceId } = state;
  const there = deviceId !== null && deviceIds.includes(deviceId);
  // The same camera came back, or one came where there was none: it is picked up without being asked.
  const comesBack = state.trouble === 'unplugged' && there;
  const comes = state.trouble === 'none' && (there || (deviceId === null && deviceIds.length > 0));
  if (comesBack || comes) return { state: { ...OFF, at: 'asking', deviceId }, effect: 'open' };
  // Some systems take the camera away without ending its track.
  if (state.at === 'live' && deviceIds.length > 0 && !there)
    return { state: trouble(state, 'unplugged'), effect: 'close' };
  return same(state);
}

/** What happened, why, what to do next. */
export function troubleSentence(state: CameraState): string {
  const size = state.cameTo === null ? '' : ` ${state.cameTo.widthPx} × ${state.cameTo.heightPx} px`;
  const sentences: Readonly<Record<Trouble, string>> = {
    denied:
      'The camera was not allowed. Allow it for this page (the camera sign in the address bar, or the system’s privacy settings), then try again. Only the picture is asked for, never sound.',
    none: 'No camera was found. Plug the microscope in and wait a moment: it is picked up as soon as the system shows it.',
    busy: 'The camera is there but does not open, most likely because another program is using it. Close that program, or unplug the microscope and plug it in again, then try again.',
    unplugged:
      'The microscope was unplugged or switched off. What was kept is safe; a series that was under way was dropped. Plug it in again: the same camera is picked up by itself.',
    hanging:
      'The camera has sent no picture for 10 seconds. A series that was under way was dropped, nothing half-finished was kept. Wait a little, or unplug the microscope, plug it in again and try again.',
    'size-changed': `The camera changed its frame size in the middle${size === '' ? '' : `, to${size}`}. A series that was under way was dropped, and a scale made with the old size no longer holds. Start the camera again for the old size, or go on with the new one.`,
    failed:
      'The camera cannot be used, and the system does not say why. Unplug it, plug it in again and try again.',
  };
  return state.trouble === null ? '' : sentences[state.trouble];
}
