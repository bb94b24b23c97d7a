/** What a person chose for this window. Kept by the window itself: it changes nothing in the collection. */
export type Settings = {
  readonly unit: 'um' | 'mil';
  readonly theme: 'system' | 'light' | 'dark';
  readonly minutesPerSide: number;
  /** What the person calls an evening. */
  readonly sidesPerEvening: number;
  /** What a record is worth to the person, in their own money; 0: not said. */
  readonly recordValue: number;
  readonly paper: 'A4' | 'Letter';
  /** Whom the next mark names as the one who looked. */
  readonly seenBy: string;
  /** Hours between which people commonly think about a new stylus; practice, not a standard. */
  readonly practiceHours: [number, number];
};

type Check = (value: unknown) => boolean;
const oneOf =
  (...words: readonly unknown[]): Check =>
  (value) =>
    words.includes(value);
const isAbove0 = (value: unknown): value is number => Number.isFinite(value) && (value as number) > 0;
const upTo =
  (most: number): Check =>
  (value) =>
    isAbove0(value) && value <= most;

/** By hand, because a library of schemas would have to be loaded before the window shows anything. */
const GOOD: Readonly<Record<keyof Settings, Check>> = {
  unit: oneOf('um', 'mil'),
  theme: oneOf('system', 'light', 'dark'),
  minutesPerSide: upTo(120),
  sidesPerEvening: upTo(50),
  recordValue: (value) => value === 0 || upTo(1e6)(value),
  paper: oneOf('A4', 'Letter'),
  seenBy: (value) => typeof value === 'string' && value.length <= 200,
  practiceHours: (value) => Array.isArray(value) && value.length === 2 && value.every(isAbove0),
};

export const USUAL: Settings = {
  unit: 'um',
  theme: 'system',
  minutesPerSide: 22,
  sidesPerEvening: 4,
  recordValue: 0,
  paper: 'A4',
  seenBy: '',
  practiceHours: [400, 1000],
};

const KEY = 'daybook-settings';

type Shelf = Pick<Storage, 'getItem' | 'setItem'>;

/** Unreadable or older settings fall back one by one, not all at once. */
export function readSettings(storage: Shelf | null): Settings {
  let stored: unknown = {};
  try {
    stored = JSON.parse(storage?.getItem(KEY) ?? '{}');
  } catch {
    // Nothing worth keeping.
  }
  const found: Record<string, unknown> = typeof stored === 'object' && stored !== null ? { ...stored } : {};
  const good = Object.entries(GOOD).filter(([key, isGood]) => isGood(found[key]));
  return { ...USUAL, ...Object.fromEntries(good.map(([key]) => [key, found[key]])) };
}

export function writeSettings(storage: Shelf | null, settings: Settings): void {
  try {
    storage?.setItem(KEY, JSON.stringify(settings));
  } catch {
    // A full or forbidden storage costs only the memory of a choice.
  }
}
