import { z } from 'zod';

/** What a person chose for this window. Kept by the window itself: it changes nothing in the collection. */
const settingsSchema = z.object({
  unit: z.enum(['um', 'mil']),
  theme: z.enum(['system', 'light', 'dark']),
  minutesPerSide: z.number().positive().max(120),
  /** What the person calls an evening. */
  sidesPerEvening: z.number().positive().max(50),
  /** What a record is worth to the person, in their own money; 0: not said. */
  recordValue: z.number().nonnegative().max(1e6),
  paper: z.enum(['A4', 'Letter']),
  /** Whom the next mark names as the one who looked. */
  seenBy: z.string().max(200),
  /** Hours between which people commonly think about a new stylus; practice, not a standard. */
  practiceHours: z.tuple([z.number().positive(), z.number().positive()]),
});
export type Settings = z.infer<typeof settingsSchema>;

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
  const merged: Record<string, unknown> = { ...USUAL };
  for (const [key, schema] of Object.entries(settingsSchema.shape)) {
    const one = schema.safeParse(found[key]);
    if (one.success) merged[key] = one.data;
  }
  return settingsSchema.parse(merged);
}

export function writeSettings(storage: Shelf | null, settings: Settings): void {
  try {
    storage?.setItem(KEY, JSON.stringify(settings));
  } catch {
    // A full or forbidden storage costs only the memory of a choice.
  }
}
