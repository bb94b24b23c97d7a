import { join } from 'node:path';
import { z } from 'zod';
import type { Disk } from './disk.ts';
import { replaceFile } from './disk.ts';

/**
 * Puts another database, and other originals if there are some, in the place of the present ones, which are kept aside.
 * Several renames cannot be one step, so the intention is written down first: from that moment on the switch is done,
 * and whoever opens the folder next finishes what is left of it. Before that moment nothing has happened.
 */
const JOURNAL = 'restore.json';
const DATABASE = 'daybook.sqlite';
/** What a database that was not closed properly has beside it; part of it wherever it goes. */
const BESIDE = [`${DATABASE}-wal`, `${DATABASE}-shm`];
const ITEMS = [DATABASE, 'originals'];

const planSchema = z.object({
  /** Folder inside the collection that holds what comes in. */
  from: z.string().regex(/^(staging|aside)\/[\w.-]+$/),
  /** Folder inside the collection that takes what goes out. */
  aside: z.string().regex(/^aside\/[\w.-]+$/),
});
export type SwitchPlan = z.infer<typeof planSchema>;

/** True from the moment a switch was written down until it is done. */
export const isSwitching = async (disk: Disk, folder: string): Promise<boolean> =>
  (await disk.kindOf(join(folder, JOURNAL))) !== null;

/** Everything in `from` must lie on the disk; the present database must be closed. */
export async function switchTo(disk: Disk, folder: string, plan: SwitchPlan): Promise<void> {
  planSchema.parse(plan);
  const bytes = new TextEncoder().encode(`${JSON.stringify(plan)}\n`);
  await replaceFile(disk, folder, JOURNAL, bytes);
  await finishSwitch(disk, folder);
}

/**
 * Does what a written-down switch still leaves to do; nothing without one. An item that is still in `from` has not come
 * in, so what stands in its place is the old one; an item that is gone from `from` is done.
 */
export async function finishSwitch(disk: Disk, folder: string): Promise<void> {
  const journal = join(folder, JOURNAL);
  if ((await disk.kindOf(journal)) !== 'file') return;
  const plan = planSchema.parse(JSON.parse(new TextDecoder().decode(await disk.read(journal))));
  const [from, aside] = [join(folder, plan.from), join(folder, plan.aside)];
  await disk.makeFolder(aside);
  const move = async (name: string, source: string, target: string): Promise<void> => {
    if ((await disk.kindOf(join(source, name))) !== null)
      await disk.rename(join(source, name), join(target, name));
  };
  for (const item of ITEMS) {
    if ((await disk.kindOf(join(from, item))) === null) continue;
    for (const name of item === DATABASE ? [...BESIDE, item] : [item]) await move(name, folder, aside);
    await disk.rename(join(from, item), join(folder, item));
  }
  // After its database, never before: beside the old one it would be taken for the old one's.
  for (const name of BESIDE) await move(name, from, folder);
  for (const place of [aside, folder]) await disk.syncFolder(place);
  await disk.remove(from);
  await disk.remove(journal);
  await disk.syncFolder(folder);
}
