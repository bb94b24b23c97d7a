/**
 * What is asked of a camera, and in which order: the frame's size first, then the modes, then the values. A browser
 * refuses a request that mixes size with picture settings, and a value is ignored while its mode is automatic.
 * Names are those of the Media Capture and Image Capture specifications.
 */
export type Range = { readonly min: number; readonly max: number; readonly step?: number };
export type Capabilities = Readonly<Record<string, unknown>>;
export type Settings = Readonly<Record<string, number | string | boolean | undefined>>;
export type Request = { readonly advanced: readonly Readonly<Record<string, number | string>>[] };

export type Control = {
  readonly name: string;
  readonly label: string;
  readonly range: Range;
  readonly unit: string;
  /** Shown value = setting x factor. */
  readonly factor: number;
  /** The mode that must be manual before the value counts; null: none is reported. */
  readonly mode: string | null;
};

type Known = Omit<Control, 'range' | 'mode'> & { readonly mode: string | null };
const KNOWN: readonly Known[] = [
  // exposureTime counts in steps of 100 us
  { name: 'exposureTime', label: 'Exposure time', unit: 'ms', factor: 0.1, mode: 'exposureMode' },
  { name: 'iso', label: 'Gain (ISO)', unit: '', factor: 1, mode: 'exposureMode' },
  { name: 'exposureCompensation', label: 'Exposure offset', unit: 'EV', factor: 1, mode: null },
  { name: 'brightness', label: 'Brightness', unit: '', factor: 1, mode: null },
  { name: 'contrast', label: 'Contrast', unit: '', factor: 1, mode: null },
  { name: 'saturation', label: 'Saturation', unit: '', factor: 1, mode: null },
  { name: 'sharpness', label: 'Sharpening', unit: '', factor: 1, mode: null },
  { name: 'colorTemperature', label: 'White balance', unit: 'K', factor: 1, mode: 'whiteBalanceMode' },
  { name: 'focusDistance', label: 'Focus distance', unit: 'm', factor: 1, mode: 'focusMode' },
  { name: 'zoom', label: 'Zoom', unit: '', factor: 1, mode: null },
];

export const MODE_LABELS: Readonly<Record<string, string>> = {
  exposureMode: 'Exposure',
  whiteBalanceMode: 'White balance',
  focusMode: 'Focus',
};

const isRange = (value: unknown): value is Range => {
  const range = value as Partial<Range> | null;
  return (
    typeof range === 'object' &&
    range !== null &&
    typeof range.min === 'number' &&
    typeof range.max === 'number' &&
    range.max > range.min
  );
};
const modesOf = (capabilities: Capabilities, mode: string): readonly string[] => {
  const modes = capabilities[mode];
  return Array.isArray(modes) ? modes.filter((one) => typeof one === 'string') : [];
};

/** Only what this camera reports, and only where there is something to set. */
export function controlsOf(capabilities: Capabilities): Control[] {
  return KNOWN.flatMap(({ mode, ...known }) => {
    const range = capabilities[known.name];
    if (!isRange(range)) return [];
    const canBeManual = mode !== null && modesOf(capabilities, mode).includes('manual');
    return [{ ...known, range, mode: canBeManual ? mode : null }];
  });
}

/** What a person wants held; a name that is missing is left to the camera. */
export type Wishes = Readonly<Record<string, number>>;

/**
 * The first request of all. More than any camera has is asked for, so the largest native frame comes; `resizeMode:
 * 'none'` keeps the browser from cutting or scaling another one to the wished size. Never a microphone.
 */
export function openingRequest(deviceId: string | null): {
  audio: false;
  video: Readonly<Record<string, unknown>>;
} {
  return {
    audio: false,
    video: {
      ...(deviceId === null ? {} : { deviceId: { exact: deviceId } }),
      width: { ideal: 16_384 },
      height: { ideal: 16_384 },
      resizeMode: 'none',
    },
  };
}

/** Requests to be made one after the other; none when nothing is wished and nothing has to be let go. */
export function requestsFor(wishes: Wishes, capabilities: Capabilities): Request[] {
  const controls = controlsOf(capabilities);
  const modes: Record<string, string> = {};
  for (const { name, mode } of controls)
    if (mode !== null && wishes[name] !== undefined) modes[mode] = 'manual';
  for (const mode of Object.keys(MODE_LABELS))
    // What is no longer held goes back to the camera's own judgement.
    if (modes[mode] === undefined && modesOf(capabilities, mode).includes('continuous'))
      modes[mode] = 'continuous';
  const values: Record<string, number> = {};
  for (const { name, range } of controls) {
    const wish = wishes[name];
    if (wish !== undefined) values[name] = withinRange(wish, range);
  }
  const requests: Request[] = [];
  if (Object.keys(modes).length > 0) requests.push({ advanced: [modes] });
  // One set for each value: a set that cannot be met as a whole is passed over as a whole.
  if (Object.keys(values).length > 0)
    requests.push({ advanced: Object.entries(values).map(([name, value]) => ({ [name]: value })) });
  return requests;
}

/** Nearest value that the camera can take. */
export function withinRange(value: number, { min, max, step = 0 }: Range): number {
  const inside = Math.min(max, Math.max(min, value));
  if (!(step > 0)) return inside;
  return Math.min(max, Number((min + Math.round((inside - min) / step) * step).toPrecision(12)));
}

/** A control counts as held only when its value reads back as it was wished and its mode as manual. */
export function heldOf(wishes: Wishes, capabilities: Capabilities, settings: Settings): string[] {
  return controlsOf(capabilities).flatMap(({ name, range, mode }) => {
    const wish = wishes[name];
    const back = settings[name];
    if (wish === undefined || typeof back !== 'number') return [];
    const tolerance = Math.max((range.step ?? 0) / 2, 1e-6 * Math.abs(range.max));
    if (Math.abs(back - withinRange(wish, range)) > tolerance) return [];
    return mode !== null && settings[mode] !== 'manual' ? [] : [name];
  });
}

export type Granted = {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly frameRate: number | null;
  readonly resizeMode: string;
  /** Sentences about what was given otherwise than asked. */
  readonly notes: readonly string[];
};

const numberOf = (value: unknown): number | null => (typeof value === 'number' ? value : null);

/** Reads back what was given, and says where it falls short of what was asked for. */
export function grantedOf(settings: Settings, capabilities: Capabilities): Granted {
  const widthPx = numberOf(settings['width']) ?? 0;
  const heightPx = numberOf(settings['height']) ?? 0;
  const resizeMode = String(settings['resizeMode'] ?? 'not reported');
  const notes: string[] = [];
  const [width, height] = [capabilities['width'], capabilities['height']];
  if (isRange(width) && isRange(height) && width.max * height.max > widthPx * heightPx)
    notes.push(
      `The camera names ${width.max} × ${height.max} px as its largest frame; it gave ${widthPx} × ${heightPx} px. ` +
        'A slow cable or hub, or another program, can be the reason.',
    );
  if (resizeMode === 'crop-and-scale')
    notes.push('The browser resizes these frames, so they hold less than the camera sees.');
  return { widthPx, heightPx, frameRate: numberOf(settings['frameRate']), resizeMode, notes };
}

/** Everything that may matter later, in plain values, for the capture's record. */
export function recordedSettings(settings: Settings): Record<string, number | string | boolean> {
  const left = new Set(['deviceId', 'groupId', 'width', 'height', 'frameRate', 'resizeMode', 'aspectRatio']);
  const entries = Object.entries(settings).flatMap(([name, value]) =>
    value === undefined || left.has(name) || !['number', 'string', 'boolean'].includes(typeof value)
      ? []
      : [[name.slice(0, 60), typeof value === 'string' ? value.slice(0, 100) : value] as const],
  );
  return Object.fromEntries(entries);
}
