/**
 * What was done and waits a moment before it is saved: a mark that is still being pushed along, key by key. Whatever
 * depends on it being saved (undo, another act on the same thing, leaving the screen) has it saved first.
 */
type Waiting = { readonly save: () => Promise<void>; readonly timer: ReturnType<typeof setTimeout> };

const waiting = new Map<string, Waiting>();
const saving = new Set<Promise<void>>();

/** A later call with the same key takes the place of an earlier one that still waits. */
export function saveSoon(key: string, ms: number, save: () => Promise<void>): void {
  clearTimeout(waiting.get(key)?.timer);
  const timer = setTimeout(() => begin(key), ms);
  waiting.set(key, { save, timer });
}

function begin(key: string): void {
  const one = waiting.get(key);
  if (one === undefined) return;
  clearTimeout(one.timer);
  waiting.delete(key);
  const running = one.save().finally(() => saving.delete(running));
  saving.add(running);
}

/** Saves at once whatever still waits; done when all of it is saved. */
export async function saveWaiting(): Promise<void> {
  for (const key of waiting.keys()) begin(key);
  await Promise.allSettled(saving);
}
